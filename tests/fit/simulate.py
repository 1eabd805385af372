"""Seeded seasons with known truth: who listened, what was open, what was detected, half-hour by half-hour.

None of the processes belongs to a fitted family (clustered openings, thresholded Gaussian weather), so
no estimator is favoured. Seasons are years of 365 days around 21 June at 52 N 5 E; truth is kept in
slots of ten minutes.

    found = simulate("es6", seasons=8, monitors=True, seed=1)
    found.cells      half-hour cells of DEVELOPERS.md (monitors only when there are any)
    found.everybody  the same from all stations
    found.truth      start season season_day hour open (any slot), one row per half-hour
    found.openings   start end season season_day duration_min, true openings
    found.spots      number of reports per half-hour, growing with activity
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

SLOTS = 144  # of ten minutes in a day
DAYS = np.arange(-183, 182)
LON_HOURS = 5 / 15
LAT = 52.0
FIRST_YEAR = 2018
ES = {  # openings a day at the summer peak, median minutes
    "es6": {"peak": 1.1, "minutes": 60},
    "es2": {"peak": 0.09, "minutes": 25},
}
TROPO = {  # best sun hour, swing of the day and of the year
    "land2": {"hour": 6.5, "swing": 0.55, "season": 0.5},
    "sea2": {"hour": 15.5, "swing": 0.35, "season": 0.5},
    "sea2steep": {"hour": 15.5, "swing": 0.35, "season": 0.8},
}
AXIS = {"es6": "solar", "es2": "solar", "land2": "sun", "sea2": "sun", "sea2steep": "sun"}
YEAR_SD = 0.45
FALSE = 3e-4  # chance of a false report per listening station and slot


@dataclass(frozen=True)
class Simulated:
    """What `simulate` returns; the module's docstring lists the tables."""

    cells: pd.DataFrame
    everybody: pd.DataFrame
    truth: pd.DataFrame
    openings: pd.DataFrame
    spots: np.ndarray
    year_effect: np.ndarray


def simulate(
    kind: str,
    *,
    seasons: int = 8,
    monitors: bool = True,
    seed: int,
    swing: float = 1.0,
    trend: float = 0.0,
    days: tuple[int, int] = (-183, 181),
) -> Simulated:
    """One data set of `seasons` years of a series: es6, es2, land2, sea2 or sea2steep.

    `swing` scales the daily cycle of tropo (0: no cycle at all), `trend` adds to the log chance per
    year, `days` is the part of the season in which anybody listened.
    """
    rng = np.random.default_rng(seed)
    year = YEAR_SD * rng.standard_normal(seasons)
    effect = year + trend * (np.arange(seasons) - (seasons - 1) / 2)
    truth = np.stack([_open(kind, one, rng, swing) for one in effect])  # season, day, slot (solar time)
    open_bins = truth.reshape(seasons, len(DAYS), 48, 3)
    listening = _listeners(open_bins.any(axis=3), rng)
    monitoring = _monitors(seasons, rng) if monitors else np.zeros_like(listening)
    outside = ~np.isin(DAYS, np.arange(days[0], days[1] + 1))
    listening[:, outside] = monitoring[:, outside] = 0
    # Some footprints are seen by many, some by few: one factor per day and three hours.
    footprint = np.exp(0.6 * rng.standard_normal((seasons, len(DAYS), 8))).repeat(6, axis=2)[..., None]
    heard = _detected(listening, open_bins, 0.18 * footprint, rng)
    heard_monitors = _detected(monitoring, open_bins, 0.5 * footprint, rng)
    frame = _frame(kind, seasons)
    everybody = _cells(frame, listening + monitoring, heard + heard_monitors)
    cells = _cells(frame, monitoring, heard_monitors) if monitors else everybody
    growth = 1.35 ** np.arange(seasons)[:, None, None]
    spots = rng.poisson((heard + heard_monitors).sum(axis=3) * 2 * growth).ravel()
    return Simulated(
        cells,
        everybody,
        frame.assign(open=open_bins.any(axis=3).ravel()),
        _runs(truth),
        spots,
        effect,
    )


def population(kind: str, *, years: int = 400, seed: int = 12345, swing: float = 1.0) -> np.ndarray:
    """Chance of an open half-hour, array (days, 48 half-hours of solar time), over many years."""
    rng = np.random.default_rng(seed)
    total = np.zeros((len(DAYS), 48))
    for _ in range(years):
        one = _open(kind, YEAR_SD * rng.standard_normal(), rng, swing)
        total += one.reshape(len(DAYS), 48, 3).any(axis=2)
    return total / years


def axis_hours(kind: str) -> np.ndarray:
    """Hour on the series' axis of each half-hour of solar time, array (days, 48)."""
    solar = np.broadcast_to(np.arange(48) / 2 + 0.25, (len(DAYS), 48))
    return solar if AXIS[kind] == "solar" else sun_hours(solar, _half_day(DAYS)[:, None])


def sun_hours(solar: np.ndarray, half_day: np.ndarray) -> np.ndarray:
    """Sun-phase hours: sunrise 6, noon 12, sunset 18, linear between; `half_day` in hours."""
    from_noon = solar - 12
    night = 12 - half_day
    up = np.abs(from_noon) <= half_day
    phase = np.where(
        up, 6 * from_noon / half_day, np.sign(from_noon) * (6 + 6 * (np.abs(from_noon) - half_day) / night)
    )
    return (12 + phase) % 24


def _half_day(day: np.ndarray) -> np.ndarray:
    declination = np.radians(23.44) * np.cos(2 * np.pi * day / 365.25)
    return np.degrees(np.arccos(-np.tan(np.radians(LAT)) * np.tan(declination))) / 15


def _open(kind: str, effect: float, rng: np.random.Generator, swing: float) -> np.ndarray:
    return _sporadic_e(kind, effect, rng) if kind in ES else _tropo(kind, effect, rng, swing)


def _ar1(n: int, step: float, rng: np.random.Generator) -> np.ndarray:
    """Stationary unit-variance series whose neighbours correlate by `step`."""
    from scipy.signal import lfilter

    noise = rng.standard_normal(n) * np.sqrt(1 - step**2)
    noise[0] /= np.sqrt(1 - step**2)
    return lfilter([1], [1, -step], noise)


def _sporadic_e(kind: str, effect: float, rng: np.random.Generator) -> np.ndarray:
    """Clustered openings: good days come together, two favoured times of day, a small winter peak."""
    shift = rng.normal(0, 7)
    width = np.where(shift > DAYS, 30, 36)
    winter = 0.08 * np.exp(-0.5 * ((((DAYS + 167) + 182.5) % 365 - 182.5) / 14) ** 2)
    shape = np.exp(-0.5 * ((DAYS - shift) / width) ** 2) + winter
    day_effect = 0.9 * _ar1(len(DAYS), 0.65, rng) - 0.9**2 / 2
    number = rng.poisson(ES[kind]["peak"] * shape * np.exp(effect + day_effect))
    day = np.repeat(np.arange(len(DAYS)), number)
    morning = rng.random(len(day)) < 0.55
    centre = np.where(morning, rng.normal(10.75, 2.0, len(day)), rng.normal(18.4, 1.8, len(day)))
    length = np.maximum(rng.lognormal(np.log(ES[kind]["minutes"] / 10), 0.8, len(day)), 1).round().astype(int)
    first = (day * SLOTS + centre * 6 - length / 2).round().astype(int)
    edges = np.zeros(len(DAYS) * SLOTS + 1, int)
    np.add.at(edges, np.clip(first, 0, len(edges) - 1), 1)
    np.add.at(edges, np.clip(first + length, 0, len(edges) - 1), -1)
    return (np.cumsum(edges[:-1]) > 0).reshape(len(DAYS), SLOTS)


def _tropo(kind: str, effect: float, rng: np.random.Generator, swing: float) -> np.ndarray:
    """Weather of days and of hours above a threshold that moves with the sun and the season."""
    n = len(DAYS) * SLOTS
    weather = 0.85 * _ar1(n, np.exp(-1 / (3 * SLOTS)), rng) + 0.53 * _ar1(n, np.exp(-1 / 18), rng)
    solar = np.broadcast_to(np.arange(SLOTS) / 6 + 1 / 12, (len(DAYS), SLOTS))
    phase = sun_hours(solar, _half_day(DAYS)[:, None])
    daily = swing * TROPO[kind]["swing"] * np.cos(2 * np.pi * (phase - TROPO[kind]["hour"]) / 24)
    yearly = TROPO[kind]["season"] * np.cos(2 * np.pi * (DAYS - 50) / 365.25)[:, None]
    return weather.reshape(len(DAYS), SLOTS) > 1.75 - daily - yearly - 0.6 * effect


def _listeners(opened: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Stations on the air per slot: evenings, week ends, contests, growth, and because it is open."""
    seasons = len(opened)
    hour = (np.arange(48) / 2 + 0.25 - LON_HOURS) % 24
    busy = 0.15 + np.exp(-0.5 * ((hour - 19.5) / 2.2) ** 2) + 0.3 * np.exp(-0.5 * ((hour - 9) / 2.5) ** 2)
    days = np.arange(seasons * len(DAYS)).reshape(seasons, -1)
    weekly = np.where(days % 7 >= 5, 1.6, 1.0) * np.where(days % 30 < 2, 2.5, 1.0)
    mean = 1.2 * 1.22 ** np.arange(seasons)[:, None, None] * weekly[:, :, None] * busy
    # People are called in once an opening is under way.
    begun = np.roll(opened.reshape(seasons, -1), 1, axis=1).reshape(opened.shape)
    stations = rng.poisson(mean * np.where(begun, 1.8, 1.0))
    stations[_outage(seasons, rng)] = 0
    return np.repeat(stations[..., None], 3, axis=3)


def _outage(seasons: int, rng: np.random.Generator) -> np.ndarray:
    """Days on which the whole feed was down."""
    down = np.zeros((seasons, len(DAYS)), bool)
    for season in range(seasons):
        for first in rng.integers(0, len(DAYS) - 3, 3):
            down[season, first : first + rng.integers(1, 4)] = True
    return down


def _monitors(seasons: int, rng: np.random.Generator) -> np.ndarray:
    """One to three receivers that always run, each up for nine tenths of the days."""
    number = np.linspace(1, 3, seasons).round().astype(int)
    up = np.zeros((seasons, len(DAYS), 48), int)
    for season, count in enumerate(number):
        for _ in range(count):
            running = _ar1(len(DAYS), 0.8, rng) < 1.23  # 89 % of days, in runs
            up[season] += running[:, None]
    up[_outage(seasons, rng)] = 0
    return np.repeat(up[..., None], 3, axis=3)


def _detected(stations, opened, chance, rng: np.random.Generator) -> np.ndarray:
    """Stations with a detection in each slot, a false one now and then."""
    chance = np.where(opened, 1 - np.exp(-np.broadcast_to(chance, opened.shape) * 1.5), FALSE)
    return rng.binomial(stations, chance)


def _frame(kind: str, seasons: int) -> pd.DataFrame:
    season = np.repeat(np.arange(FIRST_YEAR, FIRST_YEAR + seasons), len(DAYS) * 48)
    day = np.tile(np.repeat(DAYS, 48), seasons)
    half = np.tile(np.arange(48), seasons * len(DAYS))
    midsummer = pd.to_datetime(pd.Series(season).astype("str") + "-06-21", utc=True).dt.as_unit("us")
    minutes = day * 1440 + half * 30 - int(LON_HOURS * 60)
    frame = pd.DataFrame(
        {
            "start": midsummer + pd.to_timedelta(minutes, unit="min").as_unit("us"),
            "season": season,
            "season_day": day,
            "block": (day + 183) // 5,
            "hour": np.tile(axis_hours(kind).ravel(), seasons),
        }
    )
    return frame


def _cells(frame: pd.DataFrame, stations: np.ndarray, heard: np.ndarray) -> pd.DataFrame:
    return frame.assign(n_listening=stations.sum(axis=3).ravel(), n_detected=heard.sum(axis=3).ravel())


def _runs(truth: np.ndarray) -> pd.DataFrame:
    """True openings: runs of open slots, by season."""
    rows = []
    for season, slots in enumerate(truth.reshape(len(truth), -1)):
        change = np.flatnonzero(np.diff(np.r_[False, slots, False].astype(int)))
        midsummer = pd.Timestamp(FIRST_YEAR + season, 6, 21, tz="UTC") - pd.Timedelta(minutes=20)
        for first, end in zip(change[::2], change[1::2], strict=True):
            start = midsummer + pd.Timedelta(minutes=10 * int(first)) + pd.Timedelta(days=int(DAYS[0]))
            rows.append(
                (
                    start,
                    start + pd.Timedelta(minutes=10 * int(end - first)),
                    FIRST_YEAR + season,
                    DAYS[first // SLOTS],
                    10 * (end - first),
                )
            )
    return pd.DataFrame(rows, columns=["start", "end", "season", "season_day", "duration_min"])

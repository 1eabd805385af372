"""A region of stations under drifting clouds, with known truth: who was on, what was open, who noticed.

Clouds of sporadic E are a Poisson process in space and time; stations live in towns, come on by their
own habits, and prove each other by local reception. Nothing of it has the form of a fitted model.

    world = region("evenings", seasons=5, seed=1)
    world.watch     what find.watched knows of it
    world.cells     start season season_day block hour of every half-hour
    world.open      truth: a cloud somewhere over the region
    world.reports   number of reports of every half-hour
    world.sending   distinct senders of the series by season, and half-hours of sending
    world.clouds    truth: every cloud's first and last half-hour, place, drift and size
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pandas as pd
from scipy import sparse
from scipy.signal import lfilter

from analysis.find.reach import apart_km, directions
from analysis.find.watched import Watch, seen_paths, thinned, watched_paths
from analysis.gather.locators import centre, encode

WEST, EAST, SOUTH, NORTH = -10.0, 16.0, 38.0, 58.0
MID_LON = 3.0
FIRST_YEAR = 2016
DAYS = np.arange(-183, 182)
BINS = 48 * len(DAYS)
USABLE_KM = (650.0, 2250.0)
NEAR_KM = 260.0
HOURS = np.arange(48) / 2 + 0.25
YEAR_SD = 0.2
SESSION = 4  # half-hours that somebody stays on
EFFORTS = {  # growth of the number of people a year, monitors, beacons, people, habit, when it is open
    "even": {"habit": "even"},
    "evenings": {"habit": "evenings"},
    "weekends": {"habit": "weekends"},
    "diurnal": {"habit": "diurnal"},
    "growth": {"habit": "evenings", "growth": 0.4, "people": 30, "silent": 12},
    "no monitors": {"habit": "evenings", "monitors": 0, "beacons": 0},
    "four stations": {"habit": "evenings", "monitors": 0, "beacons": 0, "people": 4, "silent": 120},
    "called in": {"habit": "evenings", "called": 2.5},
    "far senders": {"habit": "even", "monitors": 2, "beacons": 0, "people": 0, "silent": 0, "far": True},
}


@dataclass(frozen=True)
class Region:
    """What `region` returns; the module's docstring lists the parts."""

    watch: Watch
    cells: pd.DataFrame
    open: np.ndarray
    reports: np.ndarray
    sending: pd.DataFrame
    clouds: pd.DataFrame


def region(effort: str, *, seasons: int = 5, seed: int, trend: float = 0.0, **other: float) -> Region:
    """So many seasons of a region with one kind of effort (a key of `EFFORTS`).

    `trend` adds to the log number of clouds per year; `other` replaces settings of the effort.
    """
    setting = {
        "growth": 0.0,
        "monitors": 3,
        "beacons": 5,
        "people": 100,
        "silent": 50,
        "called": 1.0,
        "far": False,
    }
    setting |= EFFORTS[effort] | other
    rng = np.random.default_rng([seed, *effort.encode()])
    stations = _stations(setting, seasons, rng)
    squares, of = np.unique(stations["square"], return_inverse=True)
    parts = [_season(year, stations, setting, trend, seasons, rng) for year in range(seasons)]
    member = sparse.csr_array((np.ones(len(of)), (np.arange(len(of)), of)), (len(of), len(squares)))
    receivers, senders = (
        sparse.vstack([sparse.csr_array(part[name].astype(float)) @ member for part in parts], format="csr")
        for name in ("receiving", "sending")
    )
    seen = np.concatenate([part["seen"] + [year * BINS, 0, 0] for year, part in enumerate(parts)])
    sightings = pd.DataFrame({"half_hour": seen[:, 0], "rx": of[seen[:, 1]], "tx": of[seen[:, 2]]})
    cells = _calendar(seasons)
    watch = Watch(
        starts=pd.DatetimeIndex(cells["start"]),
        squares=squares,
        receivers=(receivers > 0).astype(np.float32),
        senders=(senders > 0).astype(np.float32),
        sightings=sightings.drop_duplicates(ignore_index=True),
    )
    by_season = pd.DataFrame(
        [{"senders": part["heard"], "half_hours": part["on_air"]} for part in parts],
        index=FIRST_YEAR + np.arange(seasons),
    )
    reports = np.bincount(seen[:, 0], minlength=len(cells))
    clouds = pd.concat([part["clouds"].assign(year=n) for n, part in enumerate(parts)], ignore_index=True)
    return Region(watch, cells, np.concatenate([part["open"] for part in parts]), reports, by_season, clouds)


def open_from(world: Region, *, lon: float, lat: float) -> np.ndarray:
    """Truth for a place: whether a usable path of one hop from there is bent in a cloud, in each half-hour."""
    near, far = np.array(USABLE_KM) / 2
    home, clouds = directions(lon=lon, lat=lat)[0], world.clouds
    long = (clouds["last"] - clouds["first"] + 1).to_numpy()
    row = np.repeat(np.arange(len(clouds)), long)
    number = np.arange(len(row)) - np.repeat(np.cumsum(long) - long, long)
    at = clouds.iloc[row].reset_index(drop=True)
    place = {"lon": at["lon"] + at["east"] * number / 2, "lat": at["lat"] + at["north"] * number / 2}
    away = apart_km(directions(**place), home)
    serves = (away + at["radius"] >= near) & (away - at["radius"] <= far)
    found = np.zeros(len(world.cells), dtype=bool)
    found[(at["year"] * BINS + at["first"] + number)[serves]] = True
    return found


def usable(watch: Watch) -> np.ndarray:
    """Which pairs of squares a cloud could join."""
    points = _centres(watch.squares)
    apart = apart_km(points[:, None], points[None])
    return (apart >= USABLE_KM[0]) & (apart <= USABLE_KM[1])


def as_seen(world: Region, ways: np.ndarray | None = None) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Cells that count watched paths, and what fewer squares would have noticed."""
    ways = usable(world.watch) if ways is None else ways
    counted = {"n_listening": watched_paths(world.watch, ways), "n_detected": seen_paths(world.watch, ways)}
    return world.cells.assign(**counted), thinned(world.watch, ways)


def silenced(world: Region, kept: np.ndarray) -> Region:
    """The same world with stations taken off the air where `kept` (half-hours, squares) is false."""
    watch, (bins, rx, tx) = world.watch, world.watch.sightings[["half_hour", "rx", "tx"]].to_numpy().T
    marks = {name: sparse.csr_array(getattr(watch, name).multiply(kept)) for name in ("receivers", "senders")}
    left = replace(watch, **marks, sightings=watch.sightings[kept[bins, rx] & kept[bins, tx]])
    return replace(world, watch=left)


def shape_error(curve: np.ndarray, truth: np.ndarray) -> float:
    """Root mean square of the difference of two curves, each over its mean; blanks are left out."""
    curve, truth = np.asarray(curve, float), np.asarray(truth, float)
    known = np.isfinite(curve)
    curve, truth = (values[known] / values[known].mean() for values in (curve, truth))
    return float(np.sqrt(np.mean((curve - truth) ** 2)))


@cache
def usual(years: int = 300) -> tuple[np.ndarray, np.ndarray]:
    """True chance of a cloud over the region by half-hour and by season day, over many years."""
    rng = np.random.default_rng(4242)
    total = np.zeros((len(DAYS), 48))
    for _ in range(years):
        total += _open(_clouds(0.0, rng)).reshape(len(DAYS), 48)
    return total.mean(axis=0) / years, total.mean(axis=1) / years


def _calendar(seasons: int) -> pd.DataFrame:
    season = np.repeat(FIRST_YEAR + np.arange(seasons), BINS)
    day = np.tile(np.repeat(DAYS, 48), seasons)
    half = np.tile(np.arange(48), seasons * len(DAYS))
    midsummer = pd.to_datetime(pd.Series(season).astype("str") + "-06-21", utc=True).dt.as_unit("us")
    minutes = day * 1440 + half * 30 - int(MID_LON * 4)
    start = midsummer + pd.to_timedelta(minutes, unit="min").as_unit("us")
    return pd.DataFrame(
        {"start": start, "season": season, "season_day": day, "block": (day + 183) // 5, "hour": HOURS[half]}
    )


def _stations(setting: dict, seasons: int, rng: np.random.Generator) -> pd.DataFrame:
    """People, some of whom report nothing, receivers that always run, beacons that always send."""
    towns = np.column_stack([rng.uniform(WEST, EAST, 14), rng.uniform(SOUTH, NORTH, 14)])
    grown = (1 + setting["growth"]) ** (seasons - 1)
    kinds, joins = [], []
    for kind, first in (("person", setting["people"]), ("silent", setting["silent"])):
        n = round(first * grown)
        share = (np.arange(n) + 1) / max(first, 1)
        joins.append(np.ceil(np.maximum(np.log(share), 0) / np.log1p(setting["growth"] or 1)))
        kinds += [kind] * n
    joins = np.concatenate(joins)
    kinds += ["monitor"] * setting["monitors"] + ["beacon"] * setting["beacons"]
    place = towns[rng.integers(0, 14, len(kinds))] + rng.normal(0, 1.0, (len(kinds), 2))
    if setting["far"]:  # two receivers in the middle, and one far sender more every half season or so
        n = 20
        kinds = ["monitor"] * 2 + ["far"] * n
        angle = rng.uniform(0, 2 * np.pi, n)
        reach = rng.uniform(900, 1600, n)
        far = np.column_stack([3 + reach / 75 * np.cos(angle), 48 + reach / 111 * np.sin(angle)])
        place = np.vstack([[[2.5, 47.5], [4.5, 48.5]], far])
        joins = np.r_[0, 0, np.round(np.linspace(-0.4, seasons - 1, n))]
    joins = np.r_[joins, np.zeros(len(kinds) - len(joins))]
    table = pd.DataFrame({"kind": kinds, "lon": place[:, 0], "lat": place[:, 1], "joins": joins})
    table["square"] = [encode(lat=lat, lon=lon, length=4) for lon, lat in place]
    table["busy"] = rng.gamma(2.0, 0.045, len(table))
    return table.assign(ear=np.exp(0.5 * rng.standard_normal(len(table))))


def _centres(squares: np.ndarray) -> np.ndarray:
    places = centre(pd.Series(squares))
    return directions(lon=places["lon"], lat=places["lat"])


def _habit(name: str) -> np.ndarray:
    """How busy people are, (days, half-hours), mean about one."""
    hour = (HOURS - MID_LON / 15 + 1) % 24
    week = np.where(np.arange(len(DAYS)) % 7 >= 5, 1.8, 0.7)[:, None]
    daily = {
        "even": np.ones(48),
        "evenings": 0.25
        + 3.0 * np.exp(-0.5 * ((hour - 19.5) / 2.3) ** 2)
        + np.exp(-0.5 * ((hour - 9) / 2) ** 2),
        "weekends": np.where((hour > 7) & (hour < 23), 1.3, 0.3),
        "diurnal": 0.04 + 5.5 * np.exp(-0.5 * ((hour - 20) / 1.7) ** 2),
    }[name]
    weekly = {"even": 1.0, "weekends": np.where(week > 1, 2.6, 0.35)}.get(name, week)
    return np.broadcast_to(daily * weekly, (len(DAYS), 48))


def _clouds(effect: float, rng: np.random.Generator) -> pd.DataFrame:
    """Clouds of one season: first and last half-hour, place, size, drift."""
    shift = rng.normal(0, 5)
    width = np.where(shift > DAYS, 28, 34)
    winter = 0.08 * np.exp(-0.5 * ((((DAYS + 167) + 182.5) % 365 - 182.5) / 14) ** 2)
    shape = np.exp(-0.5 * ((DAYS - shift) / width) ** 2) + winter + 0.01
    noise = rng.standard_normal(len(DAYS)) * np.sqrt(1 - 0.6**2)
    day_effect = 0.7 * lfilter([1], [1, -0.6], noise) - 0.7**2 / 2
    number = rng.poisson(2.2 * shape * np.exp(effect + day_effect))
    day = np.repeat(np.arange(len(DAYS)), number)
    n = len(day)
    centre = np.where(rng.random(n) < 0.55, rng.normal(10.75, 2.0, n), rng.normal(18.4, 1.8, n))
    length = np.maximum(rng.lognormal(0, 0.8, n), 0.3)
    first = day * 24 + centre - length / 2
    clouds = pd.DataFrame({"first": np.floor(first * 2), "last": np.floor((first + length) * 2)}).astype(int)
    clouds = clouds.clip(0, BINS - 1)
    clouds["lon"], clouds["lat"] = rng.uniform(WEST, EAST, n), rng.uniform(SOUTH, NORTH, n)
    clouds["east"], clouds["north"] = rng.normal(-0.4, 0.8, n), rng.normal(0, 0.5, n)
    return clouds.assign(radius=rng.lognormal(np.log(170), 0.4, n))


def _open(clouds: pd.DataFrame) -> np.ndarray:
    edges = np.zeros(BINS + 1, int)
    np.add.at(edges, clouds["first"], 1)
    np.add.at(edges, clouds["last"] + 1, -1)
    return np.cumsum(edges[:-1]) > 0


def _season(
    year: int, stations: pd.DataFrame, setting: dict, trend: float, seasons: int, rng: np.random.Generator
) -> dict:
    """One season: truth, who was proven on, and which stations noticed which."""
    effect = YEAR_SD * rng.standard_normal() + trend * (year - (seasons - 1) / 2)
    clouds = _clouds(effect, rng)
    opened = _open(clouds)
    on = _on_air(year, stations, setting, opened, rng)
    kind = stations["kind"].to_numpy()
    always = np.isin(kind, ["beacon", "far"])
    receiving = on & ~always & (kind != "silent")
    sending = on & (kind != "monitor") & (rng.random(on.shape) < np.where(always, 1.0, 0.6))
    points = directions(lon=stations["lon"], lat=stations["lat"])
    apart = apart_km(points[:, None], points[None])
    near = (apart < NEAR_KM) & ~np.eye(len(points), dtype=bool)
    heard_near = (sending.astype(np.float32) @ near.astype(np.float32)) > 0
    told_near = (receiving.astype(np.float32) @ near.astype(np.float32)) > 0
    proven_rx = receiving & ((heard_near & (rng.random(on.shape) < 0.9)) | (kind == "monitor"))
    proven_tx = sending & ((told_near & (rng.random(on.shape) < 0.8)) | (kind == "beacon"))
    if setting["far"]:  # told by other mechanisms, now and then
        proven_tx = sending & (rng.random(on.shape) < 0.5)
    seen = _sightings(clouds, receiving, sending, points, apart, stations, rng)
    heard = len(np.unique(seen[:, 2]))
    return {
        "clouds": clouds,
        "open": opened,
        "receiving": proven_rx,
        "sending": proven_tx,
        "seen": seen,
        "heard": heard,
        "on_air": int(proven_tx.sum()),
    }


def _on_air(year, stations, setting, opened, rng) -> np.ndarray:
    """Who was on, (half-hours, stations)."""
    habit = _habit(setting["habit"]).ravel()
    called = np.where(np.roll(opened, 1) & opened, setting["called"], 1.0)
    rate = (habit * called)[:, None] * stations["busy"].to_numpy() / SESSION
    begins = rng.random(rate.shape) < rate
    on = begins.copy()
    for later in range(1, SESSION):
        on[later:] |= begins[:-later]
    always = ~stations["kind"].isin(["person", "silent"]).to_numpy()
    running = np.repeat(rng.random((len(DAYS), len(stations))) < 0.93, 48, axis=0)
    on[:, always] = running[:, always]
    return on & (stations["joins"].to_numpy() <= year)


def _sightings(clouds, receiving, sending, points, apart, stations, rng) -> np.ndarray:
    """Reports of the season, one per pair of stations and half-hour: half-hour, receiver, sender."""
    ear = stations["ear"].to_numpy()
    middle = points[:, None] + points[None]
    middle /= np.linalg.norm(middle, axis=-1, keepdims=True)
    long = (apart >= 550) & (apart <= USABLE_KM[1])
    chance = 0.35 * np.clip((apart - 550) / 500, 0, 1) * ear[:, None] * ear[None]
    rows = []
    for cloud in clouds.itertuples():
        for number, bin_ in enumerate(range(cloud.first, cloud.last + 1)):
            rx, tx = np.flatnonzero(receiving[bin_]), np.flatnonzero(sending[bin_])
            if not (len(rx) and len(tx)):
                continue
            place = directions(
                lon=cloud.lon + cloud.east * number / 2, lat=cloud.lat + cloud.north * number / 2
            )[0]
            under = apart_km(middle[rx[:, None], tx], place) < cloud.radius
            hit = under & long[rx[:, None], tx] & (rng.random(under.shape) < chance[rx[:, None], tx])
            if hit.any():
                i, j = np.nonzero(hit)
                rows.append(np.column_stack([np.full(len(i), bin_), rx[i], tx[j]]))
    false = rng.poisson(len(receiving) * 2e-4)  # a wrong call now and then
    for bin_ in rng.integers(0, len(receiving), false):
        rx, tx = np.flatnonzero(receiving[bin_]), np.flatnonzero(sending[bin_])
        pairs = np.argwhere(long[rx[:, None], tx]) if len(rx) and len(tx) else []
        if len(pairs):
            i, j = pairs[rng.integers(len(pairs))]
            rows.append([[bin_, rx[i], tx[j]]])
    return np.concatenate(rows).astype(int) if rows else np.empty((0, 3), int)

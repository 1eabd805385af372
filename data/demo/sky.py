"""What the bands did: the invented, known truth behind the demo season set.

Sporadic E is a clustered point process of drifting patches, tropo a threshold on slow and fast
Gaussian weather. Neither belongs to a family that the workbook fits, so that no method is favoured.
Nothing here knows who was on the air.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from scipy.signal import lfilter

REGION = {"lat": 45.5, "lon": -1.0}  # where the region's sun and its patches are centred
SLOT_MIN = 10
PER_DAY = 24 * 60 // SLOT_MIN
EARTH_KM = 6371.0
E_LAYER_KM = 105.0
ES6_FLOOR_MHZ = 9.0  # about what one hop of 2250 km asks of the layer at 50 MHz
ES2_FLOOR_MHZ = 26.5  # and at 144 MHz
SERIES = ("es6", "es2", "land2", "sea2")


def solar_terms(times: pd.DatetimeIndex) -> tuple[np.ndarray, np.ndarray]:
    """Declination [rad] and equation of time [h] by the short Fourier series, good to a minute."""
    angle = 2 * np.pi * (times.day_of_year.to_numpy() - 1 + times.hour.to_numpy() / 24) / 365.25
    declination = (
        0.006918
        - 0.399912 * np.cos(angle)
        + 0.070257 * np.sin(angle)
        - 0.006758 * np.cos(2 * angle)
        + 0.000907 * np.sin(2 * angle)
    )
    equation = (229.18 / 60) * (
        0.000075
        + 0.001868 * np.cos(angle)
        - 0.032077 * np.sin(angle)
        - 0.014615 * np.cos(2 * angle)
        - 0.040849 * np.sin(2 * angle)
    )
    return declination, equation


def solar_hour(times: pd.DatetimeIndex, *, lon: float) -> np.ndarray:
    """Local solar time [h]."""
    clock = (times.hour + times.minute / 60 + times.second / 3600).to_numpy()
    return (clock + lon / 15 + solar_terms(times)[1]) % 24


def sun_phase(times: pd.DatetimeIndex, *, lat: float, lon: float) -> np.ndarray:
    """Hours on the axis where sunrise is 6, noon 12, sunset 18 and midnight 24."""
    declination, _ = solar_terms(times)
    zenith = np.cos(np.radians(90.8333))
    half_day = (
        np.degrees(
            np.arccos(
                (zenith - np.sin(np.radians(lat)) * np.sin(declination))
                / (np.cos(np.radians(lat)) * np.cos(declination))
            )
        )
        / 15
    )
    from_noon = (solar_hour(times, lon=lon) - 12 + 12) % 24 - 12
    day = 6 * from_noon / half_day
    night = np.sign(from_noon) * (6 + 6 * (np.abs(from_noon) - half_day) / (12 - half_day))
    return (12 + np.where(np.abs(from_noon) <= half_day, day, night)) % 24


def season_days(days: pd.DatetimeIndex) -> np.ndarray:
    """Days from the nearest 21 June, -183 to 182."""
    return (days.day_of_year.to_numpy() - 172 + 183) % 365 - 183


def typical_effects(rng: np.random.Generator, n_years: int, *, sd: float) -> np.ndarray:
    """Year effects without mean and without trend, so that every growth in the files is effort."""
    years = np.arange(n_years)
    raw = rng.normal(size=n_years)
    if n_years < 3:
        return np.zeros(n_years)
    raw -= np.polyval(np.polyfit(years, raw, 1), years)
    return sd * raw / raw.std()


# --- sporadic E ---------------------------------------------------------------------------------


def es_rate(season_day: np.ndarray, *, shift: float = 0.0) -> np.ndarray:
    """Openings a day to expect, before year and weather: solstice peak and a small winter peak."""
    since = season_day - shift
    summer = np.exp(-0.5 * (since / np.where(since < 0, 30.0, 36.0)) ** 2)
    winter = 0.09 * np.exp(-0.5 * (((season_day + 167 + 183) % 365 - 183) / 10.0) ** 2)
    return 1.5 * (summer + winter)


def es_openings(
    days: pd.DatetimeIndex, rng: np.random.Generator, *, year_effect: float, shift: float
) -> pd.DataFrame:
    """Openings of sporadic E over the region, one row per opening.

    Returns
    -------
    DataFrame
        `start end` [UTC], `lat lon` [degrees] of the patch at the start, `radius_km`, `speed_ms`,
        `course_deg`, `peak_mhz` (critical frequency at the centre), `clouds` (patches that drift together),
        `spread_km turn_deg` (how far apart, and where the second one lies).
    """
    weather = lfilter([np.sqrt(1 - 0.65**2)], [1, -0.65], rng.normal(size=len(days) + 30))[30:]
    rate = es_rate(season_days(days), shift=shift) * np.exp(year_effect + 0.7 * weather)
    day = days[np.repeat(np.arange(len(days)), rng.poisson(rate))]
    n = len(day)
    kind = rng.random(n)
    hour = np.where(kind < 0.54, rng.normal(10.75, 1.6, n), rng.normal(18.4, 1.6, n))
    hour = np.where(kind > 0.96, rng.uniform(0, 24, n), hour)
    lon = np.clip(rng.normal(REGION["lon"], 3.0, n), -9, 8).round(2)
    utc = hour - lon / 15 - solar_terms(day)[1]
    start = (day + pd.to_timedelta(utc * 60, unit="min")).round("s")
    minutes = np.clip(np.exp(rng.normal(np.log(60), 0.7, n)), 8, 420)
    morning = hour < 14.5
    return pd.DataFrame(
        {
            "start": start,
            "end": (start + pd.to_timedelta(minutes, unit="min")).round("s"),
            "lat": np.clip(rng.normal(REGION["lat"], 1.8, n), 40.5, 51).round(2),
            "lon": lon,
            "radius_km": rng.uniform(150, 300, n).round(1),
            "speed_ms": rng.uniform(30, 100, n).round(1),
            "course_deg": ((np.where(morning, 315, 225) + rng.normal(0, 50, n)) % 360).round(),
            "peak_mhz": (ES6_FLOOR_MHZ + 1.5 + rng.exponential(7.5, n)).round(1),
            "clouds": np.minimum(1 + rng.poisson(2.0, n), 5),
            "spread_km": rng.uniform(250, 500, n).round(),
            "turn_deg": rng.uniform(0, 360, n).round(),
        }
    ).sort_values("start", ignore_index=True)


def centre_mhz(openings: pd.DataFrame, share: np.ndarray) -> np.ndarray:
    """Critical frequency at the patch's centre when `share` of the opening's time is past [MHz]."""
    swell = 1 - np.abs(2 * share - 1) ** 4
    return ES6_FLOOR_MHZ + (openings["peak_mhz"].to_numpy() - ES6_FLOOR_MHZ) * swell


def required_mhz(distance_km: np.ndarray, *, freq_mhz: float) -> np.ndarray:
    """Critical frequency that one hop of this length asks of the layer (thin layer, no refraction)."""
    half = np.asarray(distance_km) / 2 / EARTH_KM
    rise = np.arctan2(np.cos(half) - EARTH_KM / (EARTH_KM + E_LAYER_KM), np.sin(half))
    sine = EARTH_KM * np.cos(rise) / (EARTH_KM + E_LAYER_KM)
    needed = freq_mhz * np.sqrt(1 - sine**2)
    return np.where(rise >= 0, needed, np.inf)


def es_active(openings: pd.DataFrame, slots: pd.DatetimeIndex) -> pd.DataFrame:
    """Which opening is on in which slot: `slot opening mhz lat lon radius_km`, patches and companions."""
    length = pd.Timedelta(minutes=SLOT_MIN)
    first = slots.searchsorted(openings["start"] - length / 2)
    last = slots.searchsorted(openings["end"] - length / 2)
    n = np.maximum(last - first, 0)
    row = np.repeat(np.arange(len(openings)), n)
    slot = np.arange(n.sum()) - np.repeat(np.cumsum(n) - n, n) + np.repeat(first, n)
    on = openings.iloc[row].reset_index(drop=True)
    middle = slots[slot] + length / 2
    age = (middle - pd.DatetimeIndex(on["start"])).total_seconds().to_numpy()
    whole = (on["end"] - on["start"]).dt.total_seconds().to_numpy()
    lat, lon = moved(
        lat=on["lat"], lon=on["lon"], km=on["speed_ms"] * age / 1000, bearing_deg=on["course_deg"]
    )
    table = pd.DataFrame(
        {
            "slot": slot,
            "opening": row,
            "mhz": centre_mhz(on, np.clip(age / whole, 0, 1)),
            "lat": lat,
            "lon": lon,
            "radius_km": on["radius_km"],
        }
    )
    clouds = [table] + [_companion(table, on, number) for number in range(1, on["clouds"].max())]
    return pd.concat(clouds, ignore_index=True)


def _companion(table: pd.DataFrame, on: pd.DataFrame, number: int) -> pd.DataFrame:
    """The patch of this number beside the first one of each opening that has so many, a little weaker."""
    has = (on["clouds"] > number).to_numpy()
    first, of = table[has], on[has]
    lat, lon = moved(
        lat=first["lat"],
        lon=first["lon"],
        km=of["spread_km"] * (0.6 + 0.4 * number),
        bearing_deg=of["turn_deg"] + 137.5 * number,
    )
    weaker = ES6_FLOOR_MHZ + (first["mhz"] - ES6_FLOOR_MHZ) * 0.85**number
    return first.assign(lat=lat, lon=lon, mhz=weaker)


def moved(*, lat, lon, km, bearing_deg) -> tuple[np.ndarray, np.ndarray]:
    """Where one arrives after `km` toward a bearing; flat steps are good enough for clouds [degrees]."""
    turn = np.radians(np.asarray(bearing_deg, float))
    north = np.asarray(km, float) * np.cos(turn) / 111.2
    middle = np.asarray(lat, float) + north / 2
    east = np.asarray(km, float) * np.sin(turn) / (111.2 * np.cos(np.radians(middle)))
    return np.asarray(lat, float) + north, np.asarray(lon, float) + east


# --- tropo --------------------------------------------------------------------------------------


def tropo_excess(
    slots: pd.DatetimeIndex, rng: np.random.Generator, *, year_effects: tuple[float, float] = (0.0, 0.0)
) -> dict[str, np.ndarray]:
    """How far the weather stands above what a duct needs, per slot; the region is open above 0.

    Over land ducts are likeliest just after sunrise and least so in mid-afternoon, over sea the
    reverse (common practice). High pressure favours both.
    """
    days = season_days(slots)
    phase = sun_phase(slots, **REGION)
    shared = autoregressive(rng, len(slots), hours=72)
    excess = {}
    for name, peak_day, sign, year, level in (
        ("land2", 50, 1, year_effects[0], -2.05),
        ("sea2", 15, -1, year_effects[1], -1.95),
    ):
        weather = 0.65 * shared + 0.55 * autoregressive(rng, len(slots), hours=72)
        gust = 0.3 * autoregressive(rng, len(slots), hours=3)
        season = 0.55 * np.cos(2 * np.pi * (days - peak_day) / 365)
        daily = 0.55 * sign * daily_swing(phase)
        excess[name] = level + weather + gust + season + daily + year
    return excess


def daily_swing(phase: np.ndarray) -> np.ndarray:
    """1 just after sunrise (sun phase 6.9), -1 in mid-afternoon (15), smooth between."""
    since = (phase - 6.9) % 24
    return np.where(since < 8.1, np.cos(np.pi * since / 8.1), -np.cos(np.pi * (since - 8.1) / 15.9))


def autoregressive(rng: np.random.Generator, n: int, *, hours: float) -> np.ndarray:
    """A Gaussian series of unit variance whose memory fades over `hours`."""
    keep = np.exp(-SLOT_MIN / 60 / hours)
    warm = int(5 * hours * 60 / SLOT_MIN)
    noise = rng.normal(size=n + warm)
    return lfilter([np.sqrt(1 - keep**2)], [1, -keep], noise)[warm:]


# --- truth in tables ----------------------------------------------------------------------------


def open_slots(active: pd.DataFrame, excess: dict[str, np.ndarray], *, n_slots: int) -> pd.DataFrame:
    """Whether each series was open anywhere in the region, one row per slot, columns `SERIES`."""
    strongest = np.zeros(n_slots)
    np.maximum.at(strongest, active["slot"].to_numpy(), active["mhz"].to_numpy())
    return pd.DataFrame(
        {
            "es6": strongest > 0,
            "es2": strongest >= ES2_FLOOR_MHZ,
            "land2": excess["land2"] > 0,
            "sea2": excess["sea2"] > 0,
        }
    )


def half_hours(slots: pd.DatetimeIndex, opened: pd.DataFrame) -> pd.DataFrame:
    """Open (1) or not (0) per half-hour that begins at `time`: open in any of its three slots."""
    table = opened.groupby(slots.floor("30min")).any().astype(int)
    return table.rename_axis("time").reset_index()


def true_curves(rng: np.random.Generator, *, n_years: int) -> pd.DataFrame:
    """True chance that a half-hour is open, averaged over many simulated years of the same climate.

    Returns
    -------
    DataFrame
        `series by x chance`: `by` is hour (local solar hour for sporadic E, sun-phase hour for tropo, 48
        classes) or season_day (all hours of the day, smoothed over nine days).
    """
    days = pd.date_range("2022-12-22", periods=365, tz="UTC")
    slots = pd.date_range(days[0], periods=len(days) * PER_DAY, freq=f"{SLOT_MIN}min")
    halves = slots[::3]
    middle = halves + pd.Timedelta(minutes=15)
    axes = {"es": solar_hour(middle, lon=REGION["lon"]), "tr": sun_phase(middle, **REGION)}
    total = np.zeros((len(halves), len(SERIES)))
    for _ in range(n_years):
        openings = es_openings(days, rng, year_effect=rng.normal(0, 0.15), shift=rng.normal(0, 5))
        effects = (rng.normal(0, 0.15), rng.normal(0, 0.15))
        opened = open_slots(
            es_active(openings, slots), tropo_excess(slots, rng, year_effects=effects), n_slots=len(slots)
        )
        total += opened.to_numpy().reshape(len(halves), 3, len(SERIES)).any(axis=1)
    pieces = []
    for column, series in enumerate(SERIES):
        chance = total[:, column] / n_years
        hour = np.floor(axes["es" if series.startswith("es") else "tr"] * 2) / 2 + 0.25
        pieces.append(_curve(series, "hour", pd.Series(chance).groupby(hour).mean()))
        by_day = pd.Series(chance).groupby(season_days(halves)).mean()
        around = pd.concat([by_day.iloc[-4:], by_day, by_day.iloc[:4]])
        pieces.append(_curve(series, "season_day", around.rolling(9, center=True).mean().iloc[4:-4]))
    return pd.concat(pieces, ignore_index=True)


def _curve(series: str, by: str, chance: pd.Series) -> pd.DataFrame:
    return pd.DataFrame({"series": series, "by": by, "x": chance.index, "chance": chance.to_numpy().round(6)})

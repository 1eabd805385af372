"""Where the Sun stands: solar hour, nearest sunrise and sunset, light, season.

astral's own declination and equation of time are tabulated every three hours; all else is NumPy over
rows. An event is found by hour angle in the local solar day, never by UTC date: the date of a sunset
in UTC says nothing about which evening it was. Where the Sun does not rise or set, the answer is NaN
and the class of light says why.
"""

from __future__ import annotations

import datetime as dt
from functools import lru_cache

import numpy as np
import pandas as pd
from astral import julian, sun
from numpy.typing import ArrayLike, NDArray

ZENITH_DEG = 90.8333  # the almanac's sunrise: 34' of refraction and 16' of half diameter
NIGHT_DEG = -18.0  # the end of astronomical twilight
STEP_S = 10800.0
DAY_S = 86400.0
LIGHTS = pd.CategoricalDtype(["day", "twilight", "night", "polar day", "polar night"])
SURE_LATITUDE_DEG = 60.0  # up to here the Sun rises and sets on every day of the year

Times = pd.Series | pd.DatetimeIndex


def solar_hour(times: Times, *, lon: ArrayLike) -> NDArray:
    """Hour of true local solar time, noon when the Sun crosses the meridian, in [0, 24).

    Parameters
    ----------
    times : Series or DatetimeIndex
        With a time zone.
    lon : float or array
        Degrees east.

    Raises
    ------
    ValueError
        If the times carry no time zone.
    """
    return _solar_days(unix_seconds(times), np.asarray(lon, float)) % 1 * 24


def elevation(times: Times, *, lon: ArrayLike, lat: ArrayLike) -> NDArray:
    """Height of the Sun's centre above the horizon without refraction [degrees].

    Parameters
    ----------
    times : Series or DatetimeIndex
    lon, lat : float or array
        Degrees east, north.
    """
    seconds = unix_seconds(times)
    return _elevation(seconds, np.asarray(lon, float), np.radians(np.asarray(lat, float)))


def from_events(
    times: Times, *, lon: ArrayLike, lat: ArrayLike, zenith: ArrayLike = ZENITH_DEG
) -> pd.DataFrame:
    """Hours since the nearest sunrise and the nearest sunset, negative before the event.

    Parameters
    ----------
    times : Series or DatetimeIndex
    lon, lat : float or array
        Degrees east, north.
    zenith : float or array
        Zenith angle of the Sun's centre that counts as the event [degrees]; with
        `physics.sporadic_e.sunlit_zenith` the events are those of the E layer.

    Returns
    -------
    DataFrame
        `from_sunrise_h`, `from_sunset_h`, index of `times`. NaN where the Sun neither rises (sets)
        in the solar day nor in its two neighbours.

    Notes
    -----
    Within 10 s of a numerical ephemeris up to 65 degrees of latitude. Beyond, the Sun grazes the
    horizon and a small error of its height is a large error of time: minutes in the three days
    around the start of polar day or night.
    """
    seconds, lon, lat, zenith = _rows(times, lon, lat, zenith)
    result = {
        "from_sunrise_h": _since_nearest(seconds, lon, lat, zenith, side=-1),
        "from_sunset_h": _since_nearest(seconds, lon, lat, zenith, side=1),
    }
    return pd.DataFrame(result, index=_index(times))


def light_of(elevation_deg: ArrayLike, from_sunrise_h: ArrayLike, from_sunset_h: ArrayLike) -> pd.Categorical:
    """Class of light from the Sun's height and its nearest events.

    Day while the Sun is above -0.8333 degrees, twilight down to -18, night below; polar day or night
    where neither event comes within a day.
    """
    height = np.asarray(elevation_deg, float)
    up = height > 90 - ZENITH_DEG
    polar = np.isnan(np.asarray(from_sunrise_h, float)) & np.isnan(np.asarray(from_sunset_h, float))
    code = np.select([np.isnan(height), polar & up, polar, up, height > NIGHT_DEG], [-1, 3, 4, 0, 1], 2)
    return pd.Categorical.from_codes(code, dtype=LIGHTS)


def sun_hours(times: Times, *, lon: ArrayLike, lat: ArrayLike) -> NDArray:
    """Sun-phase hour: sunrise 6, noon 12, sunset 18, midnight 24 (0), piecewise linear in between.

    In a solar day without sunrise or sunset it is the solar hour.

    Parameters
    ----------
    times : Series or DatetimeIndex
    lon, lat : float or array
        Degrees east, north.

    Returns
    -------
    ndarray
        Hours in [0, 24).
    """
    seconds, lon, lat, zenith = _rows(times, lon, lat, ZENITH_DEG)
    solar = _solar_days(seconds, lon)
    day = np.floor(solar)
    rise = _solar_days(_event(day, lon, lat, zenith, side=-1), lon) - day
    sets = _solar_days(_event(day, lon, lat, zenith, side=1), lon) - day
    x = solar - day
    phase = np.select(
        [np.isnan(rise) | np.isnan(sets), x < rise, x < 0.5, x < sets],
        [
            24 * x,
            6 * x / rise,
            6 + 6 * (x - rise) / (0.5 - rise),
            12 + 6 * (x - 0.5) / (sets - 0.5),
        ],
        18 + 6 * (x - sets) / (1 - sets),
    )
    return phase % 24


def season_of(times: Times, *, lat: ArrayLike) -> pd.DataFrame:
    """Season a time belongs to, counted from the summer solstice of its hemisphere.

    Parameters
    ----------
    times : Series or DatetimeIndex
    lat : float or array
        Degrees north; the equator counts as north. NaN gives NA.

    Returns
    -------
    DataFrame
        `season`, the year of the nearest summer solstice, and `season_day`, whole days (UTC) since
        the date of that solstice, -183 to 183; both Int16, index of `times`. A southern summer
        belongs to the year of its December.
    """
    days = np.floor(unix_seconds(times) / DAY_S)
    lat = np.broadcast_to(np.asarray(lat, float), days.shape)
    season = np.zeros(days.shape, dtype="int16")
    season_day = np.zeros(days.shape, dtype="int16")
    for south in (False, True):
        rows = (lat < 0) == south
        if not rows.any():
            continue
        years = np.arange(_year(days[rows].min()) - 1, _year(days[rows].max()) + 2)
        solstices = np.array([_solstice(int(year), south) for year in years])
        nearest = np.searchsorted((solstices[1:] + solstices[:-1]) / 2, days[rows], side="right")
        season[rows] = years[nearest]
        season_day[rows] = days[rows] - solstices[nearest]
    unknown = np.isnan(lat)
    columns = {"season": season, "season_day": season_day}
    arrays = {name: pd.arrays.IntegerArray(value, unknown.copy()) for name, value in columns.items()}
    return pd.DataFrame(arrays, index=_index(times))


def ecliptic_longitude(day: float) -> float:
    """Apparent longitude of the Sun [degrees] at a day since 1970 (UTC), which dates meteor showers."""
    return sun.sun_apparent_long(julian.julianday_to_juliancentury(day + 2440587.5)) % 360


def unix_seconds(times: Times) -> NDArray:
    """Seconds since 1970 in UTC, fractions kept; whatever unit the times are stored in."""
    index = pd.DatetimeIndex(times)
    if index.tz is None:
        raise ValueError("times have no time zone; mark them as UTC first")
    return index.tz_convert("UTC").tz_localize(None).to_numpy("datetime64[us]").astype("int64") / 1e6


def _index(times: Times) -> pd.Index:
    return times.index if isinstance(times, pd.Series) else pd.RangeIndex(len(times))


def _rows(times, lon, lat, zenith) -> tuple[NDArray, NDArray, NDArray, NDArray]:
    """Everything as long as the times; latitude and zenith in radians."""
    seconds = unix_seconds(times)
    lon, lat, zenith = (np.broadcast_to(np.asarray(x, float), seconds.shape) for x in (lon, lat, zenith))
    return seconds, lon, np.radians(lat), np.radians(zenith)


def _elevation(seconds: NDArray, lon: NDArray, lat: NDArray) -> NDArray:
    declination, _ = _almanac(seconds)
    hour_angle = (_solar_days(seconds, lon) - 0.5) * 2 * np.pi
    sine = np.sin(lat) * np.sin(declination) + np.cos(lat) * np.cos(declination) * np.cos(hour_angle)
    return np.degrees(np.arcsin(np.clip(sine, -1, 1)))


def _solar_days(seconds: NDArray, lon: NDArray) -> NDArray:
    """Solar days since 1970 at a longitude: whole at solar midnight, and a half at noon."""
    _, equation = _almanac(seconds)
    return (seconds + equation) / DAY_S + lon / 360


def _since_nearest(seconds: NDArray, lon: NDArray, lat: NDArray, zenith: NDArray, *, side: int) -> NDArray:
    """Hours since the nearest event; side -1 is sunrise, +1 sunset."""
    declination, _ = _almanac(seconds)
    first = np.nan_to_num(_half_day(declination, lat, zenith), nan=0.25) * side + 0.5
    day = np.floor(_solar_days(seconds, lon) - first + 0.5)
    nearest = seconds - _event(day, lon, lat, zenith, side=side)
    # Toward the poles the event may be missing today yet there tomorrow, or move by hours in a day.
    far = np.flatnonzero(~(np.abs(lat) <= np.radians(SURE_LATITUDE_DEG)) | (np.abs(nearest) > 0.49 * DAY_S))
    for step in (-1, 1):
        other = seconds[far] - _event(day[far] + step, lon[far], lat[far], zenith[far], side=side)
        closer = ~(np.abs(other) >= np.abs(nearest[far]))
        nearest[far] = np.where(closer & ~np.isnan(other), other, nearest[far])
    return nearest / 3600


def _event(day: NDArray, lon: NDArray, lat: NDArray, zenith: NDArray, *, side: int) -> NDArray:
    """Seconds since 1970 of the event in a solar day; NaN where there is none.

    Declination and equation of time are those of the event itself, found by repetition.
    """
    seconds = (day + 0.5 + side * 0.25 - lon / 360) * DAY_S
    for _ in range(3):
        declination, equation = _almanac(seconds)
        half = _half_day(declination, lat, zenith)
        moved = (day + 0.5 + side * half - lon / 360) * DAY_S - equation
        seconds = np.where(np.isnan(moved), seconds, moved)
    return np.where(np.isnan(half), np.nan, moved)


def _half_day(declination: NDArray, lat: NDArray, zenith: NDArray) -> NDArray:
    """Days between noon and the event; NaN where the Sun stays above or below."""
    with np.errstate(invalid="ignore", divide="ignore"):
        cosine = (np.cos(zenith) - np.sin(lat) * np.sin(declination)) / (np.cos(lat) * np.cos(declination))
        return np.arccos(cosine) / (2 * np.pi)


def _almanac(seconds: NDArray) -> tuple[NDArray, NDArray]:
    """Declination [radians] and equation of time [seconds], linear between table entries."""
    known = seconds[np.isfinite(seconds)] if np.ndim(seconds) else np.atleast_1d(seconds)
    if not len(known):
        return np.full_like(seconds, np.nan), np.full_like(seconds, np.nan)
    first, last = _year(known.min() / DAY_S), _year(known.max() / DAY_S)
    start, declination, equation = _table(first, last)
    place = (seconds - start) / STEP_S
    with np.errstate(invalid="ignore"):
        left = np.where(np.isfinite(place), place, 0).astype("int64")
    part = place - left
    return tuple(
        values[left] + part * (values[left + 1] - values[left]) for values in (declination, equation)
    )


@lru_cache(maxsize=64)
def _table(first: int, last: int) -> tuple[float, NDArray, NDArray]:
    """Years joined into one table: its first second, declinations, equations of time."""
    parts = [_year_table(year) for year in range(first, last + 1)]
    columns = []
    for i in (0, 1):
        columns.append(np.concatenate([*(part[i][:-1] for part in parts), parts[-1][i][-1:]]))
    return _new_year(first) * DAY_S, columns[0], columns[1]


@lru_cache(maxsize=256)
def _year_table(year: int) -> tuple[NDArray, NDArray]:
    seconds = np.arange(_new_year(year) * DAY_S, _new_year(year + 1) * DAY_S + 1, STEP_S)
    centuries = [julian.julianday_to_juliancentury(s / DAY_S + 2440587.5) for s in seconds]
    return (
        np.radians([sun.sun_declination(c) for c in centuries]),
        np.array([sun.eq_of_time(c) for c in centuries]) * 60,
    )


def _year(day: float) -> int:
    return (dt.date(1970, 1, 1) + dt.timedelta(days=int(np.floor(day)))).year


def _new_year(year: int) -> int:
    return (dt.date(year, 1, 1) - dt.date(1970, 1, 1)).days


@lru_cache(maxsize=512)
def _solstice(year: int, south: bool) -> int:
    """Day since 1970 on which the Sun's apparent longitude reaches 90 (south: 270) degrees."""
    day = float(_new_year(year) + (355 if south else 172))
    for _ in range(4):
        day += ((270 if south else 90) - ecliptic_longitude(day)) / 0.9856
    return int(np.floor(day))

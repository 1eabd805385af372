"""Where the Sun stands: solar hour, nearest sunrise and sunset, light, season.

astral's own declination and equation of time are tabulated every three hours; all else is NumPy over
rows. An event is found by hour angle in the local solar day, never by UTC date: the date of a sunset
in UTC says nothing about which evening it was. Where the Sun does not rise or set, the answer is NaN
and the class of light says why.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from analysis.physics import almanac
from analysis.physics.almanac import DAY_S

ZENITH_DEG = 90.8333  # the almanac's sunrise: 34' of refraction and 16' of half diameter
NIGHT_DEG = -18.0  # the end of astronomical twilight
LIGHTS = pd.CategoricalDtype(["day", "twilight", "night", "polar day", "polar night"])
SURE_LATITUDE_DEG = 60.0  # up to here the Sun rises and sets on every day of the year
RISING, SETTING = -1, 1  # codes

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
    seconds, place = _rows(times, lon, 0.0)
    return np.where(place.known, _solar_days(seconds, place, almanac.table_of(seconds)) % 1 * 24, np.nan)


def elevation(times: Times, *, lon: ArrayLike, lat: ArrayLike) -> NDArray:
    """Height of the Sun's centre above the horizon without refraction [degrees].

    Parameters
    ----------
    times : Series or DatetimeIndex
    lon, lat : float or array
        Degrees east, north.
    """
    seconds, place = _rows(times, lon, lat)
    table = almanac.table_of(seconds)
    sine_dec, _ = almanac.look_up(seconds, table)
    hour_angle = (_solar_days(seconds, place, table) - 0.5) * 2 * np.pi
    level = np.sqrt(1 - sine_dec**2) * place.cosine * np.cos(hour_angle)
    height = np.degrees(np.arcsin(np.clip(place.sine * sine_dec + level, -1, 1)))
    return np.where(place.known, height, np.nan)


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
        Zenith angle of the Sun's centre that counts as the event [degrees].

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
    seconds, place = _rows(times, lon, lat, zenith)
    table = almanac.table_of(seconds)
    solar = _solar_days(seconds, place, table)
    half = _half_day(almanac.look_up(seconds, table)[0], place)
    result = {
        name: np.where(place.known, _since_nearest(seconds, solar, half, place, table, side=side), np.nan)
        for name, side in (("from_sunrise_h", RISING), ("from_sunset_h", SETTING))
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
    seconds, place = _rows(times, lon, lat)
    table = almanac.table_of(seconds)
    solar = _solar_days(seconds, place, table)
    day = np.floor(solar)
    _, before = _event(day, day + 0.25, place, table, side=RISING)
    _, after = _event(day, day + 0.75, place, table, side=SETTING)
    rise, sets, x = 0.5 - before, 0.5 + after, solar - day
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
    return np.where(place.known, phase % 24, np.nan)


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
        years = np.arange(almanac.year_of(days[rows].min()) - 1, almanac.year_of(days[rows].max()) + 2)
        solstices = np.array([almanac.solstice(int(year), south) for year in years])
        nearest = np.searchsorted((solstices[1:] + solstices[:-1]) / 2, days[rows], side="right")
        season[rows] = years[nearest]
        season_day[rows] = days[rows] - solstices[nearest]
    unknown = np.isnan(lat)
    columns = {"season": season, "season_day": season_day}
    arrays = {name: pd.arrays.IntegerArray(value, unknown.copy()) for name, value in columns.items()}
    return pd.DataFrame(arrays, index=_index(times))


def unix_seconds(times: Times) -> NDArray:
    """Seconds since 1970 in UTC, fractions kept; whatever unit the times are stored in."""
    index = pd.DatetimeIndex(times)
    if index.tz is None:
        raise ValueError("times have no time zone; mark them as UTC first")
    return index.tz_convert("UTC").tz_localize(None).to_numpy("datetime64[us]").astype("int64") / 1e6


def _index(times: Times) -> pd.Index:
    return times.index if isinstance(times, pd.Series) else pd.RangeIndex(len(times))


@dataclass(frozen=True)
class _Place:
    """Where rows look at the Sun from; unknown places are worked as 0 N 0 E and masked at the end."""

    known: NDArray
    lon: NDArray  # degrees
    lat: NDArray
    sine: NDArray  # of the latitude
    cosine: NDArray
    horizon: NDArray  # cosine of the zenith angle of the event

    def at(self, rows: NDArray) -> _Place:
        return _Place(*(getattr(self, field.name)[rows] for field in fields(self)))


def _rows(
    times: Times, lon: ArrayLike, lat: ArrayLike, zenith: ArrayLike = ZENITH_DEG
) -> tuple[NDArray, _Place]:
    """Times in seconds and places, all as long as the times."""
    seconds = unix_seconds(times)
    east, north, angle = (np.broadcast_to(np.asarray(x, float), seconds.shape) for x in (lon, lat, zenith))
    known = np.isfinite(east + north)
    if not known.all():
        east, north = np.where(known, east, 0.0), np.where(known, north, 0.0)
    radians = np.radians(north)
    return seconds, _Place(known, east, north, np.sin(radians), np.cos(radians), np.cos(np.radians(angle)))


def _solar_days(seconds: NDArray, place: _Place, table: almanac.Table) -> NDArray:
    """Solar days since 1970 at a longitude: whole at solar midnight, and a half at noon."""
    _, equation = almanac.look_up(seconds, table)
    return (seconds + equation) / DAY_S + place.lon / 360


def _since_nearest(
    seconds: NDArray, solar: NDArray, half: NDArray, place: _Place, table: almanac.Table, *, side: int
) -> NDArray:
    """Hours since the nearest event; `half` is half the length of the present day [days]."""
    guess = 0.5 + side * np.where(np.isnan(half), 0.25, half)
    day = np.floor(solar - guess + 0.5)
    event, _ = _event(day, day + guess, place, table, side=side, steps=2)
    nearest = seconds - event
    # Toward the poles the event may be missing today yet there tomorrow, or move by hours in a day.
    sure = (np.abs(place.lat) <= SURE_LATITUDE_DEG) & (np.abs(nearest) <= 0.49 * DAY_S)
    far = np.flatnonzero(~sure)
    there = place.at(far)
    for step in (-1, 0, 1):
        middle = day[far] + step
        event, _ = _event(middle, middle + 0.5 + side / 4, there, table, side=side)
        other = seconds[far] - event
        closer = ~np.isnan(other) & ~(np.abs(other) >= np.abs(nearest[far]))
        nearest[far] = np.where(closer, other, nearest[far])
    return nearest / 3600


def _event(
    day: NDArray, guess: NDArray, place: _Place, table: almanac.Table, *, side: int, steps: int = 4
) -> tuple[NDArray, NDArray]:
    """Seconds since 1970 of the event in a solar day, and days from it to noon; NaN where there is none.

    Declination and equation of time are those of the event itself, found by repetition from a guess
    [solar days]. A step divides the error by some 300 at 60 degrees of latitude, less toward the poles.
    """
    seconds = (guess - place.lon / 360) * DAY_S
    for _ in range(steps):
        sine_dec, equation = almanac.look_up(seconds, table)
        half = _half_day(sine_dec, place)
        moved = (day + 0.5 + side * half - place.lon / 360) * DAY_S - equation
        seconds = np.where(np.isnan(moved), seconds, moved)
    return moved, half


def _half_day(sine_dec: NDArray, place: _Place) -> NDArray:
    """Days between noon and the event; NaN where the Sun stays above or below."""
    with np.errstate(invalid="ignore", divide="ignore"):
        level = np.sqrt(1 - sine_dec**2) * place.cosine
        return np.arccos((place.horizon - place.sine * sine_dec) / level) / (2 * np.pi)

"""The Sun's declination, equation of time and solstices, from astral's formulas, as tables.

Times are seconds or days since 1970 in UTC.
"""

from __future__ import annotations

import datetime as dt
from functools import lru_cache

import numpy as np
from astral import julian, sun
from numpy.typing import NDArray

DAY_S = 86400.0  # definition
STEP_S = 10800.0  # speed; between the points it is interpolated
MARGIN_DAYS = 4  # events of neighbouring days are looked up too
Table = tuple[float, NDArray, NDArray]


def table_of(seconds: NDArray) -> Table:
    """The almanac for some times and the days around them."""
    low, high = (seconds.min(), seconds.max()) if len(seconds) else (0.0, 0.0)
    return _table(year_of(low / DAY_S - MARGIN_DAYS), year_of(high / DAY_S + MARGIN_DAYS))


def look_up(seconds: NDArray, table: Table) -> tuple[NDArray, NDArray]:
    """Sine of the declination and equation of time [seconds], linear between entries of the table."""
    start, sine_dec, equation = table
    place = (seconds - start) / STEP_S
    left = place.astype("int32")
    part = place - left
    return (
        sine_dec[left] + part * (sine_dec[left + 1] - sine_dec[left]),
        equation[left] + part * (equation[left + 1] - equation[left]),
    )


@lru_cache(maxsize=64)
def _table(first: int, last: int) -> Table:
    """Years joined into one table: its first second, sines of declination, equations of time."""
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
        np.sin(np.radians([sun.sun_declination(c) for c in centuries])),
        np.array([sun.eq_of_time(c) for c in centuries]) * 60,
    )


def year_of(day: float) -> int:
    """Year (UTC) of a day since 1970."""
    return (dt.date(1970, 1, 1) + dt.timedelta(days=int(np.floor(day)))).year


def _new_year(year: int) -> int:
    return (dt.date(year, 1, 1) - dt.date(1970, 1, 1)).days


@lru_cache(maxsize=512)
def solstice(year: int, south: bool) -> int:
    """Day since 1970 on which the Sun's apparent longitude reaches 90 (south: 270) degrees."""
    day = float(_new_year(year) + (355 if south else 172))
    for _ in range(4):
        day += ((270 if south else 90) - ecliptic_longitude(day)) / 0.9856
    return int(np.floor(day))


def ecliptic_longitude(day: float) -> float:
    """Apparent longitude of the Sun [degrees] at a day since 1970 (UTC), which dates meteor showers."""
    return sun.sun_apparent_long(julian.julianday_to_juliancentury(day + 2440587.5)) % 360

"""Where a fixed point of the sky stands above a place's horizon."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

J2000_S = 946728000.0  # 2000-01-01 12:00 UTC [seconds since 1970]
DAY_S = 86400.0  # definition


def sidereal_degrees(seconds: ArrayLike) -> NDArray:
    """Mean sidereal time at Greenwich [degrees], UTC seconds since 1970; UT1 is taken for UTC.

    References
    ----------
    Meeus, Astronomical Algorithms, 2nd edition, formula 12.4, without its terms below 0.001 degrees.
    """
    days = (np.asarray(seconds, float) - J2000_S) / DAY_S
    return (280.46061837 + 360.98564736629 * days) % 360


def elevation(
    seconds: ArrayLike, *, lon: ArrayLike, lat: ArrayLike, right_ascension: ArrayLike, declination: ArrayLike
) -> NDArray:
    """Height of a point of the sky above the horizon [degrees], without refraction.

    Parameters
    ----------
    seconds : array_like
        UTC, since 1970.
    lon, lat : array_like
        Of the place [degrees east, north].
    right_ascension, declination : array_like
        Of the point [degrees].
    """
    hour_angle = np.radians(sidereal_degrees(seconds) + np.asarray(lon, float) - right_ascension)
    north, height = np.radians(np.asarray(lat, float)), np.radians(declination)
    sine = np.sin(north) * np.sin(height) + np.cos(north) * np.cos(height) * np.cos(hour_angle)
    return np.degrees(np.arcsin(np.clip(sine, -1, 1)))

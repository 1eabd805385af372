"""The Earth as a sphere: its radius, directions from its centre, distances and points along great circles.

Distances that must be right to a metre are geodesics on the ellipsoid (`tag.paths`); these are within 0.5 %.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

EARTH_KM = 6371.0088  # mean radius of WGS84, (2a + b)/3
FLATTENING = 1 / 298.257223563  # of WGS84


def directions(*, lon: ArrayLike, lat: ArrayLike) -> NDArray:
    """Unit vectors (n, 3) from the Earth's centre toward places [degrees east, north]."""
    turn, tilt = (np.radians(np.atleast_1d(np.asarray(angle, dtype=float))) for angle in (lon, lat))
    return np.column_stack([np.cos(tilt) * np.cos(turn), np.cos(tilt) * np.sin(turn), np.sin(tilt)])


def apart_km(one: NDArray, other: NDArray) -> NDArray:
    """Distance along the ground between unit vectors [km]; NaN where one of them is."""
    chord = np.sqrt(((one - other) ** 2).sum(axis=-1))
    return 2 * EARTH_KM * np.arcsin(np.clip(chord / 2, 0, 1))


def along(start: NDArray, end: NDArray, *, share: NDArray) -> NDArray:
    """Points a share of the way along great circles, unit vectors (n, 3)."""
    whole = apart_km(start, end) / EARTH_KM
    sine = np.where(whole > 1e-9, np.sin(whole), 1.0)
    first = np.where(whole > 1e-9, np.sin((1 - share) * whole) / sine, 1.0)
    return first[:, None] * start + (np.sin(share * whole) / sine)[:, None] * end

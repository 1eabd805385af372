"""How high the ground around a station stands in its way."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analysis.physics.earth import EARTH_KM

EFFECTIVE = 4 / 3  # Earth radius factor of the standard atmosphere (ITU-R P.452-18, equation 5, for 39 N/km)


def horizon_deg(ground_m: ArrayLike, *, km: ArrayLike, eye_m: float) -> NDArray:
    """Elevation of the horizon [degrees] over profiles of the ground, rays bent as in the standard atmosphere.

    Parameters
    ----------
    ground_m : array_like (profiles, points)
        Heights of the ground [m above sea]; NaN is passed over.
    km : array_like (points,)
        Distance of the points [km], above zero.
    eye_m : float
        Height of the antenna [m above sea].

    Returns
    -------
    array (profiles,)
        The steepest angle to any point; NaN where nothing is known of a profile.
    """
    km = np.asarray(km, float)
    bulge = km**2 / (2 * EFFECTIVE * EARTH_KM) * 1000
    rise = np.asarray(ground_m, float) - bulge - eye_m
    angle = np.degrees(np.arctan2(rise, km * 1000))
    known = np.isfinite(angle)
    return np.where(known.any(axis=-1), np.where(known, angle, -90.0).max(axis=-1), np.nan)

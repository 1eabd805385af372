"""Tropospheric ducts: how often they lie over a path."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray


def beta0(*, latitude_deg: ArrayLike, land_km: ArrayLike, inland_km: ArrayLike) -> NDArray:
    """Point incidence of anomalous propagation: share of an average year [%].

    The share of time in which refractivity falls by more than 100 N units in the lowest 100 m, at
    the middle of a path.

    Parameters
    ----------
    latitude_deg : array_like
        Latitude of the middle of the path.
    land_km : array_like
        Longest piece of land, coastal or inland, on the path (dtm).
    inland_km : array_like
        Longest inland piece (dlm).

    References
    ----------
    ITU-R P.452-18, equations 2 to 4.
    """
    latitude = np.abs(np.asarray(latitude_deg, float))
    land, inland = np.asarray(land_km, float), np.asarray(inland_km, float)
    tau = -np.expm1(-4.12e-4 * inland**2.41)
    mu1 = (10 ** (-land / (16 - 6.6 * tau)) + 10 ** (-5 * (0.496 + 0.354 * tau))) ** 0.2
    mu1 = np.minimum(mu1, 1.0)
    temperate = 10 ** (-0.015 * latitude + 1.67) * mu1 * mu1 ** (-0.935 + 0.0176 * latitude)
    polar = 4.17 * mu1 * mu1**0.3
    return np.where(latitude <= 70, temperate, polar)

"""Tropospheric ducts: what makes one, which frequencies it carries, how often it lies over a path."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

CURVATURE = 1e6 / 6371.0  # M units a km by which M outgrows N: curvature of the Earth (definition)
SURFACE_C, ELEVATED_C = (
    3.77e-3,
    5.66e-3,
)  # of a duct's longest wave; surface: read in papers on trapping layers; elevated: from memory
LIGHT_M_MHZ = 299.792458  # speed of light in metres times MHz (definition of the metre)


def vapour_pressure(*, celsius: ArrayLike, pressure_hpa: ArrayLike) -> NDArray:
    """Saturation vapour pressure over water [hPa]; at the dew point it is the vapour pressure itself.

    References
    ----------
    ITU-R P.453-14, equation 9.
    """
    t, p = np.asarray(celsius, float), np.asarray(pressure_hpa, float)
    enhanced = 1 + 1e-4 * (7.2 + p * (0.0320 + 5.9e-6 * t**2))
    return enhanced * 6.1121 * np.exp((18.678 - t / 234.5) * t / (t + 257.14))


def refractivity(*, pressure_hpa: ArrayLike, celsius: ArrayLike, vapour_hpa: ArrayLike) -> NDArray:
    """Radio refractivity N of moist air.

    Parameters
    ----------
    pressure_hpa : array_like
        Total pressure [hPa].
    celsius : array_like
        Temperature.
    vapour_hpa : array_like
        Water vapour pressure [hPa].

    References
    ----------
    ITU-R P.453-14, equation 6.
    """
    kelvin, e = np.asarray(celsius, float) + 273.15, np.asarray(vapour_hpa, float)
    return 77.6 * (np.asarray(pressure_hpa, float) - e) / kelvin + 72 * e / kelvin + 3.75e5 * e / kelvin**2


def modified(n_units: ArrayLike, *, height_m: ArrayLike) -> NDArray:
    """Modified refractivity M: where it falls with height, rays are bent more than the Earth is round."""
    return np.asarray(n_units, float) + CURVATURE * np.asarray(height_m, float) / 1000


def lowest_trapped_mhz(*, thickness_m: ArrayLike, strength_m: ArrayLike, surface: ArrayLike) -> NDArray:
    """Lowest frequency that a duct holds whole [MHz]; lower ones leak, yet less than without a duct.

    Parameters
    ----------
    thickness_m : array_like
        From the duct's base to its top [m].
    strength_m : array_like
        By how much M falls [M units].
    surface : array_like of bool
        Whether the duct rests on the ground.
    """
    c = np.where(np.asarray(surface, bool), SURFACE_C, ELEVATED_C)
    longest_m = 2 / 3 * c * np.asarray(thickness_m, float) * np.sqrt(np.asarray(strength_m, float))
    with np.errstate(divide="ignore"):
        return LIGHT_M_MHZ / longest_m


def coupling_loss_db(mhz: ArrayLike) -> NDArray:
    """What a duct over sea costs a low frequency beyond a high one [dB]: it is hard to get into.

    References
    ----------
    ITU-R P.452-18, equation 47a; ITU-R P.2001, attachment D.5.2, from 30 MHz. Zero from 500 MHz on.
    """
    ghz = np.asarray(mhz, float) / 1000
    return np.where(ghz < 0.5, 45.375 - 137 * ghz + 92.5 * ghz**2, 0.0)


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

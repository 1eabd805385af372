"""Refractivity of air, its gradient, and what the gradient does to a ray."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

EARTH_KM = 6371.0
TRAPPING = -1e6 / EARTH_KM  # N units per km at which a ray bends as the Earth does
# From this gradient downward a ray is bent so; the two middle limits are common practice, no source.
CLASSES = {"sub-refraction": 0.0, "normal": -79.0, "super-refraction": -157.0, "trapping": -np.inf}


def vapour_pressure(
    temperature_c: ArrayLike, *, humidity_percent: ArrayLike, pressure_hpa: ArrayLike
) -> NDArray:
    """Pressure of water vapour [hPa] over water.

    References
    ----------
    ITU-R P.453-14, equations for saturation vapour pressure with the enhancement factor.
    """
    t, p = np.asarray(temperature_c, float), np.asarray(pressure_hpa, float)
    factor = 1 + 1e-4 * (7.2 + p * (0.0320 + 5.9e-6 * t**2))
    saturated = factor * 6.1121 * np.exp((18.678 - t / 234.5) * t / (t + 257.14))
    return np.asarray(humidity_percent, float) / 100 * saturated


def refractivity(
    *, pressure_hpa: ArrayLike, temperature_c: ArrayLike, humidity_percent: ArrayLike
) -> NDArray:
    """Radio refractivity N of air [N units].

    References
    ----------
    ITU-R P.453-14, equation for N from dry pressure, temperature and vapour pressure.
    """
    e = vapour_pressure(temperature_c, humidity_percent=humidity_percent, pressure_hpa=pressure_hpa)
    kelvin = np.asarray(temperature_c, float) + 273.15
    dry = np.asarray(pressure_hpa, float) - e
    return 77.6 * dry / kelvin + 72 * e / kelvin + 3.75e5 * e / kelvin**2


def modified(refractivity_n: ArrayLike, *, height_km: ArrayLike) -> NDArray:
    """Modified refractivity M, which falls with height where rays are trapped [M units]."""
    return np.asarray(refractivity_n, float) - TRAPPING * np.asarray(height_km, float)


def earth_factor(lapse_per_km: ArrayLike) -> NDArray:
    """Factor k of the Earth's radius for a lapse of refractivity.

    Parameters
    ----------
    lapse_per_km : array_like
        Fall of N over the first kilometre, positive in a usual atmosphere [N units per km], as in ITU-R
        P.452; P.453 gives the gradient, of opposite sign.

    References
    ----------
    ITU-R P.452-18, equations 5 and 6.
    """
    return 157 / (157 - np.asarray(lapse_per_km, float))


def gradient_class(gradient_per_km: float) -> str:
    """Word for a gradient of N [N units per km]: sub-refraction, normal, super-refraction, trapping."""
    return next(name for name, above in CLASSES.items() if gradient_per_km > above)

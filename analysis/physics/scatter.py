"""Meteors, aircraft, the radio horizon, and what a signal-to-noise ratio means."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

EARTH_KM = 6371.0
EFFECTIVE = 4 / 3  # factor of the Earth's radius in an average atmosphere
REFERENCE_HZ = 2500.0


def horizon(height_m: ArrayLike) -> NDArray:
    """Distance to the radio horizon [km] from a height [m] over a smooth Earth of 4/3 radius."""
    return np.sqrt(2 * EFFECTIVE * EARTH_KM * np.asarray(height_m, float) / 1000)


def aircraft_reach(flight_km: ArrayLike, *, mast_m: float = 0.0) -> NDArray:
    """Longest path by reflection off an aircraft [km]: its horizon to both sides, and the masts' own."""
    return 2 * horizon(np.asarray(flight_km, float) * 1000) + 2 * horizon(mast_m)


def sporadic_meteor_flux(solar_hour: ArrayLike) -> NDArray:
    """Sporadic meteors by local solar hour, relative to the daily mean.

    References
    ----------
    ITU-R P.843-1: most at 06, fewest at 18 local time, four to one. The sine is the simplest curve
    with that ratio.
    """
    return 1 + 0.6 * np.sin(np.pi * np.asarray(solar_hour, float) / 12)


def snr_in_bandwidth(snr_db: ArrayLike, *, from_hz: float, to_hz: float) -> NDArray:
    """The same signal's ratio with noise taken in another bandwidth [dB]."""
    return np.asarray(snr_db, float) + 10 * np.log10(from_hz / to_hz)


def snr_at_one_watt(snr_db: ArrayLike, *, power_dbm: ArrayLike) -> NDArray:
    """Signal-to-noise ratio had the transmitter used 1 W [dB]; NaN where the power is unknown."""
    return np.asarray(snr_db, float) + 30 - np.asarray(power_dbm, float)

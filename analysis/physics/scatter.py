"""Aircraft, the radio horizon, and signals brought to one watt."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analysis.physics.earth import EARTH_KM

EFFECTIVE = 4 / 3  # factor of the Earth's radius in an average atmosphere


def horizon(height_m: ArrayLike) -> NDArray:
    """Distance to the radio horizon [km] from a height [m] over a smooth Earth of 4/3 radius."""
    return np.sqrt(2 * EFFECTIVE * EARTH_KM * np.asarray(height_m, float) / 1000)


def aircraft_reach(flight_km: ArrayLike, *, mast_m: float = 0.0) -> NDArray:
    """Longest path by reflection off an aircraft [km]: its horizon to both sides, and the masts' own."""
    return 2 * horizon(np.asarray(flight_km, float) * 1000) + 2 * horizon(mast_m)


def snr_at_one_watt(snr_db: ArrayLike, *, power_dbm: ArrayLike) -> NDArray:
    """Signal-to-noise ratio had the transmitter used 1 W [dB]; NaN where the power is unknown."""
    return np.asarray(snr_db, float) + 30 - np.asarray(power_dbm, float)

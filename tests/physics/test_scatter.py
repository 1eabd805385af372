"""Horizons and signals brought to one watt."""

import numpy as np
import pytest

from analysis.physics import scatter


@pytest.mark.definition
def test_horizon():
    """Radio horizon from 10, 20 and 100 m."""
    # Definition: sqrt(2 · 4/3 · 6371 km · h)
    assert scatter.horizon([10, 20, 100]) == pytest.approx([13.03, 18.43, 41.22], abs=0.01)


@pytest.mark.definition
def test_aircraft_reach():
    """Two horizons of 10, 11 and 12 km."""
    # Definition: two 4/3-Earth horizons of the flight level
    assert np.round(scatter.aircraft_reach([10, 11, 12])).tolist() == [824, 865, 903]


@pytest.mark.definition
def test_one_watt():
    """-15 dB from 5 W are -22 dB from 1 W."""
    # Definition: SNR + 30 - P[dBm]
    assert scatter.snr_at_one_watt(-15.0, power_dbm=37.0) == -22.0
    assert np.isnan(scatter.snr_at_one_watt(-15.0, power_dbm=np.nan))


@pytest.mark.definition
def test_masts_add_their_own_horizons():
    """Two stations 20 m above the ground see an aircraft at 10 km from so much farther."""
    # Definition: two 4/3-Earth horizons of 18.43 km each beyond the 824 km of the flight level
    assert scatter.aircraft_reach(10, mast_m=20) - scatter.aircraft_reach(10) == pytest.approx(
        36.87, abs=0.01
    )

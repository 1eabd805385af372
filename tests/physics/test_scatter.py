"""Horizons, meteors and signal-to-noise ratios."""

import numpy as np
import pytest

from analysis.physics import scatter


@pytest.mark.outside
def test_horizon():
    """Radio horizon from 10, 20 and 100 m."""
    # Definition: sqrt(2 · 4/3 · 6371 km · h)
    assert scatter.horizon([10, 20, 100]) == pytest.approx([13.03, 18.43, 41.22], abs=0.01)


@pytest.mark.outside
def test_aircraft_reach():
    """Two horizons of 10, 11 and 12 km."""
    # Definition: two 4/3-Earth horizons of the flight level
    assert np.round(scatter.aircraft_reach([10, 11, 12])).tolist() == [824, 865, 903]


@pytest.mark.outside
def test_sporadic_meteors():
    """Most at 06, fewest at 18 local time, four to one."""
    # ITU-R P.843-1, section 1: times and ratio
    flux = scatter.sporadic_meteor_flux([6, 12, 18, 0])
    assert flux == pytest.approx([1.6, 1.0, 0.4, 1.0], abs=1e-9)


@pytest.mark.outside
def test_bandwidth():
    """From 2500 Hz to 1, 500 and 50 Hz."""
    # Definition: 10 log10 of the ratio of bandwidths
    change = [scatter.snr_in_bandwidth(0.0, from_hz=2500, to_hz=hz) for hz in (1, 500, 50)]
    assert change == pytest.approx([33.98, 6.99, 16.99], abs=0.01)


@pytest.mark.outside
def test_one_watt():
    """-15 dB from 5 W are -22 dB from 1 W."""
    # Definition: SNR + 30 - P[dBm]
    assert scatter.snr_at_one_watt(-15.0, power_dbm=37.0) == -22.0
    assert np.isnan(scatter.snr_at_one_watt(-15.0, power_dbm=np.nan))

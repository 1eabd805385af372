"""Sporadic E against values worked out from the definition."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.physics import sporadic_e


@pytest.mark.outside
@pytest.mark.parametrize(
    ("height_km", "straight_km", "bent_km"),
    # ITU-R P.453: N = 315 exp(-h/7.35), by Bouguer's rule; a bare mirror 2R acos(R/(R+h)), R = 6371 km
    [
        (90, 2129.26, 2273.9),
        (100, 2242.99, 2388.9),
        (105, 2297.64, 2444.1),
        (110, 2350.95, 2497.9),
        (120, 2453.91, 2601.8),
    ],
)
def test_one_hop_reach(height_km, straight_km, bent_km):
    """The straight ray to 50 m, the bent ray to a kilometre, as printed."""
    assert sporadic_e.one_hop_reach(height_km, refracted=False) == pytest.approx(straight_km, abs=0.05)
    assert sporadic_e.one_hop_reach(height_km) == pytest.approx(bent_km, abs=1.0)


@pytest.mark.outside
def test_two_thousand_six_hundred_kilometres():
    """A layer at 120 km reaches as far as the constant in the Recommendation says."""
    # ITU-R P.2001-4 Attachment G: 2600 km in the one-hop equation, h = 120 km
    assert sporadic_e.one_hop_reach(120.0) == pytest.approx(2600, abs=5)


@pytest.mark.definition
@pytest.mark.parametrize(
    ("height_km", "factor"),
    # Definition: 1/sqrt(1-(R/(R+h))^2), R = 6371 km
    [(90, 6.012), (100, 5.710), (105, 5.576), (110, 5.451), (120, 5.225)],
)
def test_largest_secant_factor(height_km, factor):
    """At the straight-ray reach the factor is the largest there is."""
    edge = sporadic_e.one_hop_reach(height_km, refracted=False)
    assert sporadic_e.secant_factor(edge, height_km=height_km) == pytest.approx(factor, abs=1e-3)


@pytest.mark.definition
def test_secant_factor():
    """The factor over usual distances."""
    # Thin mirror at 110 km over a spherical Earth, worked out from the definition
    expected = [2.394, 3.981, 4.958, 5.382]
    assert sporadic_e.secant_factor([500, 1000, 1500, 2000]) == pytest.approx(expected, abs=1e-3)


def test_secant_factor_ends_at_the_reach():
    """Beyond the straight-ray reach there is no factor."""
    assert np.isnan(sporadic_e.secant_factor(2400.0))


@pytest.mark.definition
@pytest.mark.parametrize(
    ("freq_mhz", "foes_mhz", "distance_km"),
    # Secant law inverted for a mirror at 110 km, at 50.3, 70.2 and 144.3 MHz
    [
        (50.3, 10, 1556),
        (50.3, 12, 1085),
        (50.3, 14, 860),
        (50.3, 20, 534),
        (144.3, 28, 1668),
        (144.3, 30, 1399),
        (70.2, 16, 1171),
    ],
)
def test_shortest_distance(freq_mhz, foes_mhz, distance_km):
    """The skip distance to a kilometre."""
    assert sporadic_e.shortest_distance(foes_mhz, freq_mhz=freq_mhz) == pytest.approx(distance_km, abs=1)


def test_no_distance_below_the_lowest_foes():
    """8 MHz carry 50.3 MHz nowhere; a layer above the frequency reflects it overhead."""
    assert np.isnan(sporadic_e.shortest_distance(8.0, freq_mhz=50.3))
    assert sporadic_e.shortest_distance(60.0, freq_mhz=50.3) == pytest.approx(0, abs=1e-6)


@given(foes=st.floats(9.5, 45), height=st.floats(90, 120))
def test_skip_and_lowest_foes_are_inverse(foes, height):
    """The lowest foEs of the shortest distance is the foEs one started from."""
    distance = sporadic_e.shortest_distance(foes, freq_mhz=50.3, height_km=height)
    if np.isfinite(distance):
        back = sporadic_e.lowest_foes(distance, freq_mhz=50.3, height_km=height)
        assert back == pytest.approx(foes, rel=1e-6)


def test_soft_edge():
    """Sure at 2300 km, half at 2450, impossible at 2600."""
    assert sporadic_e.one_hop_chance([2000, 2300, 2450, 2600, 3000]).tolist() == [1, 1, 0.5, 0, 0]
    assert np.isfinite(sporadic_e.lowest_foes(2550.0, freq_mhz=50.3))
    assert np.isnan(sporadic_e.lowest_foes(2650.0, freq_mhz=50.3))

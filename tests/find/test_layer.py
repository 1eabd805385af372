"""The layer frequency that explains the reports."""

import numpy as np
import pytest

from analysis.find.openings import find_openings
from analysis.find.signs.layer import layer_bound, layer_bounds
from tests.find.make import at, tagged


# Secant law over a round Earth, mirror at 110 km, worked out apart
@pytest.mark.parametrize(("km", "expected"), [(500, 21.0), (800, 14.7), (1000, 12.6)])
def test_bound_of_one_hop(km, expected):
    """Layer frequency that 50.3 MHz needs, between those of a lower and a higher mirror."""
    foes, low, high, muf, *_ = layer_bound(km, freq_mhz=50.3)
    assert foes == pytest.approx(expected, abs=0.1)
    assert low < foes < high
    # Largest secant factor of a mirror at 110 km: 5.451, worked out apart by the same formula
    assert muf / foes == pytest.approx(5.451, abs=0.001)


def test_shortest_hop_of_a_quarter_counts():
    """Two quarters: 1500 and 800 km, then 1200 km; two hops and a mast of two paths do not count."""
    rows = at(
        [0, 5, 20, 22], distance_km=[1500.0, 800.0, 1200.0, 2900.0], rx_call=[f"Q{n}RX" for n in range(4)]
    )
    spots, openings = find_openings(tagged(rows), gap_min=100)
    spots = spots.assign(season=2024, hops=[1, 1, 1, 2])
    table = layer_bounds(spots, openings)
    assert table["shortest_km"].tolist() == [800, 1200]
    assert table["foes_mhz"].iloc[0] == pytest.approx(14.7, abs=0.1)
    assert table["n_held"].tolist() == [1, 1]
    assert table["climb_mhz_h"].iloc[1] == pytest.approx(np.diff(table["foes_mhz"])[0] * 4)


def test_nothing_to_bound():
    """Tropo bends no path at a layer."""
    rows = at([0, 5, 20], rx_call=[f"Q{n}RX" for n in range(3)], mechanism="TR", path_type="sea")
    spots, openings = find_openings(tagged(rows), gap_min=100)
    assert layer_bounds(spots.assign(season=2024, hops=1), openings).empty

"""What others worked counts here when two paths that share no station bear it out."""

import numpy as np
import pytest

from analysis.find import reach
from analysis.find.grouping import together
from analysis.find.grouping.witnessed import witnessed
from analysis.physics.earth import EARTH_KM, directions
from tests.find.make import at, tagged

PLACE = {"lon": 0.0, "lat": 45.0}


def borne_out(minutes, gap_min=30.0, **columns):
    """Reports bent 670 km north of the place, as a path of 1 340 km from there would be."""
    plain = {
        "mid_lon": 0.0,
        "mid_lat": 51.0,
        "distance_km": 1200.0,
        "rx_locator": "JO62",
        "tx_locator": "IO92",
    }
    rows = together.reports(tagged(at(minutes, **(plain | columns))))
    return witnessed(rows.assign(gap_min=gap_min), **PLACE).tolist()


def test_two_paths_without_a_common_station_bear_each_other_out():
    calls = {"tx_call": ["Q1A", "Q1B"], "rx_call": ["Q2A", "Q2B"]}
    assert borne_out([0, 10], **calls) == [True, True]
    assert borne_out([0, 20], **calls) == [False, False]  # more than half the silence apart
    assert borne_out([0, 10], mid_lat=[50.0, 52.0], **calls) == [False, False]  # 220 km apart


@pytest.mark.parametrize("end", ["tx_call", "rx_call"])
def test_one_station_s_mistake_is_no_witness(end):
    """Five reports share a station; elsewhere there are others, so it is not that nobody else is known."""
    calls = {"tx_call": list("ABCDEZ"), "rx_call": list("FGHIJY")}
    calls[end] = [*"VVVVV", "Z"]
    assert borne_out([0, 2, 4, 6, 8, 300], **calls) == [False] * 6


def test_where_the_data_know_one_receiver_it_needs_no_other():
    assert borne_out([0, 5], tx_call=["Q1A", "Q1B"], rx_call="Q2") == [True, True]


def test_a_lone_report_in_a_patch_borne_out_belongs_to_it():
    """Within a silence and the width of a patch of the two; not an hour later."""
    calls = {"tx_call": ["Q1A", "Q1B", "Q1C", "Q1C"], "rx_call": ["Q2A", "Q2B", "Q2A", "Q2A"]}
    assert borne_out([0, 5, 25, 90], **calls) == [True, True, True, False]


def test_what_ends_at_home_needs_no_witness():
    assert borne_out([0, 300], rx_call=["Q2A", "Q2B"], tx_locator="JN05") == [True, True]


def test_what_no_path_from_here_could_use_counts_for_nothing():
    """The bend lies overhead, or beyond a hop: others may crowd there as they like."""
    calls = {"tx_call": ["Q1A", "Q1B"], "rx_call": ["Q2A", "Q2B"]}
    for lat in (46.0, 57.0):
        assert borne_out([0, 1], mid_lat=lat, **calls) == [False, False]


def test_dense_and_sparse_crowds_are_told_alike():
    """Whole bins are looked at first: the answer is that of looking at every pair."""
    rng = np.random.default_rng(8)
    n = 400
    lat, lon = 51 + rng.normal(0, 2, n), rng.normal(0, 3, n)
    minutes, calls = np.sort(rng.uniform(0, 3000, n)), rng.integers(0, 12, (2, n))
    names = {
        end: [f"Q{call}{end[0]}" for call in own]
        for end, own in zip(("tx_call", "rx_call"), calls, strict=True)
    }
    told = borne_out(minutes, mid_lat=lat, mid_lon=lon, **names)
    points = directions(lon=lon, lat=lat)
    own = 2 * reach.apart_km(points, directions(**PLACE)[0])
    serves = (own >= 0.95 * 1200) & (own <= reach.LONGEST_HOP_KM)
    apart = np.linalg.norm(points[:, None] - points[None], axis=2) * EARTH_KM / 150
    apart = np.hypot(apart, (minutes[:, None] - minutes[None]) / 15) + np.where(serves, 0, 99)
    near = (apart <= 1) & serves[:, None]
    core = [all(len(set(end[row])) >= 2 for end in calls) for row in near]
    slow = serves & ((apart < 2) & np.array(core)).any(axis=1)
    assert 20 < slow.sum() < serves.sum() - 20
    assert told == slow.tolist()

"""One clustering in space and time: equal to looking at every pair, and blind to order, place and crowds."""

import time

import numpy as np
import pytest
from scipy.sparse.csgraph import connected_components
from scipy.spatial.distance import pdist, squareform

from analysis.find.grouping import clusters
from analysis.find.reach import directions
from analysis.physics.earth import EARTH_KM

REACH = {"reach_km": 300.0, "gap_min": 40.0}


def crowds(seed, *, n=400, centres=12, spread_deg=2.0):
    """Points in crowds of unequal size over a continent and two days, some at equal places and times."""
    rng = np.random.default_rng(seed)
    of = rng.integers(0, centres, n)
    lon = rng.uniform(-10, 25, centres)[of] + rng.normal(0, spread_deg, n)
    lat = rng.uniform(36, 58, centres)[of] + rng.normal(0, spread_deg / 2, n)
    minute = rng.uniform(0, 600, centres)[of] + rng.normal(0, 40, n)
    return np.round(lon, 1), np.round(lat, 1), np.round(minute)


def every_pair(points, minute, *, reach_km, gap_min):
    """The same by a square matrix."""
    scaled = np.column_stack([points * EARTH_KM / reach_km, minute / gap_min])
    return connected_components(squareform(pdist(scaled)) <= 1.0)[1]


def parted(label):
    """A partition without names: for each point the first one of its cluster."""
    first = {}
    return [first.setdefault(one, i) for i, one in enumerate(label)]


@pytest.mark.parametrize("seed", range(12))
def test_as_by_every_pair(seed):
    spread = (0.3, 1.0, 2.0, 4.0)[seed % 4]
    lon, lat, minute = crowds(seed, spread_deg=spread)
    points = directions(lon=lon, lat=lat)
    found = clusters.join(points, minute, **REACH)
    assert parted(found) == parted(every_pair(points, minute, **REACH))
    assert 1 < found.max() + 1 < len(found)


def test_order_crowds_and_place_do_not_matter():
    lon, lat, minute = crowds(5, spread_deg=3.0)
    whole = parted(clusters.join(directions(lon=lon, lat=lat), minute, **REACH))
    for moved in (
        directions(lon=lon + 123.4, lat=lat),
        directions(lon=-lon, lat=lat),
        directions(lon=lon, lat=-lat),
    ):
        assert parted(clusters.join(moved, minute + 777.7, **REACH)) == whole
    order = np.random.default_rng(1).permutation(len(lon))
    shuffled = clusters.join(directions(lon=lon[order], lat=lat[order]), minute[order], **REACH)
    back = np.empty_like(shuffled)
    back[order] = shuffled
    assert parted(back) == whole
    twice = clusters.join(directions(lon=np.tile(lon, 3), lat=np.tile(lat, 3)), np.tile(minute, 3), **REACH)
    assert parted(twice[: len(lon)]) == whole


def test_a_point_more_never_undoes_a_cluster():
    lon, lat, minute = crowds(8)
    for n in (100, 200, 300):
        fewer = clusters.join(directions(lon=lon[:n], lat=lat[:n]), minute[:n], **REACH)
        more = clusters.join(directions(lon=lon, lat=lat), minute, **REACH)[:n]
        for one in np.unique(fewer):
            assert len(np.unique(more[fewer == one])) == 1


def test_places_along_one_path_belong_together():
    points = directions(lon=[0.0, 5.0, 10.0, 10.0], lat=[45.0] * 4)
    label = clusters.join(points, np.zeros(4), owner=np.array([0, 0, 0, 1]), **REACH)
    assert parted(label) == [0, 0, 0, 0]
    assert parted(clusters.join(points, np.zeros(4), owner=np.array([0, 0, 2, 3]), **REACH)) == [0, 0, 2, 2]


def test_unknown_places_are_near_one_another_only():
    points = directions(lon=[0.0, np.nan, np.nan], lat=[45.0, np.nan, np.nan])
    assert parted(clusters.join(points, np.zeros(3), **REACH)) == [0, 1, 1]
    assert len(clusters.join(points[:0], np.zeros(0), **REACH)) == 0


def test_dense_data_stay_quick():
    """A million reports of ten thousand stations in a few squares: seconds, not a square of them."""
    rng = np.random.default_rng(0)
    n = 300_000
    lon, lat = rng.normal(5, 2, n), rng.normal(48, 1, n)
    minute = np.floor(rng.uniform(0, 2 * 1440, n))
    began = time.perf_counter()
    label = clusters.join(directions(lon=lon, lat=lat), minute, reach_km=600, gap_min=30)
    assert label.max() == 0
    assert time.perf_counter() - began < 10


def test_silences_are_those_at_a_place():
    """Two far places that answer one another every five minutes have silences of ten."""
    lon = np.tile([0.0, 30.0], 20)
    points = directions(lon=lon, lat=np.full(40, 45.0))
    minute = np.arange(40) * 5.0
    assert set(clusters.next_near(points, minute, reach_km=600)) == {10.0, clusters.DAY_MIN}
    assert set(clusters.next_near(points, minute, reach_km=6000)) == {5.0, clusters.DAY_MIN}

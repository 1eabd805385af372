"""Zones and paths against independent masks and drawn maps."""

import hashlib
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analysis.tag import build_zones, coast

LAKES = 0.35  # degrees around a large lake in which masks without lakes must differ


def random_points(n, *, seed, lat_limit=60.0):
    """Points spread evenly over the Earth between two latitudes."""
    rng = np.random.default_rng(seed)
    lat = np.degrees(np.arcsin(rng.uniform(-1, 1, n) * np.sin(np.radians(lat_limit))))
    return rng.uniform(-180, 180, n), lat


def away_from_lakes(lon, lat):
    """Whether no large lake lies within `LAKES` degrees."""
    near = np.zeros(len(lon), dtype=bool)
    for x in (-LAKES, 0, LAKES):
        for y in (-LAKES, 0, LAKES):
            near |= coast.zone_at(lon=lon + x, lat=lat + y) == coast.LAKE
    return ~near


def is_sea(lon, lat):
    return coast.zone_at(lon=lon, lat=lat) == coast.SEA


@pytest.mark.outside
def test_against_a_satellite_mask():
    """At 20 000 random points at most 1 % away from lakes are on the other side of the coast."""
    globe = pytest.importorskip("global_land_mask").globe
    lon, lat = random_points(20000, seed=1)
    there = away_from_lakes(lon, lat)
    # global-land-mask (GLOBE 1 km digital elevation model); the Caspian Sea is land there
    there &= ~((lon > 46) & (lon < 55) & (lat > 36) & (lat < 48))
    differ = is_sea(lon, lat)[there] == globe.is_land(lat[there], lon[there])
    assert there.sum() > 19000
    assert differ.mean() <= 0.01


@pytest.mark.outside
def test_against_a_second_mask():
    """The same against shorelines drawn by hand and satellite, where that mask is installed."""
    mask = pytest.importorskip("roaring_landmask").RoaringLandmask.new()
    lon, lat = random_points(20000, seed=7)
    there = away_from_lakes(lon, lat)
    there &= ~((lon > 46) & (lon < 55) & (lat > 36) & (lat < 48))
    # GSHHG full-resolution shorelines; the Caspian Sea is land there
    differ = is_sea(lon, lat)[there] == mask.contains_many(lon[there], lat[there])
    assert differ.mean() <= 0.01


@pytest.mark.outside
def test_against_a_satellite_mask_where_operators_live():
    """In western Europe, too, at most 1.5 % of 20 000 points differ."""
    globe = pytest.importorskip("global_land_mask").globe
    rng = np.random.default_rng(2)
    lon, lat = rng.uniform(-12, 20, 20000), rng.uniform(36, 60, 20000)
    # global-land-mask (GLOBE 1 km digital elevation model); small lakes are land in both
    differ = is_sea(lon, lat) == globe.is_land(lat, lon)
    assert differ.mean() <= 0.015


@pytest.mark.outside
@pytest.mark.parametrize(
    ("lon", "lat", "zone"),
    # Any atlas: Bay of Biscay, Bordeaux's coast, Madrid, Lake Superior, the Caspian, Moscow
    [
        (-4, 45, coast.SEA),
        (-0.6, 44.8, coast.COASTAL),
        (-3.7, 40.4, coast.INLAND),
        (-88, 47.7, coast.LAKE),
        (51, 42, coast.SEA),
        (37.6, 55.8, coast.INLAND),
    ],
)
def test_known_places(lon, lat, zone):
    """Zones of places that nobody doubts."""
    assert coast.zone_at(lon=lon, lat=lat) == zone


def test_share_of_the_sea():
    """71 % of the Earth is sea."""
    lon, lat = random_points(100000, seed=3, lat_limit=90)
    # Common practice, no source: 71 %
    assert is_sea(lon, lat).mean() == pytest.approx(0.71, abs=0.01)


def test_coastal_land_is_within_fifty_kilometres():
    """Around every point of coastal land there is water within 50 km, around no inland point."""
    lon, lat = random_points(400, seed=4)
    zone = coast.zone_at(lon=lon, lat=lat)
    angle = np.radians(np.arange(0, 360, 5))
    for inside, km in ((coast.COASTAL, 54.0), (coast.INLAND, 46.0)):
        for x, y in zip(lon[zone == inside], lat[zone == inside], strict=True):
            radius = np.linspace(1, km, 30)[:, None] / 111.2
            around = coast.zone_at(
                lon=x + radius * np.sin(angle) / np.cos(np.radians(y)), lat=y + radius * np.cos(angle)
            )
            water = np.isin(around, (coast.SEA, coast.LAKE)).any()
            assert water == (inside == coast.COASTAL), (x, y)


def test_builder_marks_fifty_kilometres():
    """On the equator the strip beside water is 13 cells of 3.7 km wide, and wider in columns at 60 N."""
    zones = np.full((2800, 120), 2, dtype="uint8")
    zones[:, 60] = 0
    near = build_zones._near_water(zones)
    # 50 km by a cell of two minutes of arc: 3.706 km on a sphere of 6371 km
    assert near[2700].sum() == 2 * 13
    assert near[900].sum() == pytest.approx(2 * 13 / np.cos(np.radians(60)), abs=2)
    assert not near[2700, 60]


def test_grid_is_the_one_that_notice_describes():
    """The file's hash stands in NOTICE, so that a rebuilt grid cannot slip in unannounced."""
    folder = Path(coast.__file__).parent
    found = hashlib.sha256((folder / "zones.png").read_bytes()).hexdigest()
    assert found in (folder / "NOTICE").read_text(encoding="utf-8")


def test_grid_wraps_and_ends_at_the_poles():
    """Longitude 180 is -180; the poles and the date line are no holes."""
    assert coast.zone_at(lon=180.0, lat=10.0) == coast.zone_at(lon=-180.0, lat=10.0) == coast.SEA
    assert coast.zone_at(lon=540.0, lat=10.0) == coast.SEA
    assert coast.zone_at(lon=0.0, lat=90.0) == coast.SEA
    assert coast.zone_at(lon=0.0, lat=-90.0) == coast.INLAND


def test_hand_counted_path():
    """Shares and runs of a path along the equator from the Atlantic into Africa."""
    shares = coast.path_shares(lon1=0, lat1=0.001, lon2=20, lat2=0.001).iloc[0]
    lon = (np.arange(223) + 0.5) / 223 * 20
    sea = is_sea(lon, np.full(223, 0.001))
    assert shares["sea_share"] == pytest.approx(sea.mean(), abs=0.01)
    # The coast of Gabon at the equator is at 9.3 E, a small island at 6.6 E
    assert shares["longest_land_km"] == pytest.approx((20 - 9.35) * 111.32, abs=40)
    # Inland begins 50 km from water, and the Gabon estuary reaches 70 km into the land beside the path
    assert 50 <= shares["longest_land_km"] - shares["longest_inland_km"] <= 130
    assert shares["longest_sea_km"] >= 6 * 111.3
    assert shares["path_type"] == "mixed"


def test_paths_cross_the_date_line():
    """Across the Bering Sea there is sea, whichever way longitude is written, and not Siberia."""
    for lon2 in (-175.0, 185.0):
        shares = coast.path_shares(lon1=175.0, lat1=58.0, lon2=lon2, lat2=58.0).iloc[0]
        assert shares[["sea_share", "coasts"]].tolist() == [1.0, 0.0]


def test_paths_have_no_direction():
    """From either end the ground is the same."""
    rng = np.random.default_rng(5)
    ends = (
        rng.uniform(-10, 15, 200),
        rng.uniform(37, 58, 200),
        rng.uniform(-10, 15, 200),
        rng.uniform(37, 58, 200),
    )
    there = coast.path_shares(lon1=ends[0], lat1=ends[1], lon2=ends[2], lat2=ends[3])
    back = coast.path_shares(lon1=ends[2], lat1=ends[3], lon2=ends[0], lat2=ends[1])
    pd.testing.assert_frame_equal(there, back, atol=10.1, check_exact=False)
    assert (there["sea_share"] - back["sea_share"]).abs().max() < 0.02


def test_block_size_changes_nothing(monkeypatch):
    """Long tables are worked in blocks; the answers are the same."""
    rng = np.random.default_rng(6)
    ends = {name: rng.uniform(30, 55, 300) for name in ("lon1", "lat1", "lon2", "lat2")}
    whole = coast.path_shares(**ends)
    monkeypatch.setattr(coast, "BLOCK", 1000)
    pd.testing.assert_frame_equal(coast.path_shares(**ends), whole)


def test_path_types():
    """The stated thresholds, and no type for an unknown share."""
    types = coast.path_type([0.0, 0.099, 0.1, 0.749, 0.75, 1.0, np.nan])
    assert list(types[:6]) == ["land", "land", "mixed", "mixed", "sea", "sea"]
    assert pd.isna(types[6])


def test_unknown_ends_are_nan():
    """A missing end gives no shares and no type."""
    shares = coast.path_shares(lon1=[np.nan, 0], lat1=[45, 45], lon2=[1, 1], lat2=[46, 46])
    assert shares.iloc[0].isna().all()
    assert shares.iloc[1].notna().all()


def test_height_clause_can_be_given():
    """The caller's heights turn coastal land into inland land and nothing else."""
    ends = {"lon1": -1.2, "lat1": 44.5, "lon2": -1.0, "lat2": 44.0}
    plain = coast.path_shares(**ends).iloc[0]
    high = coast.path_shares(**ends, inland=lambda lon, lat: lat > 44.25).iloc[0]
    assert plain["longest_inland_km"] == 0
    assert 20 < high["longest_inland_km"] < 40
    assert high["sea_share"] == plain["sea_share"]


def test_type_certainty():
    """Open sea is sure with any locator; a path at a threshold is not."""
    pairs = pd.DataFrame(
        {
            "tx_lon": [-20.0, -2.0, 5.0],
            "tx_lat": [45.0, 43.6, 47.0],
            "tx_half_width_deg": [1.0, 1.0, 1.0],
            "rx_lon": [-25.0, 0.5, np.nan],
            "rx_lat": [40.0, 44.5, 44.0],
            "rx_half_width_deg": [1.0, 1.0, 1.0],
        }
    )
    shares = coast.path_shares(
        lon1=pairs["tx_lon"], lat1=pairs["tx_lat"], lon2=pairs["rx_lon"], lat2=pairs["rx_lat"]
    )
    sure = coast.type_certainty(pairs.assign(path_type=shares["path_type"]))
    assert sure[0] == 1.0
    assert 0.2 < sure[1] < 0.95
    assert np.isnan(sure[2])
    finer = pairs.assign(path_type=shares["path_type"], tx_half_width_deg=0.001, rx_half_width_deg=0.001)
    assert coast.type_certainty(finer)[1] >= 0.9

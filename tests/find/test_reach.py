"""From where a path could have been used."""

import numpy as np
import pandas as pd
import pytest

from analysis.find import reach
from analysis.gather import locators
from analysis.physics import earth
from analysis.tag.paths import WGS84, geodesics
from tests.find.make import tagged

HOME = {"lon": -1.0, "lat": 43.5}  # the middle of IN93


def path(*, mid_bearing, mid_km, length_km, turn_deg=90.0, hops=1, **columns):
    """A path whose middle lies so far from home on a bearing, crossing it at an angle."""
    lon, lat, _ = WGS84.fwd(HOME["lon"], HOME["lat"], mid_bearing, mid_km * 1000)
    ends = []
    for way in (0, 180):
        x, y, _ = WGS84.fwd(lon, lat, mid_bearing + turn_deg + way, length_km * 500)
        ends.append(locators.encode(lon=x, lat=y, length=8))
    return columns | {
        "tx_locator": ends[0],
        "rx_locator": ends[1],
        "mid_lon": lon,
        "mid_lat": lat,
        "distance_km": length_km,
        "hops": hops,
    }


def spots(*rows):
    table = tagged([{"time": "2024-06-10 12:00"} | row for row in rows])
    return table.assign(hops=[row.get("hops", 1) for row in rows])


def served(table, *, mechanism="ES", scope="here"):
    return reach.in_scope(table, scope=scope, mechanism=mechanism, **HOME).tolist()


def test_a_cloud_serves_home_where_home_needs_no_denser_one():
    table = spots(
        path(mid_bearing=60, mid_km=800, length_km=1500),  # home would work 1600 km: a lower angle
        path(mid_bearing=60, mid_km=500, length_km=1500),  # 1000 km: the cloud may be too thin
        path(mid_bearing=60, mid_km=1300, length_km=1500),  # 2600 km: beyond one hop
        path(mid_bearing=60, mid_km=730, length_km=1500),  # hardly shorter than the one reported
    )
    assert served(table) == [True, False, False, True]
    assert reach.headings_from(table, mechanism="ES", **HOME)[0] == pytest.approx(60, abs=0.3)


def test_of_two_hops_either_bend_may_serve_home():
    beyond = path(mid_bearing=0, mid_km=1500, length_km=2600, turn_deg=0.0)
    assert served(spots(beyond | {"hops": 1})) == [False]
    table = spots(beyond | {"hops": 2})  # bends at 850 and 2150 km, hops of 1300 km
    assert served(table) == [True]
    assert reach.headings_from(table, mechanism="ES", **HOME)[0] % 360 == pytest.approx(0, abs=0.5)


def test_hops_are_bent_in_their_middles():
    table = spots(path(mid_bearing=90, mid_km=900, length_km=3000, hops=3))
    row, points, hop_km = reach.bends(table)
    assert row.tolist() == [0, 0, 0]
    assert hop_km == pytest.approx([1000.0] * 3)
    assert earth.apart_km(points[0], points[2]) == pytest.approx(2000, rel=0.005)
    # Under the middle hop lies the middle of the path.
    middle = earth.directions(lon=table["mid_lon"], lat=table["mid_lat"])[0]
    assert earth.apart_km(points[1], middle) < 5


def test_tropo_needs_an_end_near_home():
    here, there = "IN93KM", "IO80AA"
    near = {"tx_locator": there, "rx_locator": here, "mechanism": "TR"}
    swapped = near | {"tx_locator": here, "rx_locator": there}
    passing = near | {"rx_locator": "JN05AA"}
    table = spots(
        *({"mid_lon": -1.5, "mid_lat": 47.0, "distance_km": 800.0} | row for row in (near, swapped, passing))
    )
    assert served(table, mechanism="TR") == [True, True, False]
    bearing = reach.headings_from(table, mechanism="TR", **HOME)
    ends = locators.centre(pd.Series([there]))
    told = geodesics(lon1=HOME["lon"], lat1=HOME["lat"], lon2=ends["lon"], lat2=ends["lat"])
    assert bearing[:2] == pytest.approx(told["bearing_deg"].iloc[0], abs=0.3)


def test_neighbours_noticed_only_what_ends_near_home():
    bent_near = path(mid_bearing=60, mid_km=800, length_km=1500)
    own = path(mid_bearing=60, mid_km=800, length_km=1600, turn_deg=0.0)
    table = spots(bent_near, own)
    assert served(table, scope="neighbours") == [False, True]
    assert served(table, scope="region") == [True, True]


def test_a_longer_first_hop_with_an_end_at_home_is_home_s_own():
    assert served(spots(path(mid_bearing=200, mid_km=1200, length_km=2400, turn_deg=0.0))) == [True]


def test_what_has_no_place_serves_nobody():
    table = spots({"mid_lon": np.nan, "mid_lat": np.nan, "distance_km": np.nan})
    assert served(table) == [False]


def test_a_scope_has_a_name():
    with pytest.raises(ValueError, match="here, neighbours, region"):
        served(spots({}), scope="somewhere")


def test_squares_as_a_matrix_agree_with_their_reports():
    squares = ["IN93", "IO91", "JN45", "JO65", "IM67"]
    table = reach.square_paths(squares)
    matrix = reach.in_scope(table, scope="here", mechanism="ES", **HOME).reshape(5, 5)
    assert (matrix == matrix.T).all()  # a path serves both ways
    assert matrix[0, 3]  # one of home's own ends
    single = table[(table["rx_locator"] == "IM67") & (table["tx_locator"] == "JO65")]
    assert matrix[4, 3] == reach.in_scope(single, scope="here", mechanism="ES", **HOME)[0]
    assert table.loc[table["rx_locator"] == table["tx_locator"], "hops"].eq(1).all()


@pytest.mark.parametrize("turn", [37.0, 200.0])
def test_turning_the_earth_changes_nothing(turn):
    rng = np.random.default_rng(3)
    rows = [
        path(mid_bearing=rng.uniform(0, 360), mid_km=rng.uniform(100, 1500), length_km=rng.uniform(500, 2300))
        for _ in range(60)
    ]
    table = spots(*rows).assign(tx_locator="", rx_locator="")
    turned = table.assign(mid_lon=(table["mid_lon"] + turn + 180) % 360 - 180)
    here = reach.headings_from(table, mechanism="ES", **HOME)
    there = reach.headings_from(turned, mechanism="ES", lon=HOME["lon"] + turn, lat=HOME["lat"])
    assert here == pytest.approx(there, nan_ok=True)

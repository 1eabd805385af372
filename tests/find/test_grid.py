"""Great circles and equal-area cells, on both sides of the date line and of the equator."""

import numpy as np
import pandas as pd
import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import Geod

from analysis.find import grid

WGS84 = Geod(ellps="WGS84")


def paths(*rows):
    """Paths from (tx_lon, tx_lat, rx_lon, rx_lat)."""
    return pd.DataFrame(rows, columns=["tx_lon", "tx_lat", "rx_lon", "rx_lat"], dtype=float)


lons = st.floats(-180, 180)
lats = st.floats(-80, 80)


@settings(max_examples=60, deadline=None)
@given(lons, lats, lons, lats)
def test_points_lie_on_the_geodesic(tx_lon, tx_lat, rx_lon, rx_lat):
    """Up to 5 000 km every point is within 6 km of the WGS84 geodesic at its share of the way."""
    line = Geodesic.WGS84.Inverse(tx_lat, tx_lon, rx_lat, rx_lon)
    if not 1e5 < line["s12"] < 5e6:
        return
    points = grid.great_circles(paths((tx_lon, tx_lat, rx_lon, rx_lat)), step_km=400)
    # Karney, Algorithms for geodesics, J. Geodesy 87, 43 (2013), as GeographicLib programs them.
    for row in points.to_dict("records"):
        true = Geodesic.WGS84.Direct(tx_lat, tx_lon, line["azi1"], line["s12"] * row["share"])
        assert WGS84.inv(row["lon"], row["lat"], true["lon2"], true["lat2"])[2] < 6000


def test_lengths_add_up():
    """The pieces of a path add up to its length, within what a sphere can do."""
    many = np.random.default_rng(3).uniform([-180, -70, -180, -70], [180, 70, 180, 70], (300, 4))
    points = grid.great_circles(paths(*many))
    total = points.groupby("path")["km"].sum()
    true = WGS84.inv(*many.T)[2] / 1000
    # Karney (2013) as PROJ programs it; WGS84's flattening lets a mean sphere be wrong by up to 0.56 %.
    assert (np.abs(total / true - 1) < 0.006).all()


def test_points_stand_in_the_middle_of_their_steps():
    """Four steps have their points at 1/8, 3/8, 5/8 and 7/8 of the way."""
    points = grid.great_circles(paths((0, 0, 10, 0)), step_km=300)
    assert points["share"].tolist() == [0.125, 0.375, 0.625, 0.875]
    assert points["lon"].to_numpy() == pytest.approx([1.25, 3.75, 6.25, 8.75])


def test_one_square_at_both_ends():
    """A path without length is one point of no length, not a division by zero."""
    points = grid.great_circles(paths((5, 50, 5, 50)))
    assert points[["lon", "lat", "km"]].to_numpy().tolist() == [[5.0, pytest.approx(50), 0.0]]


def test_date_line_is_no_seam():
    """A path from 170 E to 170 W crosses 180 and stays near it."""
    points = grid.great_circles(paths((170, -40, -170, -40)))
    assert (points["lon"].abs() >= 170).all()
    assert points["lat"].min() < -40.4  # the great circle bends toward the pole


@pytest.mark.parametrize("place", [(-2, 46), (179, -41), (-179, 62), (-60, -35)])
def test_cells_have_the_area_they_claim(place):
    """Corners of a cell, taken back to the globe, enclose the area that every cell is said to have."""
    lon, lat = place
    ground = grid.ground_for(lon + np.linspace(-12, 12, 9), lat + np.linspace(-8, 8, 9))
    for column, line in ((0, 0), (len(ground.x_edges) // 2, 3)):
        x = ground.x_edges[[column, column + 1, column + 1, column]]
        y = ground.y_edges[[line, line, line + 1, line + 1]]
        area, _ = WGS84.polygon_area_perimeter(*grid.unproject(ground.plane, x, y))
        # Area of a polygon on the ellipsoid by Karney (2013), as PROJ programs it. The sides of a cell are
        # no geodesics, hence 1 %.
        assert abs(area) / 1e6 == pytest.approx(ground.cell_km**2, rel=0.01)


def test_path_km_are_shared_out_among_cells():
    """A path inside the window leaves all its kilometres in the cells, one outside leaves none."""
    both = paths((0, 44, 6, 48), (100, 0, 110, 5))
    points = grid.great_circles(both)
    ground = grid.ground_for([-2, 8], [42, 50])
    matrix = grid.path_cells(points, ground, n_paths=2)
    assert matrix.sum(axis=1) == pytest.approx([points.loc[points["path"] == 0, "km"].sum(), 0])


def test_blocks_make_no_difference(monkeypatch):
    """Paths sampled three at a time give the matrix and the lengths of all at once."""
    many = paths(*np.random.default_rng(4).uniform([-5, 42, -5, 42], [8, 52, 8, 52], (10, 4)))
    ground = grid.ground_for([-5, 8], [42, 52])
    whole, lengths = grid.path_matrix(many, ground)
    monkeypatch.setattr(grid, "BLOCK", 3)
    blocks, again = grid.path_matrix(many, ground)
    assert abs(whole - blocks).max() == 0
    assert again.tolist() == lengths.tolist()


def test_wrong_locator_does_not_make_a_world_map():
    """One path in two hundred to the other side of the globe leaves the region's map as it was."""
    lon, lat = np.append(np.linspace(-8, 10, 200), 170), np.append(np.linspace(40, 54, 200), -40)
    with_it, without = grid.ground_for(lon, lat), grid.ground_for(lon[:-1], lat[:-1])
    assert with_it.across_km == pytest.approx(without.across_km, rel=0.1)


def test_home_is_always_inside():
    """The operator's own square is on the map though all paths lie elsewhere."""
    ground = grid.ground_for([0, 5], [45, 50], home="FN31")
    x, y = grid.project(ground.plane, -73, 41.5)
    assert ground.x_edges[0] < x < ground.x_edges[-1]
    assert ground.y_edges[0] < y < ground.y_edges[-1]


def test_unique_paths_leave_out_what_has_no_locator():
    """Reports share their pair's row; a missing locator has none."""
    spots = pd.DataFrame(
        {"tx_locator": ["IN93", "JO21", "IN93", ""], "rx_locator": ["JN18", "JN18", "JN18", "JN18"]}
    )
    table, code = grid.unique_paths(spots)
    assert code.tolist() == [0, 1, 0, -1]
    # IARU definition: IN93 is the square 4 W to 2 W (I9: -20 + 18), 43 N to 44 N; its centre is 1 W.
    assert table.loc[0, ["tx_lon", "tx_lat"]].tolist() == [-1.0, 43.5]

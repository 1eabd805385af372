"""Maps: offline, on both hemispheres, honest about what was not heard."""

import numpy as np
import pandas as pd
import pytest
from matplotlib.collections import QuadMesh

from analysis.find.monthly import monthly_density
from analysis.show.maps import density
from tests.show import examples

SERIES = {"band": "6m", "mechanism": "ES", "home": "IN93"}
PLACES = {  # squares of a region, home
    "New Zealand and beyond the date line": (["RE78", "RF82", "RH91", "AH03", "AG08", "QF56"], "RE78"),
    "southern cone": (["GF15", "GF05", "FF47", "FE65", "GG46"], "GF15"),
    "Lapland": (["KP25", "JP99", "KQ40", "JQ78", "KP03"], "KP25"),
}


def around(squares):
    """The example spots with the locators of another region."""
    spots = examples.spots(n=1500)
    rng = np.random.default_rng(5)
    return spots.assign(
        tx_locator=rng.choice(squares, len(spots)), rx_locator=rng.choice(squares[:2], len(spots))
    )


@pytest.mark.parametrize("width", ["full", "column"])
def test_density_maps_share_one_scale_and_extent(width, no_network):
    """Every month has the same colours for the same density, and the same window."""
    picture = density.density_maps(examples.spots(), examples.listening(), **SERIES, width=width)
    panels = [axes for axes in picture.figure.axes if hasattr(axes, "projection") and axes.get_visible()]
    assert len(panels) >= 5
    meshes = [one for axes in panels for one in axes.collections if isinstance(one, QuadMesh)]
    assert len({axes.get_extent() for axes in panels}) == 1
    assert len(meshes) == len(panels)
    assert len({mesh.get_clim() for mesh in meshes}) == 1
    # What is drawn is the table: every cell that was heard has its value, all others are blank.
    chosen = examples.spots().query("band == '6m' and mechanism == 'ES'")
    found = monthly_density(chosen, examples.listening(), band="6m", home="IN93")
    for mesh, cells in zip(meshes, found.cells, strict=True):
        drawn = mesh.get_array()
        np.testing.assert_array_equal(np.ma.getmaskarray(drawn), cells == 0)
        high = cells > mesh.get_clim()[0]
        np.testing.assert_allclose(np.asarray(drawn)[high], cells[high])
    for axes in picture.figure.axes:
        box = axes.get_tightbbox()
        if box is not None and axes.get_visible():
            assert box.x0 >= -1
            assert box.x1 <= picture.figure.bbox.width + 1


@pytest.mark.parametrize("place", PLACES)
def test_other_sides_of_the_globe(place, no_network):
    """Date line, southern hemisphere and far north draw without network, warnings or a world map."""
    squares, home = PLACES[place]
    picture = density.density_maps(
        around(squares), examples.listening().iloc[:0], band="6m", mechanism="ES", home=home
    )
    panel = next(axes for axes in picture.figure.axes if hasattr(axes, "projection"))
    west, east, *_ = panel.get_extent()
    assert east - west < 8e6
    assert density.paths_map(around(squares), band="6m", mechanism="ES", home=home).png()


def test_without_listening_the_title_says_counts():
    """No rate is claimed where nobody's listening is known."""
    picture = density.density_maps(examples.spots(), examples.listening().iloc[:0], **SERIES)
    assert "counts" in picture.title
    assert "station-hour" not in picture.alt


def test_nothing_to_map_is_words():
    """No spots of a kind, or no listening by those who heard: a sentence each."""
    nothing = density.density_maps(
        examples.spots(), examples.listening(), band="70cm", mechanism="ES", home="IN93"
    )
    assert not nothing.figure.axes
    deaf = examples.listening().assign(station="Q9ZZZ")
    assert not density.density_maps(examples.spots(), deaf, **SERIES).figure.axes
    assert not density.midpoint_map(examples.spots(), band="70cm", home="IN93").figure.axes
    assert not density.paths_map(examples.spots(), band="70cm", mechanism="ES", home="IN93").figure.axes


def test_midpoints_count_half_hours_not_reports():
    """Ten reports of one half-hour are one; the same cell an hour later is two."""
    rows = examples.spots(n=300).query("band == '6m' and mechanism == 'ES'").iloc[:2]
    rows = rows.assign(mid_lon=2.0, mid_lat=46.0, opening=pd.array([1, 1], "Int64"))
    rows["time"] = pd.to_datetime(["2024-06-01 10:00", "2024-06-01 11:00"], utc=True)
    many = pd.concat([rows.iloc[[0]]] * 10 + [rows.iloc[[1]]])
    picture = density.midpoint_map(many, band="6m", home="IN93")
    assert "2\u00a0half-hours" in picture.alt


def test_midpoint_title_names_the_square():
    """The busiest cell is named by its locator."""
    rows = examples.spots(n=300).query("band == '6m' and mechanism == 'ES'")
    picture = density.midpoint_map(rows.assign(mid_lon=2.0, mid_lat=46.5), band="6m", home="IN93")
    # IARU definition: 2 E, 46.5 N lies on the western edge of JN16; a cell of 100 km may bear the name of
    # the square beside it.
    assert any(square in picture.title for square in ("JN16", "JN06", "JN17", "JN07"))


def test_lonely_reports_do_not_set_the_record():
    """A report outside any opening, where a wrong locator shows, is not what the map says was reached."""
    spots = examples.spots()
    wrong = spots.iloc[[0]].assign(
        distance_km=15000.0, mechanism="ES", band="6m", opening=pd.array([pd.NA], "Int64")
    )
    picture = density.paths_map(pd.concat([spots, wrong]), **SERIES)
    assert "15,000" not in picture.title


def test_doubtful_rows_are_left_out():
    """Rows that something speaks against are not drawn."""
    spots = examples.spots().assign(doubt="")
    spots.loc[spots["distance_km"] > 1500, "doubt"] = "heard once"
    picture = density.paths_map(spots, **SERIES)
    assert "1,500 km" in picture.title or "1,499 km" in picture.title

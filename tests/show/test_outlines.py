"""The outlines: whole, offline, and where the coast really is."""

import hashlib

import cartopy.crs as ccrs
import numpy as np
import pytest
import shapely

from analysis.find import grid
from analysis.show.maps import outlines

REGIONS = {
    "Biscay": (-2, 46),
    "date line": (179, -40),
    "Patagonia": (-70, -50),
    "Arctic": (20, 78),
    "Chukotka": (-178, 66),
}


def ground(lon, lat, *, spread=8):
    """Window of some 30 by 20 degrees around a place."""
    around = np.linspace(-spread, spread, 9)
    return grid.ground_for(lon + around / np.cos(np.radians(lat)), lat + around * 0.6)


def test_every_file_is_what_the_notice_lists():
    """No outline is missing, added or changed."""
    folder = outlines.FOLDER
    listed = dict(line.split()[::-1] for line in (folder / "SHA256SUMS.txt").read_text().splitlines())
    found = {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("ne_*")
    }
    assert found == listed
    assert len(found) == 4 * 2 * 3


@pytest.mark.parametrize("region", REGIONS)
def test_land_agrees_with_an_independent_mask(region):
    """Land and sea at random points are those of global-land-mask, coarse outlines and lakes allowed for."""
    from global_land_mask import globe

    here = ground(*REGIONS[region])
    rng = np.random.default_rng(1)
    x = rng.uniform(here.x_edges[0], here.x_edges[-1], 4000)
    y = rng.uniform(here.y_edges[0], here.y_edges[-1], 4000)
    lon, lat = grid.unproject(here.plane, x, y)
    ours = shapely.contains_xy(outlines.outline("land", here), x, y)
    # GLOBE 1 km elevation model, as global-land-mask 1.0.0 packs it; 1:50 million outlines differ from it
    # by about 1 %, among fjords by 2 %.
    assert np.mean(ours != globe.is_land(lat, (lon + 180) % 360 - 180)) < 0.025


def test_nothing_is_fetched(no_network, monkeypatch):
    """Every layer and scale is read with the network shut."""
    monkeypatch.setattr("cartopy.io.urlopen", None, raising=False)
    outlines._shapes.cache_clear()
    for name in outlines.LAYERS:
        for spread in (8, 60):
            assert not outlines.outline(name, ground(15, 47, spread=spread)).is_empty


def test_far_side_of_the_globe_leaves_no_streak():
    """A window opposite to Eurasia shows only what lies there."""
    here = ground(175, -41)
    land = outlines.outline("land", here)
    # New Zealand has about 268 000 km² (common practice, no source); nothing else of size is in the window.
    assert land.area / 1e12 == pytest.approx(0.268, rel=0.05)


def test_world_map_keeps_both_edges():
    """On a map of the world the far meridian neither loses nor doubles land."""
    lon = np.linspace(-150, 150, 50)
    here = grid.ground_for(lon, np.linspace(-60, 70, 50), margin_km=3000)
    assert isinstance(outlines.projection(here.plane), ccrs.EqualEarth)
    land = outlines.outline("land", here)
    # Land is about 149 million km² (common practice, no source); a little lies outside the window.
    assert 130 < land.area / 1e12 < 151

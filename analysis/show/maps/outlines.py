"""Outlines of land, coast, lakes and borders, shipped with the package: a map never asks the network.

Natural Earth, public domain; see natural_earth/NOTICE. The scale is always named, since cartopy's
"auto" scale would go and fetch a finer one when a map is zoomed in.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import cartopy
import cartopy.crs as ccrs
import numpy as np
import shapely
from cartopy.io import shapereader
from cartopy.mpl.geoaxes import GeoAxes
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from analysis.find.grid import Ground, Plane, project

FOLDER = Path(__file__).with_name("natural_earth")
LAND, WATER, COAST, BORDER = "#efece6", "#ffffff", "#7a7a7a", "#b5b0a6"
FINE_BELOW_KM = 6000  # a map narrower than this gets the 1:50 million outlines
STEPS_PER_MM = 12  # finer detail than this on paper is smoothed away
TILE_DEG = 30
LAYERS = {
    "land": ("physical", "land"),
    "lakes": ("physical", "lakes"),
    "coast": ("physical", "coastline"),
    "borders": ("cultural", "admin_0_boundary_lines_land"),
}


def projection(plane: Plane) -> ccrs.Projection:
    """The plane as the axes of a map need it."""
    if plane.name == "eqearth":
        return ccrs.EqualEarth(plane.lon)
    return ccrs.LambertAzimuthalEqualArea(plane.lon, plane.lat)


def draw_outlines(axes: GeoAxes, ground: Ground, *, width_mm: float = 180.0) -> None:
    """Land, lakes, coast and borders inside the window of a map; the sea stays white.

    Land lies under everything, coast and borders above the data so that a filled cell hides none.
    `width_mm` is the map's own width on paper, which says how much detail can be seen.
    """
    axes.set_xlim(ground.x_edges[0], ground.x_edges[-1])
    axes.set_ylim(ground.y_edges[0], ground.y_edges[-1])
    looks = {
        "land": {"facecolor": LAND, "edgecolor": "none", "zorder": 0},
        "lakes": {"facecolor": WATER, "edgecolor": "none", "zorder": 0.5},
        "borders": {"facecolor": "none", "edgecolor": BORDER, "linewidth": 0.3, "zorder": 3},
        "coast": {"facecolor": "none", "edgecolor": COAST, "linewidth": 0.4, "zorder": 3},
    }
    for name, look in looks.items():
        axes.add_geometries([outline(name, ground, width_mm=width_mm)], crs=projection(ground.plane), **look)
    axes.spines["geo"].set_linewidth(0.4)


def outline(name: str, ground: Ground, *, width_mm: float = 180.0) -> BaseGeometry:
    """One layer ("land", "lakes", "coast", "borders"), projected and cut to the window [m]."""
    window = (ground.x_edges[0], ground.y_edges[0], ground.x_edges[-1], ground.y_edges[-1])
    scale = "50m" if ground.across_km < FINE_BELOW_KM else "110m"
    return _outline(name, scale, ground.plane, window, ground.across_km * 1000 / (width_mm * STEPS_PER_MM))


@lru_cache(maxsize=32)
def _outline(name: str, scale: str, plane: Plane, window: tuple[float, ...], detail: float) -> BaseGeometry:
    """Tile by tile, because a shape that reaches the far side of the globe cannot be projected whole."""
    tree = _shapes(name, scale)
    parts = []
    for west, south in _tiles_in_sight(plane, window):
        for turn in (-360, 0, 360):
            box = (west + turn, south, west + turn + TILE_DEG, south + TILE_DEG)
            near = tree.geometries[tree.query(shapely.box(*box))]
            cut = shapely.clip_by_rect(near, *box)
            moved = shapely.transform(
                shapely.segmentize(cut[~shapely.is_empty(cut)], 1.0),
                lambda xy, turn=turn: _on_plane(plane, xy - [turn, 0]),
            )
            parts.append(shapely.clip_by_rect(shapely.make_valid(moved), *window))
    whole = shapely.union_all(np.concatenate(parts), grid_size=100.0)  # metres; closes the seams of the tiles
    return shapely.simplify(whole, detail)


def _tiles_in_sight(plane: Plane, window: tuple[float, ...]) -> list[tuple[float, float]]:
    """South-west corners of the 30-degree tiles that a window shows, counted from the map's far meridian."""
    far = plane.lon - 180
    step = np.linspace(0.01, TILE_DEG - 0.01, 13)
    grow = 0.05 * max(window[2] - window[0], window[3] - window[1])
    seen = []
    for west in far + np.arange(0, 360, TILE_DEG):
        for south in np.arange(-90, 90, TILE_DEG):
            x, y = _on_plane(
                plane, np.stack(np.meshgrid(west + step, south + step), axis=-1).reshape(-1, 2)
            ).T
            inside = (
                (x > window[0] - grow)
                & (x < window[2] + grow)
                & (y > window[1] - grow)
                & (y < window[3] + grow)
            )
            if inside.any():
                seen.append((float(west), float(south)))
    return seen


def _on_plane(plane: Plane, lon_lat: NDArray) -> NDArray:
    """Points in the plane; a longitude within half a turn of the middle stays on its own side of the map."""
    middle = plane.lon
    east = np.clip(lon_lat[:, 0] - middle, -180 + 1e-6, 180 - 1e-6)
    return np.column_stack(project(plane, middle + east, lon_lat[:, 1]))


@lru_cache(maxsize=8)
def _shapes(name: str, scale: str) -> shapely.STRtree:
    category, layer = LAYERS[name]
    # Set at the last moment, so that merely importing us changes nobody else's maps.
    cartopy.config["pre_existing_data_dir"] = FOLDER
    path = shapereader.natural_earth(resolution=scale, category=category, name=layer)
    return shapely.STRtree(list(shapereader.Reader(path).geometries()))

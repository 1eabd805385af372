"""Great circles and the grid that counts them: points along each path, and kilometres in each cell.

Paths are sampled in space on the great circle of reduced latitudes, which keeps within a few kilometres
of the WGS84 geodesic up to 5 000 km, then projected; nothing is drawn straight on the map.
The grid is laid in the plane of an equal-area projection, so every cell has the same area and the
date line is no seam.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pyproj import Transformer
from scipy import sparse

from analysis.gather import locators
from analysis.physics.earth import EARTH_KM, FLATTENING
from analysis.tag.paths import pair_codes

STEP_KM = 20.0  # judgement
BLOCK = 20_000  # paths sampled at once
MOST_CELLS = 80  # on a side of a map; smaller cells than these are not seen in print
REGION_KM = 6500.0  # beyond this from the middle the azimuthal map is too bent to be read


@dataclass(frozen=True)
class Plane:
    """An equal-area projection of the WGS84 Earth around a middle [whole degrees].

    `name` is PROJ's: `laea`, Lambert's azimuthal, for a region, `eqearth`, Equal Earth, for the world.
    """

    name: str
    lon: int
    lat: int = 0


@dataclass(frozen=True)
class Ground:
    """The plane a map is drawn in, its window and its square cells [m in the plane]."""

    plane: Plane
    x_edges: NDArray
    y_edges: NDArray

    @property
    def across_km(self) -> float:
        """Width of the window."""
        return float(self.x_edges[-1] - self.x_edges[0]) / 1000

    @property
    def cell_km(self) -> float:
        """Side of a cell; all cells have the same area since the projection keeps areas."""
        return float(self.x_edges[1] - self.x_edges[0]) / 1000


def unique_paths(spots: pd.DataFrame) -> tuple[pd.DataFrame, NDArray]:
    """The different pairs of locators among spots.

    Returns
    -------
    paths : DataFrame
        `tx_lon tx_lat rx_lon rx_lat` [degrees], pairs without two locators left out.
    code : array of int
        Row of `paths` that each spot runs on, -1 where a locator is missing.
    """
    code, pairs = pair_codes(spots.astype({"tx_locator": "str", "rx_locator": "str"}))
    tx, rx = (locators.centre(pairs[side]).reset_index(drop=True) for side in ("tx_locator", "rx_locator"))
    paths = pd.DataFrame({"tx_lon": tx["lon"], "tx_lat": tx["lat"], "rx_lon": rx["lon"], "rx_lat": rx["lat"]})
    known = paths.notna().all(axis=1).to_numpy()
    number = np.where(known, np.cumsum(known) - 1, -1)
    return paths[known].reset_index(drop=True), number[code]


def great_circles(paths: pd.DataFrame, *, step_km: float = STEP_KM) -> pd.DataFrame:
    """Points in the middle of equal steps along each path.

    Parameters
    ----------
    paths : DataFrame
        `tx_lon tx_lat rx_lon rx_lat` [degrees].
    step_km : float
        Longest step [km].

    Returns
    -------
    DataFrame
        `path` (row of `paths`), `share` of the way from transmitter to receiver, `lon`, `lat` and
        `km`, the length that the point stands for. The lengths of a path add up to its own.
    """
    start, end = (_vectors(paths[f"{side}_lon"], paths[f"{side}_lat"]) for side in ("tx", "rx"))
    angle = np.arctan2(np.linalg.norm(np.cross(start, end), axis=1), np.sum(start * end, axis=1))
    n = np.maximum(np.ceil(angle * EARTH_KM / step_km), 1).astype(int)
    row = np.repeat(np.arange(len(paths)), n)
    share = (np.arange(n.sum()) - np.repeat(np.cumsum(n) - n, n) + 0.5) / n[row]
    turn = angle[row]
    # Where both ends lie in one square there is no arc; the point itself is then right.
    sine = np.where(np.sin(turn) < 1e-9, 1.0, np.sin(turn))
    near = np.where(np.sin(turn) < 1e-9, 1 - share, np.sin((1 - share) * turn) / sine)
    far = np.where(np.sin(turn) < 1e-9, share, np.sin(share * turn) / sine)
    point = start[row] * near[:, None] + end[row] * far[:, None]
    lon = np.degrees(np.arctan2(point[:, 1], point[:, 0]))
    lat = np.degrees(np.arctan2(point[:, 2], np.hypot(point[:, 0], point[:, 1]) * (1 - FLATTENING)))
    return pd.DataFrame(
        {"path": row, "share": share, "lon": lon, "lat": lat, "km": (angle * EARTH_KM / n)[row]}
    )


def shared_out(times: NDArray, points: pd.DataFrame) -> NDArray:
    """How often each path was heard (`times`), shared out among its points as weights for `ground_for`."""
    return times[points["path"]] / np.bincount(points["path"])[points["path"]]


def ground_for(
    lon,
    lat,
    *,
    weight=None,
    home: str = "",
    cell_km: float = 100.0,
    margin_km: float = 150.0,
    tallest: float = 1.25,
) -> Ground:
    """Projection, window and cells that suit some points.

    A region up to 6 500 km around its middle is drawn in Lambert's azimuthal equal-area projection,
    anything wider in the Equal Earth projection; both keep areas.

    Parameters
    ----------
    lon, lat : array
        Points that should be seen [degrees].
    weight : array, optional
        What each point counts for. The outermost 1 % of the weight on each side may fall outside, so
        that one wrong locator does not make a world map.
    home : str, optional
        Locator that must be inside.
    cell_km, margin_km : float
        Side of a cell, made larger where a wide region would have cells too small to be seen; room
        around the points.
    tallest : float
        Height over width that the window may have; a narrower region gets room at its sides.
    """
    lon, lat = np.asarray(lon, float), np.asarray(lat, float)
    weight = np.ones(len(lon)) if weight is None else np.asarray(weight, float)
    mean = np.average(_vectors(lon, lat), axis=0, weights=weight)
    middle_lon = float(np.degrees(np.arctan2(mean[1], mean[0])))
    middle_lat = float(np.degrees(np.arctan2(mean[2], np.hypot(mean[0], mean[1]))))
    apart = np.arccos(np.clip(_vectors(lon, lat) @ (mean / np.linalg.norm(mean)), -1, 1)) * EARTH_KM
    plane = Plane("laea", round(middle_lon), round(middle_lat))
    if _quantile(apart, 0.98, weight) > REGION_KM:
        plane = Plane("eqearth", round(middle_lon))
    must = locators.centre(pd.Series([home] if home else [], dtype="str"))
    here = project(plane, must["lon"], must["lat"])
    spans = [
        _span(values, weight, place, margin_km * 1000)
        for values, place in zip(project(plane, lon, lat), here, strict=True)
    ]
    widest_km = max(high - low for low, high in spans) / 1000
    edges = [
        _edges(*span, side=1000 * max(cell_km, np.ceil(widest_km / MOST_CELLS / 50) * 50)) for span in spans
    ]
    short = int(np.ceil((len(edges[1]) - 1) / tallest)) - (len(edges[0]) - 1)
    if short > 0:
        edges[0] = _widened(edges[0], cells=short)
    return Ground(plane, *edges)


def project(plane: Plane, lon, lat) -> tuple[NDArray, NDArray]:
    """Points [degrees] in a plane [m]."""
    return _transformer(plane).transform(np.asarray(lon, float), np.asarray(lat, float))


def unproject(plane: Plane, x, y) -> tuple[NDArray, NDArray]:
    """Longitude and latitude [degrees] of points in the plane [m]; the way back of `project`."""
    there = np.atleast_1d(np.asarray(x, float)), np.atleast_1d(np.asarray(y, float))
    return _transformer(plane).transform(*there, direction="INVERSE")


@cache
def _transformer(plane: Plane) -> Transformer:
    middle = f"+lon_0={plane.lon} +lat_0={plane.lat}" if plane.name == "laea" else f"+lon_0={plane.lon}"
    return Transformer.from_pipeline(
        f"+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad +step +proj={plane.name} +ellps=WGS84 {middle}"
    )


def path_cells(points: pd.DataFrame, ground: Ground, *, n_paths: int) -> sparse.csr_array:
    """Kilometres of each path in each cell of the window.

    Returns
    -------
    csr_array
        Shape (paths, cells); cells run along x first. `counts @ matrix` is then the map of any
        selection of reports.
    """
    x, y = project(ground.plane, points["lon"], points["lat"])
    column = np.searchsorted(ground.x_edges, x, side="right") - 1
    line = np.searchsorted(ground.y_edges, y, side="right") - 1
    wide, tall = len(ground.x_edges) - 1, len(ground.y_edges) - 1
    inside = (column >= 0) & (column < wide) & (line >= 0) & (line < tall)
    entries = (
        points["km"].to_numpy()[inside],
        (points["path"].to_numpy()[inside], (line * wide + column)[inside]),
    )
    return sparse.coo_array(entries, shape=(n_paths, wide * tall)).tocsr()


def path_matrix(paths: pd.DataFrame, ground: Ground) -> tuple[sparse.csr_array, NDArray]:
    """`path_cells` of all paths, block by block so that memory stays flat, and the length of each [km]."""
    blocks, lengths = [], []
    for first in range(0, len(paths), BLOCK):
        part = paths.iloc[first : first + BLOCK].reset_index(drop=True)
        points = great_circles(part)
        blocks.append(path_cells(points, ground, n_paths=len(part)))
        lengths.append(np.bincount(points["path"], weights=points["km"], minlength=len(part)))
    return sparse.vstack(blocks, format="csr"), np.concatenate(lengths)


def half_hours_by_cell(rows: pd.DataFrame, ground: Ground) -> NDArray:
    """Different half-hours with a midpoint in each cell, shape (tall, wide)."""
    x, y = project(ground.plane, rows["mid_lon"], rows["mid_lat"])
    column, line = (
        np.searchsorted(ground.x_edges, x, "right") - 1,
        np.searchsorted(ground.y_edges, y, "right") - 1,
    )
    seen = pd.DataFrame(
        {"line": line, "column": column, "slot": rows["time"].dt.floor("30min").to_numpy()}
    ).drop_duplicates()
    edges = np.arange(len(ground.y_edges)), np.arange(len(ground.x_edges))
    return np.histogram2d(seen["line"], seen["column"], bins=edges)[0]


def leaves(points: pd.DataFrame, ground: Ground, *, n_paths: int) -> NDArray:
    """Whether each path has a point outside the window."""
    x, y = project(ground.plane, points["lon"], points["lat"])
    inside = (
        (x >= ground.x_edges[0])
        & (x <= ground.x_edges[-1])
        & (y >= ground.y_edges[0])
        & (y <= ground.y_edges[-1])
    )
    return np.bincount(points["path"], weights=~inside, minlength=n_paths) > 0


def _vectors(lon, lat) -> NDArray:
    """Unit vectors on the sphere of reduced latitudes, on which a great circle is nearly the geodesic."""
    lon = np.radians(np.asarray(lon, float))
    lat = np.arctan((1 - FLATTENING) * np.tan(np.radians(np.asarray(lat, float))))
    return np.column_stack([np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat)])


def _span(values: NDArray, weight: NDArray, must: NDArray, margin: float) -> tuple[float, float]:
    low, high = (_quantile(values, q, weight) for q in (0.01, 0.99))
    return min([low, *must]) - margin, max([high, *must]) + margin


def _edges(low: float, high: float, *, side: float) -> NDArray:
    n = int(np.ceil((high - low) / side))
    start = (low + high - n * side) / 2
    return start + side * np.arange(n + 1)


def _widened(edges: NDArray, *, cells: int) -> NDArray:
    side = edges[1] - edges[0]
    return edges[0] - side * (cells // 2) + side * np.arange(len(edges) + cells)


def _quantile(values: NDArray, q: float, weight: NDArray) -> float:
    """Smallest value with at least the share `q` of the weight at or below it."""
    order = np.argsort(values)
    share = np.cumsum(weight[order])
    return float(values[order][min(np.searchsorted(share, q * share[-1]), len(values) - 1)])

"""Pieces of a map: the sheet with its panels, filled cells, great circles and marks."""

from __future__ import annotations

import numpy as np
import pandas as pd
from cartopy.mpl.geoaxes import GeoAxes
from matplotlib.collections import LineCollection
from matplotlib.colors import LogNorm
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from analysis.find import grid
from analysis.find.monthly import Monthly
from analysis.gather import locators
from analysis.show.charts import style, ticks
from analysis.show.maps.outlines import draw_outlines, projection

TALLEST_MM = 115  # a map is no higher than this, however few there are


def small_multiples(
    month: Monthly, heading: dict[str, str], *, width: str
) -> tuple[Figure, list[GeoAxes], list]:
    """Sheet with one map for each month: the figure, those maps, and all axes, unused ones included."""
    n = len(month.months)
    columns = ticks.columns_for(n, width=width)
    lines = -(-n // columns)
    tall = min((style.WIDTH_MM[width] / columns - 2) * _aspect(month.ground), TALLEST_MM) + 6
    figure = style.sheet(**heading, body_mm=lines * tall + 15, width=width)
    grid_of_axes = figure.subplots(
        lines, columns, squeeze=False, subplot_kw={"projection": projection(month.ground.plane)}
    ).ravel()
    for spare in grid_of_axes[n:]:
        spare.set_visible(False)
    panels = list(grid_of_axes[:n])
    for axes in panels:
        draw_outlines(axes, month.ground, width_mm=style.WIDTH_MM[width] / columns)
    return figure, panels, list(grid_of_axes)


def one_map(
    ground: grid.Ground, heading: dict[str, str], *, width: str, key_mm: float = 8
) -> tuple[Figure, GeoAxes]:
    """Sheet with a single map and `key_mm` of room for its key."""
    tall = min((style.WIDTH_MM[width] - 6) * _aspect(ground), TALLEST_MM) + key_mm
    figure = style.sheet(**heading, body_mm=tall, width=width)
    axes = figure.subplots(subplot_kw={"projection": projection(ground.plane)})
    draw_outlines(axes, ground, width_mm=style.WIDTH_MM[width])
    return figure, axes


def _aspect(ground: grid.Ground) -> float:
    return (len(ground.y_edges) - 1) / (len(ground.x_edges) - 1)


def cells(axes: GeoAxes, ground: grid.Ground, cells: NDArray, scale: LogNorm):
    """Filled cells; what was not heard stays blank, and what lies below the scale takes its lowest colour."""
    shown, lowest = np.ma.masked_equal(cells, 0), float(scale.vmin or 0)
    return axes.pcolormesh(
        ground.x_edges,
        ground.y_edges,
        np.ma.maximum(shown, lowest),
        norm=scale,
        cmap=style.AMOUNT,
        transform=projection(ground.plane),
        zorder=2,
        alpha=0.9,
        rasterized=True,  # thousands of cells would make a huge SVG
    )


def hatched(axes: GeoAxes, ground: grid.Ground, where: NDArray) -> None:
    """Cells of which nothing can be said."""
    if where.any():
        look = {"facecolor": "none", "edgecolor": style.PALE, "linewidth": 0.0, "hatch": "/////"}
        axes.pcolor(
            ground.x_edges,
            ground.y_edges,
            np.ma.masked_where(~where, where.astype(float)),
            transform=projection(ground.plane),
            zorder=1.5,
            **look,
        )


def lines(axes: GeoAxes, ground: grid.Ground, points: pd.DataFrame, *, kind: str) -> None:
    """Great circles of one path type; `points` as `grid.great_circles` gives them."""
    if points.empty:
        return
    x, y = grid.project(ground.plane, points["lon"], points["lat"])
    path = points["path"].to_numpy()
    # A new piece begins with each path, and where a path leaves one edge of the map for the other.
    cut = np.flatnonzero((np.diff(path) != 0) | (np.abs(np.diff(x)) > 2e6)) + 1
    pieces = np.split(np.column_stack([x, y]), cut)
    _, colour, dash = style.PATHS[kind]
    alpha = float(np.clip(60 / np.sqrt(len(pieces) + 1) / 10, 0.08, 0.8))
    axes.add_collection(
        LineCollection(pieces, colors=colour, linestyles=[dash], linewidths=0.7, alpha=alpha, zorder=2),
        autolim=False,
    )


def path_key(axes: GeoAxes, kinds: list[str]) -> None:
    """Key of the path types over the map."""
    looks = [style.PATHS[kind] for kind in kinds]
    ticks.legend_above(axes, [Line2D([], [], color=c, linestyle=dash, label=text) for text, c, dash in looks])


def marks(
    panels: list[GeoAxes],
    ground: grid.Ground,
    *,
    home: str,
    scale: float = 1.0,
) -> None:
    """Home, where it is inside the window, on every panel."""
    place = locators.centre(pd.Series([home] if home else [], dtype="str")).dropna()
    x, y = grid.project(ground.plane, place["lon"], place["lat"])
    inside = (
        (x > ground.x_edges[0])
        & (x < ground.x_edges[-1])
        & (y > ground.y_edges[0])
        & (y < ground.y_edges[-1])
    )
    for axes in panels:
        axes.plot(x[inside], y[inside], linestyle="none", zorder=4, **ticks.mark("home", scale=scale))

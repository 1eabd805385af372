"""Maps: where the paths ran month by month, where they were bent, and the paths themselves."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.colors import LogNorm
from matplotlib.figure import Figure
from numpy.typing import NDArray

from analysis.find import grid
from analysis.find.monthly import Monthly, crossable, monthly_density
from analysis.gather import locators
from analysis.show.charts import style, ticks
from analysis.show.charts.picture import Picture, finished, words_only
from analysis.show.maps import parts as map_parts
from analysis.show.wording import words

DECADES = 2.5  # how far the colour scale reaches below its top
MOST_PATHS = 3000  # more lines than this only blacken the paper
CELL_KM = 100.0
LEAST_SEEN = 6  # half-hours in the busiest cell below which no place is named
ALIKE, MOST_NAMED = (
    0.9,
    3,
)  # months within a tenth of the busiest are named with it (judgement; at .8 one more is)
ONE_MAP = 0.72  # height over width of a map that stands alone


def density_maps(
    spots: pd.DataFrame,
    listening: pd.DataFrame,
    *,
    band: str,
    mechanism: str,
    home: str,
    path_type: str = "",
    width: str = "full",
) -> Picture:
    """Path density of each month on one scale: path-km per 1 000 km² and hour that a station listened.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots. A path counts once per half-hour however often it was reported.
    listening : DataFrame
        `station band start end basis`; only reports of stations that are known to have listened at the
        time count toward the rate.
    band, mechanism : str
    home : str
        Locator that is marked.
    path_type : str, optional
        Only land, mixed or sea paths.

    Where no listening is known at all, counts are drawn, and the title says so.
    """
    chosen = _chosen(spots, band, mechanism, path_type)
    kind = f"-{path_type}" if path_type else ""
    name = f"density-{band}-{mechanism}{kind}"
    series = words.series(band_name=band, mechanism=mechanism, path_type=path_type or "all")
    if chosen.empty:
        reason = "No report of this kind has a locator at both ends."
        return words_only(name, reason, title=f"No map can be drawn of {series}", width=width)
    month = monthly_density(chosen, listening, band=band, home=home, cell_km=CELL_KM)
    if not any(month.means):
        reason = "In no month did the stations that heard these paths listen long enough for a rate."
        return words_only(name, reason, title=f"No rate can be mapped of {series}", width=width)
    heading = {
        "title": _density_title(month, series),
        "subtitle": f"{month.unit}; {style.counted(month.n_paths, 'path')}, {style.years(chosen['time'])}",
        "foot": _density_foot(month),
    }
    of_band, spans = (table[table["band"].astype(str) == band] for table in (spots, listening))
    reach = float(chosen["distance_km"].max())
    dead = ~crossable(of_band, spans, month.ground, reach_km=reach)
    figure = _draw_density(month, dead, heading, home=home, width=width)
    most = max(month.means)
    each = "; ".join(
        f"{ticks.MONTHS[number - 1]} {words.percent(value / most)}"
        for number, value in zip(month.months, month.means, strict=True)
    )
    busiest = f"the busiest month's {style.number(most)} {month.short_unit}"
    return finished(name, figure, heading, f"Mean over the map, of {busiest}: {each}.", width=width)


def _draw_density(month: Monthly, dead: NDArray, heading: dict[str, str], *, home: str, width: str) -> Figure:
    top = max(cells.max() for cells in month.cells)
    scale = LogNorm(top / 10**DECADES, top)
    with style.look(width):
        figure, panels, key = map_parts.small_multiples(month, heading, width=width)
        for axes, number, cells in zip(panels, month.months, month.cells, strict=True):
            map_parts.hatched(axes, month.ground, dead & (cells == 0))
            drawn = map_parts.cells(axes, month.ground, cells, scale)
            axes.set_title(_month_head(month, number))
        small = style.WIDTH_MM[width] / ticks.columns_for(len(panels), width=width) / 100
        map_parts.marks(panels, month.ground, home=home, scale=min(small, 1.0))
        ticks.colour_key(figure, drawn, key, label=month.short_unit)
    return figure


def midpoint_map(
    spots: pd.DataFrame, *, band: str, home: str, mechanism: str = "ES", width: str = "full"
) -> Picture:
    """Where the paths were bent: half-hours in which a midpoint fell into each cell.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots.
    band, home : str
    mechanism : str, optional
        Sporadic E by default, whose patch lies over the midpoint of a single hop.
    """
    name = f"midpoints-{band}-{mechanism}"
    series = words.series(band_name=band, mechanism=mechanism)
    rows = _chosen(spots, band, mechanism, "")
    rows = rows[rows["mid_lon"].notna() & (rows["hops"] <= 1)]
    if rows.empty:
        reason = "No single hop has a locator at both ends."
        return words_only(name, reason, title=f"No midpoint of {series} is known", width=width)
    window = {"cell_km": CELL_KM, "margin_km": 300, "tallest": ONE_MAP}
    ground = grid.ground_for(rows["mid_lon"], rows["mid_lat"], home=home, **window)
    cells = grid.half_hours_by_cell(rows, ground)
    heading = {
        "title": _midpoint_title(ground, cells, series),
        "subtitle": f"Half-hours with a single-hop midpoint in the cell ({ground.cell_km:.0f} km square), "
        f"{style.counted(len(rows), 'report')}, {style.years(rows['time'])}",
        "foot": "Counts, not corrected for who was on the air: cells between many stations look busy. "
        "Blank: no midpoint.",
    }
    with style.look(width):
        figure, axes = map_parts.one_map(ground, heading, width=width, key_mm=17)
        drawn = map_parts.cells(axes, ground, cells, LogNorm(1, max(cells.max(), 2)))
        map_parts.marks([axes], ground, home=home)
        ticks.colour_key(figure, drawn, [axes], label="half-hours")
    told = f"The busiest cell has {style.counted(cells.max(), 'half-hour')}."
    return finished(name, figure, heading, told, width=width)


def paths_map(
    spots: pd.DataFrame,
    *,
    band: str,
    mechanism: str,
    home: str,
    width: str = "full",
) -> Picture:
    """The paths themselves as great circles, land, mixed and sea told apart.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots.
    band, mechanism, home : str
    """
    name = f"paths-{band}-{mechanism}"
    series = words.series(band_name=band, mechanism=mechanism)
    rows = _chosen(spots, band, mechanism, "")
    paths, code = grid.unique_paths(rows)
    if paths.empty:
        reason = "No report of this kind has a locator at both ends."
        return words_only(name, reason, title=f"No path by {series} can be drawn", width=width)
    kinds = rows.groupby(code)["path_type"].first().astype(str).reindex(range(len(paths))).to_numpy()
    drawn = np.sort(np.random.default_rng(0).permutation(len(paths))[:MOST_PATHS])
    points = grid.great_circles(paths.iloc[drawn].reset_index(drop=True))
    times = np.bincount(code[code >= 0], minlength=len(paths))[drawn]
    window: dict[str, Any] = {
        "weight": grid.shared_out(times, points),
        "home": home,
        "cell_km": CELL_KM,
        "tallest": ONE_MAP,
    }
    ground = grid.ground_for(points["lon"], points["lat"], **window)
    few = f", {words.count(len(drawn))} of them drawn, picked at random" if len(drawn) < len(paths) else ""
    heading = {
        "title": f"{style.headline(series)} reached {words.count(rows['distance_km'].max())} km",
        "subtitle": f"Great circles of {style.counted(len(paths), 'path')}{few}, {style.years(rows['time'])}",
        "foot": "Paths that were part of an opening. A line says that the path was heard, not how often."
        f"{_off(int(grid.leaves(points, ground, n_paths=len(drawn)).sum()))}",
    }
    points = points.assign(kind=kinds[drawn][points["path"]])
    figure = _draw_paths(points, ground, heading, home=home, width=width)
    shown = [kind for kind in style.PATHS if (kinds == kind).any()]
    each = ", ".join(f"{style.PATHS[kind][0]} {words.count((kinds == kind).sum())}" for kind in shown)
    return finished(name, figure, heading, f"Paths: {each}.", width=width)


def _draw_paths(
    points: pd.DataFrame,
    ground: grid.Ground,
    heading: dict[str, str],
    *,
    home: str,
    width: str,
) -> Figure:
    shown = [kind for kind in style.PATHS if (points["kind"] == kind).any()]
    with style.look(width):
        figure, axes = map_parts.one_map(ground, heading, width=width)
        for kind in shown:
            map_parts.lines(axes, ground, points[points["kind"] == kind], kind=kind)
        map_parts.marks([axes], ground, home=home)
        map_parts.path_key(axes, shown)
    return figure


def _chosen(spots: pd.DataFrame, band: str, mechanism: str, path_type: str) -> pd.DataFrame:
    keep = (spots["band"].astype(str) == band) & (spots["mechanism"].astype(str) == mechanism)
    keep &= spots["distance_km"].notna() & (spots["distance_km"] > 0)
    if path_type:
        keep &= spots["path_type"].astype(str) == path_type
    if "doubt" in spots:
        keep &= spots["doubt"] == ""
    # A report that no other supports is where a wrong locator shows; openings have more than one witness.
    if "opening" in spots and (spots["opening"].notna() & keep).any():
        keep &= spots["opening"].notna()
    return spots[keep]


def _density_title(month: Monthly, series: str) -> str:
    near = [
        at for at, mean in zip(month.months, month.means, strict=True) if mean >= ALIKE * max(month.means)
    ]
    most = words.listed(pd.Timestamp(2001, at, 1).month_name() for at in near[:MOST_NAMED])
    lead = f"{style.headline(series)}: "
    if not month.rate:
        what = f"most path-kilometres in {most}" if len(month.months) > 1 else f"the paths of {most}"
        return f"{lead}{what} (counts; nobody's listening is known)"
    if len(month.months) == 1:
        return f"{lead}only {most} was listened to for long enough"
    if len(near) > MOST_NAMED:
        return f"{lead}no month stands out from the others"
    return f"{lead}for each hour listened, {most} brought most"


def _density_foot(month: Monthly) -> str:
    foot = (
        "One scale for all months. Each path counts once per half-hour. "
        f"Cells of {month.ground.cell_km:.0f} km; blank: nothing heard; hatched: no path between anybody who sent and anybody who listened runs there."
    )
    foot += _off(month.n_off)
    if not month.rate:
        return f"{foot} Counts mirror who was on the air, and say nothing about how often."
    used = words.percent(month.share_used)
    return f"{foot} {used} of the reports came from stations known to have been listening; the others are left out."


def _month_head(month: Monthly, number: int) -> str:
    head = ticks.MONTHS[number - 1]
    return f"{head} ({words.count(month.hours[month.months.index(number)])} h)" if month.rate else head


def _off(n: int) -> str:
    return f" {style.counted(n, 'path')} {'runs' if n == 1 else 'run'} off the map." if n else ""


def _midpoint_title(ground: grid.Ground, cells: NDArray, series: str) -> str:
    if cells.max() < LEAST_SEEN:
        return f"{style.headline(series)} was seen too seldom to name the place over which it was seen most often"
    return f"{style.headline(series)} was seen most often over {_where(ground, cells)}"


def _where(ground: grid.Ground, cells: NDArray) -> str:
    """Middle of the busiest cell as a 4-character locator."""
    line, column = np.unravel_index(np.argmax(cells), cells.shape)
    x, y = ((edges[k] + edges[k + 1]) / 2 for edges, k in ((ground.x_edges, column), (ground.y_edges, line)))
    lon, lat = grid.unproject(ground.plane, x, y)
    return locators.encode(lat=float(lat[0]), lon=float(lon[0]), length=4)

"""Map of candidate places: how often an opening would have served each, and where its best heading points."""

from __future__ import annotations

import numpy as np
import pandas as pd
from cartopy.mpl.geoaxes import GeoAxes
from matplotlib.colors import Normalize
from matplotlib.figure import Figure

from analysis.find import grid
from analysis.plan.localtime import SECTORS
from analysis.show.charts import style, ticks
from analysis.show.charts.picture import Picture, finished
from analysis.show.charts.rows import refused
from analysis.show.maps import parts as map_parts
from analysis.show.wording import words
from analysis.tag.paths import WGS84

MARGIN_KM, CELL_KM = 220.0, 50.0
ONE_MAP = 0.72  # height over width
ARROW_SHARE = 0.07  # of the map's width
APART_PT = 9.0  # between two labels, one above the other
SERIES = ["band", "mechanism", "path_type"]


def places_map(
    places: pd.DataFrame,
    *,
    band: str,
    mechanism: str,
    path_type: str = "all",
    home: str = "",
    width: str = "full",
) -> Picture:
    """Candidate places of one series on a map, with the share of midsummer days that would have served each.

    Parameters
    ----------
    places : DataFrame
        One row per place and series, as `plan.places.compare_places` makes it.
    band, mechanism, path_type : str
    home : str
        Locator that is marked.
    """
    name = f"places-{band}-{mechanism}" + ("" if path_type == "all" else f"-{path_type}")
    series = words.series(band_name=band, mechanism=mechanism, path_type=path_type)
    rows = places[(places[SERIES] == [band, mechanism, path_type]).all(axis=1)].reset_index(drop=True)
    told = rows[rows["open_share"].notna() & (rows["verdict"] != "refuse")]
    if told.empty:
        title = f"No place can be preferred for {series}"
        return refused(name, {path_type: rows}, title=title, width=width)
    heading = {
        "title": style.headline(f"{series}: {finding(told)}"),
        "subtitle": "Share of the days around midsummer on which an opening would have served the place",
        "foot": f"{style.evidence(max(told['tier']))} Arrow: heading with most openings. {_refused(rows, told)}".strip(),
        "tier": max(told["tier"]),
    }
    figure = _draw(rows, heading, home=home, width=width)
    return finished(name, figure, heading, _each(rows), width=width)


def stated_series(places: pd.DataFrame) -> list[dict[str, str]]:
    """Series of which a map can be drawn: those with a number for at least two places, the most first."""
    told = places[places["open_share"].notna() & (places["verdict"] != "refuse")]
    sizes = told.groupby(SERIES, sort=False).size()
    kept = sizes[sizes >= 2].sort_values(ascending=False, kind="stable").index
    return [dict(zip(SERIES, keys, strict=True)) for keys in kept]


def finding(told: pd.DataFrame) -> str:
    """What the places' shares say: the best one, if its interval lies above the poorest's."""
    ranked = told.sort_values("open_share")
    worst, best = ranked.iloc[0], ranked.iloc[-1]
    share = words.percent(best["open_share"])
    if len(told) == 1:
        return f"{style.plain(best['locator'])} was served on {share} of midsummer days"
    if best["low"] <= worst["high"]:
        return "the places cannot be told apart with confidence"
    least = f"{style.plain(worst['locator'])} least ({words.percent(worst['open_share'])})"
    return f"{style.plain(best['locator'])} was served most ({share} of midsummer days), {least}"


def _draw(rows: pd.DataFrame, heading: dict[str, str], *, home: str, width: str) -> Figure:
    ground = grid.ground_for(
        rows["lon"], rows["lat"], home=home, cell_km=CELL_KM, margin_km=MARGIN_KM, tallest=ONE_MAP
    )
    scale = Normalize(0, float(rows["open_share"].max()))
    with style.look(width):
        figure, axes = map_parts.one_map(ground, heading, width=width, key_mm=17)
        map_parts.marks([axes], ground, home=home)
        x, y = grid.project(ground.plane, rows["lon"], rows["lat"])
        _arrows(axes, ground, rows)
        look = {"s": 42, "cmap": style.AMOUNT, "norm": scale, "edgecolors": style.INK, "zorder": 5}
        known = rows["open_share"].notna().to_numpy()
        drawn = axes.scatter(x[known], y[known], c=rows["open_share"][known], **look)
        axes.scatter(x[~known], y[~known], s=42, facecolors="white", edgecolors=style.INK, zorder=5)
        _labels(axes, rows, x, y)
        ticks.share_key(figure, drawn, [axes], label="share of days")
    return figure


def _arrows(axes: GeoAxes, ground: grid.Ground, rows: pd.DataFrame) -> None:
    """From each place toward the eighth of the compass with most openings."""
    known = rows[rows["best_heading"].isin(SECTORS)]
    bearing = known["best_heading"].map({name: 45.0 * k for k, name in enumerate(SECTORS)}).to_numpy(float)
    lon, lat = known["lon"].to_numpy(float), known["lat"].to_numpy(float)
    reach = np.full(len(known), 1000 * ARROW_SHARE * ground.across_km)
    far_lon, far_lat, _ = WGS84.fwd(lon, lat, bearing, reach)
    ends = np.column_stack([*grid.project(ground.plane, far_lon, far_lat)])
    starts = np.column_stack([*grid.project(ground.plane, lon, lat)])
    for start, end in zip(starts, ends, strict=True):
        look = {"arrowstyle": "-|>", "color": style.INK, "linewidth": 1.0, "shrinkA": 3, "shrinkB": 0}
        axes.annotate("", xy=end, xytext=start, arrowprops=look, zorder=4)


def _labels(axes: GeoAxes, rows: pd.DataFrame, x: np.ndarray, y: np.ndarray) -> None:
    """Locator and share beside each place; a label that would cover another one moves down."""
    points_per_m = 72 / 25.4 * 170 / float(np.ptp(axes.get_xlim()))
    taken: list[tuple[float, float]] = []
    for k in np.argsort(-y):
        down = y[k] * points_per_m
        while any(abs(down - other) < APART_PT and abs(x[k] - at) * points_per_m < 60 for at, other in taken):
            down -= 1.0
        taken.append((x[k], down))
        share = rows["open_share"].iloc[k]
        text = style.plain(rows["locator"].iloc[k]) + ("" if np.isnan(share) else f" {words.percent(share)}")
        shift = (7, down - y[k] * points_per_m - 3)
        axes.annotate(
            text,
            (x[k], y[k]),
            xytext=shift,
            textcoords="offset points",
            size=7,
            zorder=6,
            bbox={"facecolor": "white", "alpha": 0.7, "edgecolor": "none", "pad": 0.5},
        )


def _refused(rows: pd.DataFrame, told: pd.DataFrame) -> str:
    return "Places without a number: too few openings served them." if len(rows) > len(told) else ""


def _each(rows: pd.DataFrame) -> str:
    """Every place with its number, heading and ground, the best first."""
    ranked = rows.sort_values("open_share", ascending=False, na_position="last")
    return f"{'; '.join(_one(row) for row in ranked.to_dict('records'))}."


def _one(row: dict) -> str:
    place = style.plain(row["locator"])
    if pd.isna(row["open_share"]):
        return f"{place} without a number"
    return (
        f"{place} {style.chance(row, value='open_share')} toward the {row['best_heading']}, {row['ground']}"
    )

"""Map of one opening as it moved: its midpoints coloured by the time, and the way of its patches."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from cartopy.mpl.geoaxes import GeoAxes
from matplotlib.colors import Normalize
from matplotlib.figure import Figure

from analysis.find import grid
from analysis.find.reach import REGION
from analysis.plan.localtime import SECTORS, sector
from analysis.show.charts import style
from analysis.show.charts.picture import Picture, finished, words_only
from analysis.show.maps import parts as map_parts
from analysis.show.wording import words
from analysis.tag.paths import WGS84

ONE_MAP = 0.72  # height over width of a map that stands alone (judgement)
CELL_KM, MARGIN_KM = 50.0, 250.0  # of the window (judgement)


def opening_map(
    spots: pd.DataFrame,
    openings: pd.DataFrame,
    patches: pd.DataFrame,
    *,
    band: str,
    opening: int | None = None,
    home: str = "",
    width: str = "full",
) -> Picture:
    """Midpoints of one opening of the region by sporadic E, early ones pale and late ones dark, and how its patches drifted.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots with `opening` and `here`.
    openings, patches : DataFrame
        As `find_openings` and `find.grouping.patches` leave them.
    band : str
        Band to choose from when no opening is named: of the confirmed ones that could be used here (else of
        all) those with a patch whose drift is told, of these the one with most paths.
    opening : int, optional
        Number of an opening of the region.
    home : str, optional
        Locator that is marked.
    """
    name, series = f"opening-{band}-ES", words.series(band_name=band, mechanism="ES")
    one = _chosen(openings, spots, patches, opening=opening, series=(band, "ES"))
    if one is None:
        reason = "No confirmed opening of this kind has midpoints that are known."
        return words_only(name, reason, title=f"No opening by {series} to show", width=width)
    rows = spots[(spots["opening"] == one["opening"]).fillna(False) & spots["mid_lon"].notna()]
    rows = rows.sort_values("time", kind="stable")
    moving = patches[(patches["opening"] == one["opening"]) & (patches["verdict"] == "moving")]
    heading = {
        "title": style.headline(f"{series}, {words.date(one['start'])}: {_way(moving)}"),
        "subtitle": f"Midpoints of {style.counted(len(rows), 'report')} in the region, "
        f"{one['start']:%H%M} to {one['end']:%H%M} UTC, pale to dark by time",
        "foot": f"Most paths: {style.plain(one['joined'])}. Arrow: drift of a crowd of midpoints from its first report to "
        "its last, drawn where its direction can be told from chance.",
    }
    told = f"{style.counted(one['n_paths'], 'path')}, the longest {one['max_km']:,.0f} km."
    return finished(name, _draw(rows, moving, one, heading, home, width), heading, told, width=width)


def _chosen(
    openings: pd.DataFrame,
    spots: pd.DataFrame,
    patches: pd.DataFrame,
    *,
    opening: int | None,
    series: tuple[str, str],
) -> pd.Series | None:
    """The opening to show, None where there is none."""
    if opening is not None:
        mine = openings[openings["opening"] == opening]
    else:
        mine = openings[(openings[["band", "mechanism"]].astype("str") == list(series)).all(axis=1)]
        mine = mine[(mine["grade"] == "confirmed") & (mine["scope"] == REGION)]
        usable = mine["opening"].isin(spots.loc[spots["here"].notna(), "opening"])
        moved = mine["opening"].isin(patches.loc[patches["verdict"] == "moving", "opening"])
        for better in (usable, usable & moved):
            mine = mine[better.reindex(mine.index)] if better.any() else mine
    mine = mine[mine["mid_lon"].notna()].sort_values(["n_paths", "opening"], ascending=[False, True])
    return None if mine.empty else mine.iloc[0]


def _way(moving: pd.DataFrame) -> str:
    """How the patches drifted, in words."""
    if moving.empty:
        return "no drift can be told"
    most = style.top(moving, "n_paths")
    toward = SECTORS[int(sector(np.array([most["toward_deg"]]))[0])]
    return f"its largest patch drifted {toward} at {most['speed_low']:.0f} to {most['speed_high']:.0f} m/s"


def _draw(
    rows: pd.DataFrame, moving: pd.DataFrame, one: pd.Series, heading: dict[str, str], home: str, width: str
) -> Figure:
    since = (rows["time"] - one["start"]).dt.total_seconds().to_numpy() / 60
    window: dict[str, Any] = {"cell_km": CELL_KM, "margin_km": MARGIN_KM, "tallest": ONE_MAP, "home": home}
    ground = grid.ground_for(rows["mid_lon"], rows["mid_lat"], **window)
    with style.look(width):
        figure, axes = map_parts.one_map(ground, heading, width=width, key_mm=17)
        x, y = grid.project(ground.plane, rows["mid_lon"], rows["mid_lat"])
        look = {"s": 9, "cmap": style.AMOUNT, "norm": Normalize(0, max(since.max(), 1)), "zorder": 3}
        drawn = axes.scatter(x, y, c=since, linewidths=0, rasterized=True, **look)
        for _, patch in moving.iterrows():
            _arrow(axes, ground, patch)
        map_parts.marks([axes], ground, home=home)
        bar = figure.colorbar(drawn, ax=[axes], location="bottom", aspect=45, pad=0.02, shrink=0.7)
        bar.set_label(f"minutes since {one['start']:%H%M} UTC")
    return figure


def _arrow(axes: GeoAxes, ground: grid.Ground, patch: pd.Series) -> None:
    """From where a patch was at its first report to where it was at its last."""
    metres = patch["speed_ms"] * (patch["end"] - patch["start"]).total_seconds()
    lon, lat, _ = WGS84.fwd(patch["lon"], patch["lat"], patch["toward_deg"], metres)
    x, y = grid.project(ground.plane, np.array([patch["lon"], lon]), np.array([patch["lat"], lat]))
    look = {"arrowstyle": "-|>", "color": style.VERMILION, "linewidth": 1.6, "shrinkA": 0, "shrinkB": 0}
    axes.annotate("", xy=(x[1], y[1]), xytext=(x[0], y[0]), arrowprops=look, zorder=5)

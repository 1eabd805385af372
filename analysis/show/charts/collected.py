"""Pictures of what came in: the account of rows, who listened, what paths and mechanisms were heard."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.colors import LogNorm
from matplotlib.figure import Figure

from analysis.show.charts import style, ticks
from analysis.show.charts.picture import Picture, finished, words_only
from analysis.show.wording import words
from analysis.tag.mechanism import CALL_FROM
from analysis.tag.reasons import likely_mistakes

LONG_KM = 500  # beyond this a report on VHF is no everyday path
DISTANCE_STEP_KM = 100


def paths_chart(spots: pd.DataFrame, *, width: str = "full") -> Picture:
    """Distance against solar hour at the midpoint; land, mixed and sea paths apart.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots.
    """
    placed = spots[spots["distance_km"].notna() & spots["solar_hour"].notna() & spots["path_type"].notna()]
    placed = placed[~likely_mistakes(placed)]
    kinds = [kind for kind in ("land", "mixed", "sea") if (placed["path_type"] == kind).any()]
    if not kinds:
        reason = "No report has a locator at both ends."
        return words_only("paths", reason, title="No path can be placed", width=width)
    every = placed["path_type"].value_counts()
    beyond = placed[
        placed["mechanism"] != "LOS"
    ]  # half of all reports are of neighbours, whatever lies between
    far = {kind: beyond.loc[beyond["path_type"] == kind, "distance_km"] for kind in kinds}
    top = _top_km(placed)
    when = style.years(placed["time"])
    heading = {
        "title": _paths_title({kind: km.median() for kind, km in far.items() if len(km) >= style.THIN}),
        "subtitle": "Reports by distance and local solar time at the midpoint; "
        f"{words.count(len(placed))} reports, {when}",
        "foot": "Counts of reports, not corrected for who was on the air. Blank: nothing was heard. "
        f"{_not_drawn(placed, top)}",
    }
    grids = {kind: _by_hour_and_km(placed[placed["path_type"] == kind], top) for kind in kinds}
    heads = {kind: f"{style.PATHS[kind][0]}: {style.counted(every[kind], 'report')}" for kind in kinds}
    figure = _draw_paths(grids, heads, top, heading, width=width)
    told = "; ".join(
        f"{heads[kind]}{f', median without local ones {words.count(km.median())} km' if len(km) else ''}"
        for kind, km in far.items()
    )
    return finished("paths", figure, heading, f"{told}.", width=width)


def _draw_paths(
    grids: dict[str, np.ndarray], heads: dict[str, str], top: float, heading: dict[str, str], *, width: str
) -> Figure:
    stacked, n = width == "column", len(grids)
    scale = LogNorm(1, max(grid.max() for grid in grids.values()) + 1)
    with style.look(width):
        figure = style.sheet(**heading, body_mm=8 + 38 * n if stacked else 66, width=width)
        shape = (n, 1) if stacked else (1, n)
        panels = figure.subplots(*shape, sharex=True, sharey=True, squeeze=False).ravel()
        for axes, (kind, grid) in zip(panels, grids.items(), strict=True):
            drawn = _hour_panel(axes, grid, top, scale)
            axes.set_title(
                style.wrapped(heads[kind], room_mm=style.WIDTH_MM[width] / shape[1] - 8, bold=True)
            )
        panels[-1 if stacked else n // 2].set_xlabel("local solar time at the midpoint [h]")
        figure.supylabel("distance [km]", size=style.WHAT_PT * style.TYPE_SCALE[width])
        ticks.colour_key(figure, drawn, panels, label="reports per hour × 100 km")
    return figure


def _paths_title(medians: dict[str, float]) -> str:
    if not medians:
        return "Too few paths to say which kind ran the longest"
    longest = max(medians, key=medians.__getitem__)
    kind = "Paths over land and sea" if longest == "mixed" else f"Paths {style.PATHS[longest][0]}"
    half = f"half of them beyond {words.count(round(medians[longest], -1))} km"
    return (
        f"Local ones left out, {kind[0].lower()}{kind[1:]} ran the longest: {half}"
        if len(medians) > 1
        else f"{kind}: {half}"
    )


def mechanism_chart(spots: pd.DataFrame, *, band: str, width: str = "full") -> Picture:
    """Which mechanism carried the reports at each distance.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots.
    band : str
    """
    name = f"mechanism-{band}"
    heard = spots[(spots["band"].astype(str) == band) & spots["distance_km"].notna()]
    if heard.empty:
        title = f"No report on {words.band(band)} can be placed"
        return words_only(
            name, "There is no report on this band with a locator at both ends.", title=title, width=width
        )
    code = heard["mechanism"].astype(str)
    order = [key for key in style.MECHANISMS if (code == key).any()]
    top = _top_km(heard)
    edges = _share_edges(heard["distance_km"], top)
    counts = {key: np.histogram(heard.loc[code == key, "distance_km"], edges)[0] for key in order}
    heading = {
        "title": _mechanism_title(code[heard["distance_km"] >= LONG_KM].value_counts(), band),
        "subtitle": f"Mechanism of {words.count(len(heard))} reports on {words.band(band)} by distance, "
        f"{style.years(heard['time'])}",
        "foot": "Called by physical bounds and evidence from the report and its neighbours; "
        f"below probability {CALL_FROM} a report stays undetermined. {_not_drawn(heard, top)}",
    }
    with style.look(width):
        figure = style.sheet(**heading, body_mm=66, width=width)
        above, below = figure.subplots(2, 1, sharex=True, height_ratios=[1, 2])
        _mechanism_panels(above, below, edges, counts)
    each = ", ".join(f"{words.MECHANISMS.get(key, key)} {words.count((code == key).sum())}" for key in order)
    return finished(name, figure, heading, f"Reports: {each}.", width=width)


def _mechanism_title(beyond: pd.Series, band: str) -> str:
    if beyond.empty:
        return f"No report on {words.band(band)} reached {LONG_KM} km"
    if beyond.sum() < style.THIN:
        far = style.counted(beyond.sum(), "report")
        return f"On {words.band(band)}, only {far} beyond {LONG_KM} km: too few to weigh the mechanisms"
    first = beyond.index[0]
    far = f"{words.percent(beyond.iloc[0] / beyond.sum())} of the reports beyond {LONG_KM} km"
    if first == "undetermined":
        return f"On {words.band(band)}, {far} cannot be put down to one mechanism"
    return f"On {words.band(band)}, {words.MECHANISMS.get(first, first)} carried {far}"


def _mechanism_panels(above: Axes, below: Axes, edges, counts) -> None:
    total = np.sum(list(counts.values()), axis=0)
    base = np.zeros(len(edges))
    shown = np.where(total >= style.THIN, total, np.nan)  # a share of a handful says nothing
    for key, values in counts.items():
        colour, hatch = style.MECHANISMS[key]
        top = base + np.append(values / shown, np.nan)
        look: dict[str, Any] = {"facecolor": colour, "hatch": hatch, "edgecolor": "white", "linewidth": 0}
        below.fill_between(edges, base, top, step="post", label=words.MECHANISMS[key], **look)
        base = top
    above.fill_between(edges, np.append(total, 0), step="post", color=style.PALE, linewidth=0)
    if total.max() > 100:
        above.set_yscale("symlog", linthresh=10)
        above.yaxis.set_major_formatter(ticks.number_ticks())
    above.set_ylim(bottom=0)
    above.set_ylabel("reports")
    if not np.isfinite(shown).any():
        few = f"fewer than {style.THIN} reports at every distance"
        below.text(0.5, 0.5, few, transform=below.transAxes, ha="center", va="center", color=style.GREY)
    below.set(ylabel="share", xlabel="distance [km]", ylim=(0, 1), xlim=(0, edges[-1]))
    below.yaxis.set_major_formatter(ticks.percent_ticks())
    ticks.legend_above(above, *below.get_legend_handles_labels())


def _not_drawn(spots: pd.DataFrame, top: float) -> str:
    beyond = int((spots["distance_km"] > top).sum())
    return f"{style.counted(beyond, 'report')} beyond {words.count(top)} km not drawn." if beyond else ""


def _share_edges(distance: pd.Series, top: float) -> np.ndarray:
    """Bins as narrow as leaves most reports in one that holds enough for a share."""
    for step in (DISTANCE_STEP_KM, 250, 500):
        edges = np.arange(0, top + 1, step)
        held = np.histogram(distance, edges)[0]
        if held[held >= style.THIN].sum() >= 0.8 * held.sum():
            break
    return edges


def _top_km(spots: pd.DataFrame) -> float:
    """End of a distance axis: beyond nearly every long path whose mechanism is known.

    The others may go by a wrong locator, and a few of those must not squeeze all that is real.
    """
    far = spots.loc[
        (spots["mechanism"].astype(str) != "undetermined") & (spots["distance_km"] >= LONG_KM), "distance_km"
    ]
    return float(np.ceil((far.quantile(0.99) if len(far) else LONG_KM) * 1.05 / 500) * 500)


def _by_hour_and_km(spots: pd.DataFrame, top: float) -> np.ndarray:
    edges = np.arange(25.0), np.arange(0, top + 1, DISTANCE_STEP_KM)
    return np.histogram2d(spots["solar_hour"], spots["distance_km"], bins=edges)[0]


def _hour_panel(axes: Axes, grid: np.ndarray, top: float, scale: LogNorm):
    drawn = axes.pcolormesh(
        np.arange(25.0),
        np.arange(0, top + 1, DISTANCE_STEP_KM),
        np.ma.masked_equal(grid.T, 0),
        norm=scale,
        cmap=style.AMOUNT,
        rasterized=True,
    )
    axes.set_xticks(range(0, 25, 6))
    axes.grid(False)
    return drawn

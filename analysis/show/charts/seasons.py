"""Pictures that compare: seasons beside each other."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import NullFormatter

from analysis.show.charts import style, ticks
from analysis.show.charts.picture import Picture, finished
from analysis.show.charts.rows import Parts, by_kind, refused, stated, worst_tier
from analysis.show.wording import words

SEASONS_TO_JUDGE = 4  # fewer say nothing about what is normal
LEAST_INDEX = 0.08  # a line that leaves the panel is wider still
VERDICTS = {"above": "above normal", "below": "below normal"}
MARKS = {  # verdict: marker, fill, edge
    "above": ("^", style.VERMILION, style.VERMILION),
    "below": ("v", style.VERMILION, style.VERMILION),
    "normal": ("o", "white", style.BLUE),
}


def seasons_chart(seasons: pd.DataFrame, *, band: str, mechanism: str, width: str = "full") -> Picture:
    """Each season's index with its interval, against the range of the other seasons.

    Parameters
    ----------
    seasons : DataFrame
        `band mechanism path_type season opening_days monitored_days index low high tier verdict reason`;
        an index of 1 is usual.
    band, mechanism : str
    """
    name, series = f"seasons-{band}-{mechanism}", words.series(band_name=band, mechanism=mechanism)
    parts = by_kind(seasons, band=band, mechanism=mechanism)
    drawn = {kind: part.sort_values("season") for kind, part in stated(parts, "index").items()}
    if not drawn:
        return refused(name, parts, title=f"Seasons of {series} cannot be compared", width=width)
    tier = worst_tier(drawn)
    what = "Left: chance of an open half-hour over that of all seasons (1 is usual); right: opening days "
    what += words.SCOPES[str(next(iter(drawn.values()))["scope"].iloc[0])]
    foot = (
        f"{style.evidence(tier)} Line: 90 % interval; grey bar: range of the other seasons. "
        "Above (▲) or below normal (▼) is said only outside what the other seasons foretell (80 %), "
        "four of them at least."
    )
    heading = {"title": _seasons_title(drawn, series), "subtitle": what, "foot": foot, "tier": tier}
    told = " ".join(_seasons_told(kind, part) for kind, part in drawn.items())
    return finished(name, _draw_seasons(drawn, heading, width=width), heading, told, width=width)


def _draw_seasons(drawn: Parts, heading: dict[str, str], *, width: str) -> Figure:
    sizes, tier = [len(part) for part in drawn.values()], heading["tier"]
    longest = max(float((part["opening_days"] / part["monitored_days"]).max()) for part in drawn.values())
    with style.look(width):
        body = 14 + 5.5 * sum(sizes) + 8 * len(sizes)
        figure = style.sheet(**heading, body_mm=body, width=width)
        ratios = [n + 0.5 for n in sizes]
        panels = figure.subplots(
            len(sizes), 2, sharex="col", sharey="row", squeeze=False, height_ratios=ratios
        )
        for pair, (kind, part) in zip(panels, drawn.items(), strict=True):
            _index_panel(pair[0], part, judged=tier != "A")
            _days_panel(pair[1], part, judged=tier == "A")
            pair[0].set_title(style.path_words(kind))
        _index_ticks(panels[:, 0])
        # The counts stand at the right, beyond the longest season.
        reach = 100 * max(longest, 0.01)
        panels[0, 1].set_xlim(-0.04 * reach, reach * (2.1 if width == "column" else 1.45))
        panels[-1, 0].set_xlabel("season index")
        panels[-1, 1].set_xlabel("opening days in 100")
    return figure


def _seasons_title(drawn: Parts, series: str) -> str:
    said = []
    for kind, part in drawn.items():
        where = style.where(kind)
        for verdict in ("above", "below"):
            odd = part.loc[part["verdict"] == verdict, "season"].astype(int).astype(str).to_list()
            if odd:
                said.append(f"{words.listed(odd)} {verdict} normal{where}")
    if said:
        return f"{style.headline(series)}: {words.listed(said)}"
    if any((part["verdict"] == "normal").any() for part in drawn.values()):
        return f"{style.headline(series)}: no season stands out from the others"
    few = max(len(part) for part in drawn.values()) < SEASONS_TO_JUDGE
    lack = "seasons" if few else "openings, or hours of listening,"
    return f"{style.headline(series)}: too few {lack} to call a season unusual"


def _index_panel(axes: Axes, part: pd.DataFrame, *, judged: bool) -> None:
    y = np.arange(len(part))[::-1]
    axes.hlines(y, part["low"], part["high"], color=style.BLUE, linewidth=1.2, zorder=2)
    _dots(axes, part["index"].to_numpy(), part, judged=judged)
    axes.set_yticks(y, part["season"].astype(int).astype(str))
    axes.set_ylim(-0.6, len(part) - 0.4)
    axes.set_xscale("log")
    axes.set_xlim(max(part["low"].min() * 0.9, LEAST_INDEX), min(part["high"].max() * 1.1, 1 / LEAST_INDEX))
    axes.axvline(1, color=style.GREY, linewidth=0.8, linestyle=(0, (3, 2)), zorder=1)


def _days_panel(axes: Axes, part: pd.DataFrame, *, judged: bool) -> None:
    share = 100 * (part["opening_days"] / part["monitored_days"]).to_numpy(float)
    _dots(axes, share, part, judged=judged)
    for row, y in zip(_whole(part), np.arange(len(part))[::-1], strict=True):
        text = f"{row['opening_days']} of {row['monitored_days']}"
        axes.annotate(
            text, (1, y), xycoords=("axes fraction", "data"), ha="right", va="center", color=style.GREY
        )
    axes.xaxis.set_major_locator(ticks.few_ticks(4))


def _dots(axes: Axes, values: np.ndarray, part: pd.DataFrame, *, judged: bool) -> None:
    """One mark a season over the range of the others; the verdict shows on the quantity it was judged by."""
    y = np.arange(len(part))[::-1]
    for row, rest in zip(
        y, [np.delete(values, k) for k in range(len(values))] if len(values) > 2 else [], strict=False
    ):
        axes.barh(row, np.ptp(rest), 0.62, rest.min(), color="#e4e4e4", zorder=1)
    verdict = part["verdict"].astype(str).to_numpy() if judged else np.full(len(part), "normal")
    for name in np.unique(verdict):
        marker, fill, edge = MARKS.get(name, MARKS["normal"])
        own = verdict == name
        axes.plot(values[own], y[own], marker, color=fill, markeredgecolor=edge, markersize=5, zorder=3)
    axes.grid(False)


def _whole(part: pd.DataFrame) -> list[dict[Any, Any]]:
    """Rows as records, with the counts as whole numbers."""
    return part.astype(dict.fromkeys(["season", "opening_days", "monitored_days"], int)).to_dict("records")


def _index_ticks(panels) -> None:
    """Plain numbers on the logarithmic axis that all panels share, fewer where it is long."""
    low, high = min(axes.get_xlim()[0] for axes in panels), max(axes.get_xlim()[1] for axes in panels)
    steps = (0.1, 0.3, 1, 3, 10) if high / low > 8 else (0.3, 0.5, 0.7, 1, 1.5, 2, 3)
    for axes in panels:
        axes.set_xlim(low, high)
        axes.set_xticks([step for step in steps if low <= step <= high])
        axes.xaxis.set_major_formatter(lambda value, _: f"{value:g}")
        axes.xaxis.set_minor_formatter(NullFormatter())


def _seasons_told(kind: str, part: pd.DataFrame) -> str:
    each = "; ".join(
        f"{row['season']}: {row['index']:.2f} ({row['low']:.2f} to {row['high']:.2f}), "
        f"{row['opening_days']} opening days {words.SCOPES[row['scope']]} of {row['monitored_days']}, "
        f"{VERDICTS.get(row['verdict'], row['verdict'])}"
        for row in _whole(part)
    )
    return f"{style.headline(style.path_words(kind))}: {each}."

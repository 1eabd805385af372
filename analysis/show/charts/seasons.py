"""Pictures that compare: seasons beside each other."""

from __future__ import annotations

from typing import Any

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import NullFormatter

from analysis.show.charts import style
from analysis.show.charts.picture import Picture, finished
from analysis.show.charts.rows import Parts, by_kind, refused, stated, worst_tier
from analysis.show.wording import words

SEASONS_TO_JUDGE = 4  # fewer say nothing about what is normal
MARGIN = 1.15  # of the ratio axis beyond its ends
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
        As `fit.season.seasons_table` gives them.
    band, mechanism : str
    """
    name, series = f"seasons-{band}-{mechanism}", words.series(band_name=band, mechanism=mechanism)
    parts = by_kind(seasons, band=band, mechanism=mechanism)
    drawn = {kind: part.sort_values("season") for kind, part in stated(parts, "compared").items()}
    if not drawn:
        return refused(name, parts, title=f"Seasons of {series} cannot be compared", width=width)
    tier = worst_tier(drawn)
    where = words.SCOPES[str(next(iter(drawn.values()))["scope"].iloc[0])]
    what = (
        f"Opening days {where} over those usual on the days listened to (1 is usual)"
        if tier != "B"
        else f"Chance of an open half-hour {where} over that of all seasons (1 is usual)"
    )
    foot = (
        f"{style.evidence(tier)} Grey: where four seasons in five should lie, judged by the others; outside it a season is "
        "called above (▲) or below normal (▼). At the right: opening days of days listened to."
    )
    heading = {"title": _seasons_title(drawn, series), "subtitle": what, "foot": foot, "tier": tier}
    told = " ".join(_seasons_told(kind, part) for kind, part in drawn.items())
    return finished(name, _draw_seasons(drawn, heading, width=width), heading, told, width=width)


def _draw_seasons(drawn: Parts, heading: dict[str, str], *, width: str) -> Figure:
    sizes = [len(part) for part in drawn.values()]
    with style.look(width):
        figure = style.sheet(**heading, body_mm=10 + 5.5 * sum(sizes) + 8 * len(sizes), width=width)
        ratios = [n + 0.5 for n in sizes]
        panels = figure.subplots(len(sizes), 1, sharex=True, squeeze=False, height_ratios=ratios)[:, 0]
        for axes, (kind, part) in zip(panels, drawn.items(), strict=True):
            _seasons_panel(axes, part)
            axes.set_title(style.path_words(kind))
        ends = [part[["compared", "usual_low", "usual_high"]] for part in drawn.values()]
        low, high = min(one.min().min() for one in ends), max(one.max().max() for one in ends)
        for axes in panels:
            axes.set_xlim(low / MARGIN, high * MARGIN)
        _ratio_ticks(panels[-1])
        panels[-1].set_xlabel("times the usual")
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


def _seasons_panel(axes: Axes, part: pd.DataFrame) -> None:
    """A row for each season from the first to the last: the range that it was judged by, its mark, its days."""
    seasons = range(int(part["season"].min()), int(part["season"].max()) + 1)
    y = {season: row for row, season in enumerate(reversed(seasons))}
    axes.set_xscale("log")
    axes.axvline(1, color=style.GREY, linewidth=0.8, linestyle=(0, (3, 2)), zorder=1)
    for row in _whole(part):
        at = y[row["season"]]
        axes.barh(at, row["usual_high"] - row["usual_low"], 0.62, row["usual_low"], color="#e4e4e4", zorder=1)
        marker, fill, edge = MARKS.get(row["verdict"], MARKS["normal"])
        axes.plot(row["compared"], at, marker, color=fill, markeredgecolor=edge, markersize=5, zorder=3)
    told = {row["season"]: f"{row['opening_days']} of {row['monitored_days']}" for row in _whole(part)}
    for season, at in y.items():
        look = {"va": "center", "color": style.GREY, "weight": "bold" if season == seasons[-1] else "normal"}
        axes.annotate(told.get(season, "not judged"), (1.01, at), xycoords=("axes fraction", "data"), **look)  # type: ignore[arg-type]
    axes.set_yticks(list(y.values()), [str(season) for season in y])
    axes.get_yticklabels()[0].set_weight("bold")  # type: ignore[attr-defined]
    axes.set_ylim(-0.6, len(y) - 0.4)
    axes.grid(False)


def _whole(part: pd.DataFrame) -> list[dict[Any, Any]]:
    """Rows as records, with the counts as whole numbers."""
    return part.astype(dict.fromkeys(["season", "opening_days", "monitored_days"], int)).to_dict("records")


def _ratio_ticks(axes: Axes) -> None:
    """Plain numbers on the logarithmic axis, fewer where it is long."""
    low, high = axes.get_xlim()
    steps = (0.1, 0.3, 1, 3, 10) if high / low > 8 else (0.3, 0.5, 0.7, 1, 1.5, 2, 3)
    axes.set_xticks([step for step in steps if low <= step <= high])
    axes.xaxis.set_major_formatter(lambda value, _: f"{value:g}")
    axes.xaxis.set_minor_formatter(NullFormatter())


def _seasons_told(kind: str, part: pd.DataFrame) -> str:
    each = "; ".join(
        f"{row['season']}: {row['compared']:.2f} times the usual ({row['usual_low']:.2f} to {row['usual_high']:.2f} are normal), "
        f"{words.counted(row['opening_days'], 'opening day')} {words.SCOPES[row['scope']]} of {row['monitored_days']}, "
        f"{VERDICTS.get(row['verdict'], row['verdict'])}"
        for row in _whole(part)
    )
    return f"{style.headline(style.path_words(kind))}: {each}."

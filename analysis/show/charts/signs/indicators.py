"""Picture of the signs worth listening to: how often the opening followed each, beside chance."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from numpy.typing import NDArray

from analysis.find.signs.quarters import AHEAD_MIN
from analysis.fit.signs.indicators import USEFUL
from analysis.show.charts import style
from analysis.show.charts.picture import Picture, finished, words_only
from analysis.show.wording import listen, words

TARGETS, ROWS = 2, 6  # panels, and signs in each: a list to listen to is short


def indicators_chart(indicators: pd.DataFrame, *, width: str = "full") -> Picture:
    """How often the opening followed each useful sign, and how often at that hour of that season anyway.

    Parameters
    ----------
    indicators : DataFrame
        As `fit.signs.indicators.indicators_table` makes it.
    """
    useful = indicators[(indicators["verdict"] == USEFUL) & (indicators["rank"] <= ROWS)]
    if useful.empty:
        return words_only(
            "indicators", _reason(indicators), title="No sign can be named to listen for", width=width
        )
    panels = [part for _, part in useful.groupby(["target_band", "mechanism", "target"], sort=False)]
    panels = sorted(panels, key=lambda part: -part["gain"].max())[:TARGETS]
    heading = {
        "title": _title(panels[0].iloc[0]),
        "subtitle": f"Share of the times that a sign was heard and the opening followed within {AHEAD_MIN[1]:g} minutes",
        "foot": "Dot: as it was, with 90 % interval, seasons left out in turn. Tick: by chance at that hour of that part of "
        "that season. Only while somebody was on who could have noticed both; Holm over all signs.",
    }
    with style.look(width):
        rows = [len(part) for part in panels]
        figure = style.sheet(**heading, body_mm=13 + 7 * sum(rows) + 9 * (len(rows) - 1), width=width)
        ratios = [n + 0.6 for n in rows]
        axes = figure.subplots(len(rows), 1, sharex=True, squeeze=False, height_ratios=ratios)[:, 0]
        for one, part in zip(axes, panels, strict=True):
            _panel(one, part.iloc[::-1])
        axes[-1].set_xlim(0, 1.05 * max(_ends(part)[1].max() for part in panels))
        axes[-1].set_xlabel("followed by the opening [%]")
    alt = " ".join(_told(row) for part in panels for row in part.to_dict("records"))
    return finished("indicators", figure, heading, alt, width=width)


def _panel(axes: Axes, part: pd.DataFrame) -> None:
    y, chance = np.arange(len(part)), listen.by_chance(part)
    axes.hlines(y, *_ends(part), color=style.BLUE, linewidth=1.2)
    axes.plot(100 * part["followed_share"], y, "o", color=style.BLUE, markersize=5)
    axes.plot(100 * chance, y, "|", color=style.VERMILION, markersize=9, markeredgewidth=1.6)
    axes.set_yticks(y, [listen.sign(row) for row in part.to_dict("records")])
    axes.set_ylim(-0.6, len(part) - 0.4)
    axes.set_title(style.headline(listen.target(part.iloc[0])), loc="right")  # over the signs' names, too
    axes.grid(False, axis="y")
    axes.grid(True, axis="x")


def _ends(part: pd.DataFrame) -> tuple[NDArray, NDArray]:
    """Ends of the intervals of the shares [%], the dots inside them."""
    dot = 100 * part["followed_share"].to_numpy(float)
    chance = 100 * np.asarray(listen.by_chance(part), float)
    low, high = (part[name].to_numpy(float) * chance for name in ("lift_low", "lift_high"))
    return np.minimum(low, dot), np.maximum(np.minimum(high, 100.0), dot)


def _title(row: pd.Series) -> str:
    return style.headline(
        f"after {listen.sign(row, place=False)}, {listen.target(row)} followed in "
        f"{words.percent(row['followed_share'])} of cases, by chance in {words.percent(listen.by_chance(row))}"
    )


def _told(row: dict) -> str:
    return (
        f"{listen.sign(row)}: {listen.target(row)} followed {row['followed']} of {row['n_warnings']} times, "
        f"{row['lift']:.1f} times as often as by chance ({row['lift_low']:.1f} to {row['lift_high']:.1f}), "
        f"median {words.count(row['lead_min'])} min ahead, {row['stable']}."
    )


def _reason(indicators: pd.DataFrame) -> str:
    if indicators.empty:
        return (
            "No beacon, lower band or always-on path was heard near home on five days or more. Reports of beacons by "
            "a receiver near home, and notes of the FM band with listening hours, would tell."
        )
    known = (indicators["verdict"] != "refuse").sum()
    return (
        f"{len(indicators)} pairs of sign and opening were looked at; {known} had enough warnings, and after none of "
        "them did the opening follow more often than at that hour of that part of the season anyway."
    )

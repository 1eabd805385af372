"""Pictures of the ladder: which rung leads to voice, how soon, and at which report."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.figure import Figure

from analysis.find.reach import REGION
from analysis.find.signs.ladder import FAIR_DB
from analysis.fit.signs.level import CURVE, RUNG
from analysis.show.charts import style
from analysis.show.charts.picture import Picture, finished, words_only
from analysis.show.wording import words

COLOURS = (style.VERMILION, style.BLUE, style.GREEN, style.PURPLE)


def rungs_chart(rungs: pd.DataFrame, *, scope: str = REGION, width: str = "full") -> Picture:
    """Chance that each rung of the ladder leads to voice in the same opening.

    Parameters
    ----------
    rungs : DataFrame
        As `fit.signs.climb.rungs_table` makes it.
    scope : {"region", "here"}
    """
    known = rungs[(rungs["verdict"] == "ok") & (rungs["scope"] == scope)]
    if known.empty:
        title = "Whether a rung of the ladder leads to voice cannot be said"
        reason = (
            "In too few openings was somebody known to be on voice, who could have heard it. Contacts and voice "
            "reports of quiet hours would tell who was on."
        )
        return words_only("rungs", reason, title=title, width=width)
    best = style.top(known, "chance")
    series = words.series(band_name=best["band"], mechanism=best["mechanism"])
    heading = {
        "title": f"{style.headline(best['rung'])} led to voice in {words.percent(best['chance'])} of openings in {series}",
        "subtitle": "Chance that voice follows in the same opening, and median minutes until it does",
        "foot": "Line: 90 % interval, seasons left out in turn. Only while a voice operator was known to be on; openings "
        "that were over first are counted as leading nowhere, those that nobody could follow as cut.",
    }
    with style.look(width):
        figure = _draw(known.iloc[::-1], heading, width=width)
    return finished("rungs", figure, heading, " ".join(map(_told, known.to_dict("records"))), width=width)


def voice_chart(levels: pd.DataFrame, *, scope: str = REGION, width: str = "full") -> Picture:
    """Chance of voice in the next quarter of an hour by the strongest FT8 report now.

    Parameters
    ----------
    levels : DataFrame
        As `fit.signs.level.levels_table` makes it.
    scope : {"region", "here"}
    """
    curve = levels[(levels["what"] == CURVE) & (levels["verdict"] == "ok") & (levels["scope"] == scope)]
    if curve.empty:
        reason = "Too few quarter-hours have an FT8 report and somebody on voice to hear what comes next."
        title = "Which report makes voice likely cannot be said"
        return words_only("voice-level", reason, title=title, width=width)
    top = curve[curve["n"] == curve["n"].max()]
    series = words.series(band_name=top["band"].iloc[0], mechanism=top["mechanism"].iloc[0])
    low, high = top.iloc[0], top.iloc[-1]
    heading = {
        "title": f"{style.headline(series)}: voice follows {words.percent(low['value'])} of quarter-hours whose best FT8 "
        f"report is {low['level_db']:.0f} dB, {words.percent(high['value'])} at {high['level_db']:.0f} dB",
        "subtitle": "Chance of a voice or CW report in the next quarter of an hour, by the strongest report now",
        "foot": f"Band: 90 % interval. Reports in 2 500 Hz. {_rung_told(levels, scope)}",
    }
    with style.look(width):
        figure = style.sheet(**heading, body_mm=62, width=width)
        axes = figure.subplots()
        for (key, part), colour in zip(
            curve.groupby(["band", "mechanism"], sort=False), COLOURS, strict=False
        ):
            label = words.series(band_name=str(key[0]), mechanism=str(key[1]))
            axes.fill_between(
                part["level_db"], 100 * part["low"], 100 * part["high"], color=colour, alpha=0.18
            )
            axes.plot(part["level_db"], 100 * part["value"], "o-", color=colour, markersize=3, label=label)
        axes.set_xlabel("strongest FT8 report [dB]")
        axes.set_ylabel("chance of voice [%]")
        axes.set_ylim(0, 100)
        axes.legend(loc="upper left")
    alt = " ".join(
        f"{words.series(band_name=one['band'], mechanism=one['mechanism'])} at {one['level_db']:.0f} dB: "
        f"{style.chance(one, value='value')}."
        for one in curve.to_dict("records")
    )
    return finished("voice-level", figure, heading, alt, width=width)


def _draw(known: pd.DataFrame, heading: dict[str, str], *, width: str) -> Figure:
    figure = style.sheet(**heading, body_mm=14 + 6.5 * len(known), width=width)
    axes = figure.subplots()
    y = np.arange(len(known))
    axes.hlines(y, 100 * known["low"], 100 * known["high"], color=style.BLUE, linewidth=1.2)
    axes.plot(100 * known["chance"], y, "o", color=style.BLUE, markersize=5)
    rows = known.to_dict("records")
    axes.set_yticks(y, [f"{words.band(row['band'])} {row['mechanism']}: {row['rung']}" for row in rows])
    for place, row in zip(y, rows, strict=True):
        text = f"{words.count(row['lead_min'])} min, n {row['n_known']}"
        axes.annotate(
            text, (1, place), xycoords=("axes fraction", "data"), ha="right", va="center", color=style.GREY
        )
    axes.set_xlim(0, 125)
    axes.set_xticks([0, 25, 50, 75, 100])
    axes.set_ylim(-0.6, len(known) - 0.4)
    axes.set_xlabel("chance of voice [%]")
    axes.grid(False, axis="y")
    return figure


def _told(row: dict) -> str:
    series = words.series(band_name=row["band"], mechanism=row["mechanism"])
    return (
        f"{series}, {row['rung']}: {style.chance(row)}, median {words.count(row['lead_min'])} min "
        f"({words.count(row['lead_low'])} to {words.count(row['lead_high'])}), "
        f"{style.counted(row['n_known'], 'opening')}."
    )


def _rung_told(levels: pd.DataFrame, scope: str) -> str:
    """What became of the trade's rung in the series with most quarter-hours."""
    rung = levels[(levels["what"] == RUNG) & (levels["scope"] == scope)]
    known = rung[rung["verdict"] != "refuse"]
    if known.empty:
        return (
            f"Whether {FAIR_DB:g} dB is the level to wait for could not be tested: {rung['reason'].iloc[0]}."
        )
    row = known.loc[known["n"].idxmax()]  # type: ignore[call-overload]
    return (
        f"From {FAIR_DB:g} dB on voice was {row['value']:.1f} times as likely as below "
        f"({row['low']:.1f} to {row['high']:.1f})."
    )

"""Picture of noted forecasts: what each adds to calendar and persistence by days ahead, and how often it came true."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from analysis.fit.signs.forecast import SKILL
from analysis.show.charts import style
from analysis.show.charts.picture import Picture, finished, words_only
from analysis.show.wording import words

COLOURS = (style.BLUE, style.VERMILION, style.GREY, style.SKY)
MOST = len(COLOURS)  # forecasts in one picture; the table has all
LEAST_SHOWN = 5  # days at a level: below, a share is an anecdote; the table has all
APART = 0.12  # days by which marks of several forecasts stand beside each other


def forecasts_chart(forecasts: pd.DataFrame, levels: pd.DataFrame, *, width: str = "full") -> Picture:
    """Skill of noted forecasts by days ahead, and how often it opened at each level of the index.

    Parameters
    ----------
    forecasts : DataFrame
        As `fit.signs.forecast.forecast_scores` makes it.
    levels : DataFrame
        As `fit.signs.forecast.forecast_levels` makes it.
    """
    known = forecasts[forecasts["verdict"] != "refuse"]
    if known.empty:
        reason = style.sentence(forecasts["reason"].iloc[0]) if len(forecasts) else ""
        return words_only("forecasts", reason, title="No forecast could be scored", width=width)
    heading = {
        "title": _title(known),
        "subtitle": "What the index adds to calendar and persistence (Brier skill), and how often it opened at each level, fewest days ahead",
        "foot": "Skill on blocks left out; filled: more than luck (index moved along the season, Holm, p at most 0.025). Lines: 90 % "
        "intervals. Zero: no better than the date and what was open on the day of issue.",
    }
    names = list(dict.fromkeys(_name(row) for row in known.to_dict("records")))[:MOST]
    with style.look(width):
        figure = style.sheet(**heading, body_mm=62, width=width)
        left, right = figure.subplots(1, 2)
        for place, name in enumerate(names):
            rows = known[[_name(row) == name for row in known.to_dict("records")]]
            _skills(
                left, rows, shift=APART * (place - (len(names) - 1) / 2), colour=COLOURS[place], name=name
            )
            _levels(right, _shortest(levels, rows), colour=COLOURS[place])
        left.axhline(0, color=style.GREY, linewidth=0.8, linestyle=(0, (3, 2)))
        left.set_xlabel("days ahead")
        left.set_ylabel("skill beyond calendar and persistence")
        left.legend(loc="best")
        right.set_xlabel("index")
        right.set_ylabel("share of days that opened")
        right.set_ylim(0, 1)
    alt = " ".join(_told(row) for row in known.to_dict("records"))
    return finished("forecasts", figure, heading, alt, width=width)


def _name(row: dict) -> str:
    """A forecast with its area, fit to draw."""
    about = f"{row['forecast']} {row['area']}".strip()
    series = words.series(band_name=str(row["band"]), mechanism=str(row["mechanism"]))
    return f"{style.short(about)}, {series}"


def _skills(axes: Axes, rows: pd.DataFrame, *, shift: float, colour: str, name: str) -> None:
    x, skill = rows["lead_days"].to_numpy(float) + shift, rows["skill_persistence"].to_numpy(float)
    sure = (rows["verdict"] == SKILL).to_numpy()
    axes.vlines(x, rows["skill_persistence_low"], rows["skill_persistence_high"], color=colour, linewidth=1.2)
    axes.plot(x, skill, "o", color="white", markeredgecolor=colour, markersize=5, label=name)
    axes.plot(x[sure], skill[sure], "o", color=colour, markersize=5)
    axes.set_xticks(np.unique(rows["lead_days"].astype(int)))


def _shortest(levels: pd.DataFrame, rows: pd.DataFrame) -> pd.DataFrame:
    """Levels of the forecast at its fewest days ahead."""
    first = rows.sort_values("lead_days").iloc[0]
    keys = ["forecast", "area", "band", "mechanism", "lead_days"]
    return levels[(levels[keys] == first[keys]).all(axis=1) & (levels["n"] >= LEAST_SHOWN)]


def _levels(axes: Axes, own: pd.DataFrame, *, colour: str) -> None:
    x = (own["index_low"] + own["index_high"]) / 2
    axes.vlines(x, own["low"], own["high"], color=colour, linewidth=1.2)
    axes.plot(x, own["share"], "o-", color=colour, markersize=4, linewidth=0.8)


def _title(known: pd.DataFrame) -> str:
    """The forecast that adds most, or that none adds anything."""
    sure = known[known["verdict"] == SKILL]
    if sure.empty:
        return "No skill shown: no noted forecast told more than the calendar and yesterday"
    best = style.top(sure, "skill_persistence")
    far = sure[(sure["forecast"] == best["forecast"]) & (sure["area"] == best["area"])]["lead_days"].max()
    return f"{style.short(best['forecast'])} told more than calendar and persistence, up to {style.counted(far, 'day')} ahead"


def _told(row: dict) -> str:
    ends = (
        f"{words.quantity(row['skill_persistence_low'])} to {words.quantity(row['skill_persistence_high'])}"
    )
    return (
        f"{_name(row)}, {style.counted(row['lead_days'], 'day')} ahead: {row['verdict']}, {words.quantity(row['skill_persistence'])} "
        f"({ends}), an open day had the higher index in {words.percent(row['roc'])} of pairs, {style.counted(row['n_days'], 'day')}."
    )

"""Picture of the signs that come before voice: minutes beyond what more reports and operators explain."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from analysis.find.reach import REGION
from analysis.fit.signs.leads import LEADS, SURELY
from analysis.show.charts import style
from analysis.show.charts.picture import Picture, finished, words_only
from analysis.show.wording import words


def leads_chart(leads: pd.DataFrame, *, scope: str = REGION, width: str = "full") -> Picture:
    """How long before the first voice report each sign was heard, beyond what chance would bring.

    Parameters
    ----------
    leads : DataFrame
        As `fit.signs.leads.leads_table` returns them.
    scope : {"region", "here"}
        Openings anywhere in the reports, or those that home could have used.
    """
    known = leads[(leads["verdict"] != "refuse") & (leads["scope"] == scope)]
    if known.empty:
        reason = (
            "In too few openings were both a sign and voice reported. "
            "Beacon and digital reports from the same hours would help."
        )
        return words_only("signs", reason, title="What gives the first sign cannot be said", width=width)
    heading = {
        "title": _title(known),
        "subtitle": "Minutes by which a sign came before the first voice or CW report, beyond chance",
        "foot": "Chance: the mean over all orders in which the same reports, and the same operators, could "
        f"have come, the harder of the two. Filled: surely before voice (Holm over all rows, p at most {SURELY:g}). "
        "Line: 90 % interval, seasons left out in turn.",
    }
    figure = _draw(known, heading, width=width)
    alt = " ".join(_told(row) for _, row in known.iterrows())
    return finished("signs", figure, heading, alt, width=width)


def _draw(known: pd.DataFrame, heading: dict[str, str], *, width: str) -> Figure:
    groups = {
        words.series(band_name=str(band), mechanism=str(mechanism)): part.iloc[::-1]
        for (band, mechanism), part in known.groupby(["band", "mechanism"], sort=False)
    }
    rows = [len(part) for part in groups.values()]
    with style.look(width):
        figure = style.sheet(**heading, body_mm=13 + 7 * sum(rows) + 9 * (len(rows) - 1), width=width)
        ratios = [n + 0.6 for n in rows]
        panels = figure.subplots(len(rows), 1, sharex=True, squeeze=False, height_ratios=ratios)[:, 0]
        for axes, (series, part) in zip(panels, groups.items(), strict=True):
            _panel(axes, part)
            axes.set_title(style.headline(series))
        panels[-1].set_xlabel("minutes before voice, beyond chance")
    return figure


def _panel(axes: Axes, part: pd.DataFrame) -> None:
    y, sure = np.arange(len(part)), (part["verdict"] == LEADS).to_numpy()
    axes.hlines(y, part["low_min"], part["high_min"], color=style.BLUE, linewidth=1.2)
    for mask, fill in ((sure, style.BLUE), (~sure, "white")):
        axes.plot(
            part["excess_min"][mask], y[mask], "o", color=fill, markeredgecolor=style.BLUE, markersize=5
        )
    heads = zip(part["sign"], part["n_both"], strict=True)
    axes.set_yticks(y, [f"{sign} ({style.counted(n, 'opening')})" for sign, n in heads])
    axes.set_ylim(-0.6, len(part) - 0.4)
    axes.axvline(0, color=style.GREY, linewidth=0.8, linestyle=(0, (3, 2)))
    axes.grid(False, axis="y")
    axes.grid(True, axis="x")


def _title(known: pd.DataFrame) -> str:
    """What surely leads, the series with most openings first; or that nothing does."""
    sure = known[known["verdict"] == LEADS].sort_values("n_both", ascending=False).head(2)
    if sure.empty:
        return "No sign came before voice by more than chance"
    said, before = [], ""
    for row in sure.itertuples():
        series = words.series(band_name=row.band, mechanism=row.mechanism)  # type: ignore[arg-type]
        led = "" if row.sign == before else f"{row.sign} reports led voice "
        said.append(f"{led}by {words.count(row.excess_min)} min in {series}")  # type: ignore[arg-type]
        before = row.sign  # type: ignore[assignment]
    return style.headline(f"beyond chance, {words.listed(said)}")


def _told(row: pd.Series) -> str:
    series = words.series(band_name=row["band"], mechanism=row["mechanism"])
    what = "before voice beyond chance" if row["verdict"] == LEADS else "beyond chance, which may be luck"
    return (
        f"{series}, {row['sign']}: {words.count(row['excess_min'])} min {what} "
        f"({words.count(row['low_min'])} to {words.count(row['high_min'])}, "
        f"{style.counted(row['n_both'], 'opening')} with both)."
    )

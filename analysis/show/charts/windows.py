"""Picture that looks ahead: the chance of an opening in every window of next season."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.dates import date2num
from matplotlib.figure import Figure

from analysis.show.charts import style, ticks
from analysis.show.charts.picture import Picture, finished
from analysis.show.charts.rows import Parts, by_kind, head, named, refused, reserves, stated, sure, worst_tier
from analysis.show.wording import words
from analysis.show.wording.key_chances import best_window, starts_text


def windows_chart(
    windows: pd.DataFrame, *, band: str, mechanism: str, asked: str = "", width: str = "full"
) -> Picture:
    """Chance of an opening, and opening days to expect, in every window of next season by its first day.

    Parameters
    ----------
    windows : DataFrame
        `band mechanism direction start days chance low high near_best seasons tier verdict reason` and,
        where they are there, `expected_days expected_low expected_high`.
    band, mechanism : str
    asked : str, optional
        What a plan asked for beside the whole day, such as "within 18-23 h"; it stands in the title.
    """
    name, series = f"windows-{band}-{mechanism}", words.series(band_name=band, mechanism=mechanism)
    series = f"{series} {asked}".rstrip()
    windows = windows.assign(
        start=pd.to_datetime(windows["start"])
    )  # text, if the table was read from a file
    parts = by_kind(windows, band=band, mechanism=mechanism, kind="direction")
    drawn = stated(parts)
    if not drawn:
        title = f"No window of next season can be chosen for {series}"
        return refused(name, parts, title=title, width=width)
    rows, tier = pd.concat(drawn.values()), worst_tier(drawn)
    days = int(rows["days"].max())
    heading = {
        "title": _title(drawn, series, days),
        "subtitle": f"Windows of {days} days in {rows['start'].max():%Y} by their first day: "
        f"chance of at least {_asked(drawn)}, and opening days to expect",
        "foot": f"{style.evidence(tier)} Band: 90 % interval. Thick line below: near-best, "
        f"within 10 points and a tenth of the open hours of the best window.{reserves(drawn)}",
        "tier": tier,
    }
    figure = _draw(drawn, heading, expected="expected_days" in rows, width=width)
    told = " ".join(_told(kind, part) for kind, part in drawn.items())
    return finished(name, figure, heading, told, width=width)


def _draw(drawn: Parts, heading: dict[str, str], *, expected: bool, width: str) -> Figure:
    stacked, n_rows = width == "column", 2 if expected else 1
    beside = 1 if stacked else len(drawn)
    body = (8 + (23 if stacked else 32) * n_rows) * (len(drawn) if stacked else 1) + 6
    with style.look(width):
        figure = style.sheet(**heading, body_mm=body, width=width)
        shape = (n_rows * len(drawn), 1) if stacked else (n_rows, len(drawn))
        cells = figure.subplots(*shape, sharex=True, squeeze=False)
        pairs = cells.reshape(len(drawn), n_rows) if stacked else cells.T
        for axes, (kind, part) in zip(pairs, drawn.items(), strict=True):
            _panels(axes, part, kind, beside=beside)
            axes[0].set_title(head(kind, part, room_mm=style.WIDTH_MM[width] / beside - 8))
        _share_heights(pairs)
        for axes in pairs if stacked else pairs[:1]:
            axes[0].set_ylabel("chance")
            if expected:
                axes[1].set_ylabel("opening days")
        figure.align_ylabels()
    return figure


def _asked(drawn: Parts) -> str:
    """How many opening days the chances are of, which may differ from one kind of path to another."""
    counts = {kind: int(part["at_least"].iloc[0]) for kind, part in drawn.items()}
    if len(set(counts.values())) == 1:
        return style.counted(next(iter(counts.values())), "opening day")
    return words.listed(f"{style.counted(n, 'opening day')}{style.where(kind)}" for kind, n in counts.items())


def _title(drawn: Parts, series: str, days: int) -> str:
    spells = [f"{_spell(part)}{style.where(kind)}" for kind, part in named(drawn).items()]
    best = f"the best {days} days {'' if sure(named(drawn)) else 'perhaps '}begin {words.listed(spells)}"
    return f"{style.headline(series)}: {best}"


def _spell(part: pd.DataFrame) -> str:
    """First days of the near-best windows, as every text of ours names them."""
    near = part.loc[part["near_best"].astype(bool), "start"]
    return starts_text(near) if len(near) else words.between_days(*[best_window(part)["start"]] * 2)


def _panels(panels, part: pd.DataFrame, kind: str, *, beside: int) -> None:
    colour = style.PATHS.get(kind, style.PATHS["all"])[1] if part["verdict"].iloc[0] == "ok" else style.GREY
    dates = part["start"].to_numpy()
    when = date2num(dates)
    for axes, value, low, high in zip(
        panels, ("chance", "expected_days"), ("low", "expected_low"), ("high", "expected_high"), strict=False
    ):
        axes.fill_between(when, part[low], part[high], color=colour, alpha=0.22, linewidth=0)
        axes.plot(when, part[value], color=colour)
        near = np.where(part["near_best"].astype(bool), 0.0, np.nan)
        axes.plot(when, near, color=style.INK, linewidth=3, solid_capstyle="butt", clip_on=False)
    panels[0].yaxis.set_major_formatter(ticks.percent_ticks())
    for axes in panels:
        ticks.date_ticks(axes, dates, named=axes is panels[-1], beside=beside)


def _share_heights(pairs) -> None:
    """The same scale for the same quantity, so that panels can be compared by eye."""
    for k in range(pairs.shape[1]):
        top = max(axes.get_ylim()[1] for axes in pairs[:, k])
        for axes in pairs[:, k]:
            axes.set_ylim(0, min(top, 1.0) if k == 0 else top)


def _told(kind: str, part: pd.DataFrame) -> str:
    best = best_window(part)
    last = best["start"] + pd.Timedelta(days=int(best["days"]) - 1)
    text = (
        f"{style.headline(style.path_words(kind))}: best {words.run_of_days(best['start'], last)}, "
        f"chance of at least {style.counted(best['at_least'], 'opening day')} {style.chance(best)}"
    )
    if "expected_days" in part and np.isfinite(best["expected_days"]):
        text += f", {best['expected_days']:.1f} opening days to expect"
    near = style.counted(part["near_best"].sum(), "near-best first day")
    return f"{text}; {near}, from {style.counted(best['seasons'], 'season')}."

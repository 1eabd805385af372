"""Ticks, keys and marks that several pictures share."""

from __future__ import annotations

import math
from typing import Any

import matplotlib as mpl
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.dates import date2num
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, MaxNLocator

from analysis.gather import locators
from analysis.show.charts import style

MONTH_MM = 7.5  # room that the name of a month needs
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
MARKS = {"home": ("*", 8, "white", 0.8), "beacon": ("^", 3, style.INK, 0)}  # marker, size, fill, edge


def columns_for(n: int, *, width: str) -> int:
    """Columns for `n` small panels: as few rows as can be, then as few empty places."""
    choices = {"full": (5, 4, 3), "column": (3, 2), "slide": (6, 5, 4)}[width]
    return min(n, min(choices, key=lambda columns: (-(-n // columns), -n % columns)))


def percent_ticks() -> FuncFormatter:
    """Axis labels of a share."""
    return FuncFormatter(lambda share, _: f"{100 * share:.3g}\u00a0%")


def number_ticks() -> FuncFormatter:
    """Plain numbers at the decades of a logarithmic axis, nothing between them."""
    return FuncFormatter(
        lambda value, _: f"{value:,.10g}" if value == 0 or math.log10(value) % 1 == 0 else ""
    )


def few_ticks(most: int) -> MaxNLocator:
    """Whole numbers at no more than `most` steps."""
    return MaxNLocator(most, integer=True)


def is_south(home: str) -> bool:
    """Whether a locator lies in the southern hemisphere, whose seasons count from December."""
    return bool(home) and bool(locators.centre(pd.Series([home]))["lat"].iloc[0] < 0)


def month_ticks(axes: Axes, *, south: bool = False, beside: int = 1) -> None:
    """Label an axis of season days with the months of the hemisphere, in mid-month.

    Names become letters where they have no room, with `beside` panels side by side on the sheet.
    """
    low, high = axes.get_xlim()
    solstice = pd.Timestamp("2001-12-21" if south else "2001-06-21")
    firsts = [(date - solstice).days for date in pd.date_range("2000-12-01", "2002-08-01", freq="MS")]
    axes.set_xticks([day for day in firsts if low <= day <= high], [])
    middle = [(day, date % 12) for date, day in enumerate(firsts, 11) if low <= day + 15 <= high]
    shown = 3 if len(middle) * MONTH_MM * beside < _paper_mm(axes) - 20 * beside else 1
    axes.set_xticks(
        [day + 15 for day, _ in middle],
        [MONTHS[month][:shown] for _, month in middle],
        minor=True,
    )
    axes.tick_params(axis="x", which="minor", length=0)
    axes.set_xlim(low, high)


def date_ticks(axes: Axes, dates, *, named: bool = True, beside: int = 1) -> None:
    """Label an axis of dates with its months, the name (or its letter, where room is short) in mid-month."""
    first, last = pd.Timestamp(min(dates)), pd.Timestamp(max(dates))
    axes.set_xlim(date2num(first), date2num(last))
    months = pd.date_range(first.replace(day=1), last, freq="MS")
    axes.set_xticks([date2num(month) for month in months if month >= first], [])
    middle = [
        month + pd.Timedelta(days=14) for month in months if first <= month + pd.Timedelta(days=14) <= last
    ]
    shown = 3 if len(middle) * MONTH_MM * beside < _paper_mm(axes) - 20 * beside else 1
    names = [MONTHS[month.month - 1][:shown] if named else "" for month in middle]
    axes.set_xticks([date2num(day) for day in middle], names, minor=True)
    axes.tick_params(axis="x", which="minor", length=0)


def mark(what: str, *, scale: float = 1.0) -> dict[str, Any]:
    """Look of a mark on a map, home or beacon; smaller where there are many small maps."""
    marker, size, fill, edge = MARKS[what]
    return {
        "marker": marker,
        "markersize": size * scale,
        "color": fill,
        "markeredgecolor": style.INK,
        "markeredgewidth": edge,
    }


def legend_above(axes: Axes, handles=None, labels=None, *, beside: int = 1) -> None:
    """Key over the panel, where it hides nothing, in as few rows as `beside` panels side by side leave room for."""
    if handles is None:
        handles, labels = axes.get_legend_handles_labels()
    labels = labels or [handle.get_label() for handle in handles]
    size = mpl.rcParams["legend.fontsize"]
    entry = max((style.width_mm(label, size) for label in labels), default=0) + 8
    room = _paper_mm(axes) / beside - 18
    axes.legend(
        handles,
        labels,
        loc="lower left",
        bbox_to_anchor=(0, 1.0),
        ncols=max(1, min(len(handles), int(room // entry))),
        borderaxespad=0.2,
        handlelength=1.4,
        columnspacing=1.2,
        borderpad=0.1,
    )


def colour_key(figure: Figure, drawn, panels, *, label: str) -> None:
    """One colour scale for all panels, below them."""
    bar = figure.colorbar(drawn, ax=list(panels), location="bottom", aspect=45, pad=0.02, shrink=0.7)
    bar.set_label(label)
    bar.ax.xaxis.set_major_formatter(number_ticks())
    bar.ax.xaxis.set_minor_formatter("")
    bar.outline.set_linewidth(0.4)


def share_key(figure: Figure, drawn, panels, *, label: str) -> None:
    """One colour scale of chances for all panels, below them."""
    bar = figure.colorbar(drawn, ax=list(panels), location="bottom", aspect=45, pad=0.02, shrink=0.7)
    bar.set_label(label)
    bar.outline.set_linewidth(0.4)
    bar.ax.xaxis.set_major_formatter(percent_ticks())


def _paper_mm(axes: Axes) -> float:
    figure = axes.get_figure(root=True)
    return figure.get_figwidth() * 25.4 if figure else style.WIDTH_MM["full"]

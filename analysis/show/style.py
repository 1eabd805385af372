"""The look every figure shares: sizes, colours, words for codes, and the sheet that carries them.

A sheet has a title that states the finding, a subtitle that says what and when, room for the panels,
and a foot with the evidence tier, the interval and the n. Its height follows from the words, so a
narrow column never squeezes the panels.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path

import matplotlib as mpl
import pandas as pd
from matplotlib import font_manager
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, MaxNLocator

from analysis.show import words

STYLE_FILE = Path(__file__).with_name("seasonbook.mplstyle")
WIDTH_MM = {"full": 180.0, "column": 85.0}
TYPE_SCALE = {"full": 1.0, "column": 0.86}  # 6 pt is the smallest type that newsprint carries

# Okabe and Ito's eight colours, told apart by readers with any of the common colour deficiencies
# (Okabe & Ito 2008, "Color universal design").
BLUE, SKY, GREEN, ORANGE = "#0072B2", "#56B4E9", "#009E73", "#E69F00"
VERMILION, PURPLE, INK, GREY, PALE = "#D55E00", "#CC79A7", "#222222", "#6b6b6b", "#c8c8c8"

MECHANISMS = {  # open-standard propagation code: colour, hatch for grey print
    "ES": (VERMILION, ""),
    "TR": (BLUE, "////"),
    "MS": (ORANGE, "...."),
    "AS": (SKY, "\\\\\\\\"),
    "AUR": (PURPLE, "xxxx"),
    "F2": (GREEN, "----"),
    "TEP": (INK, ""),
    "LOS": ("#8c8c8c", ""),
    "undetermined": ("#e4e4e4", ""),
}
PATHS = {  # path type: words on a panel, colour, dash
    "land": ("over land", ORANGE, (0, (4, 1.5))),
    "mixed": ("mixed", PURPLE, (0, (1.5, 1.2))),
    "sea": ("over sea", BLUE, "solid"),
    "all": ("all paths", VERMILION, "solid"),
}
BASES = {  # how we know that a station listened: words, colour, hatch
    "monitor": ("always-on receivers", BLUE, ""),
    "declared": ("hours declared", GREEN, "////"),
    "receptions": ("shown by receptions", SKY, "...."),
}
MARKS = {  # on maps
    "home": {
        "marker": "*",
        "markersize": 8,
        "color": "white",
        "markeredgecolor": INK,
        "markeredgewidth": 0.8,
    },
    "beacon": {
        "marker": "^",
        "markersize": 3.5,
        "color": "white",
        "markeredgecolor": INK,
        "markeredgewidth": 0.7,
    },
}
TIERS = {
    "A": "from always-on receivers",
    "B": "from stations that came and went: indicative",
    "C": "from contacts only: no chances",
}
INTERVAL = "90 % interval for a typical season"
UNITS = re.compile(r"(?<=[0-9–]) (?=(?:%|(?:m|cm|km|h|dB)\b))")  # a number keeps its unit beside it
THIN = 20  # below this many a share, a rate or a mean is left blank
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@contextmanager
def look(width: str = "full") -> Iterator[None]:
    """Draw with our style file, type scaled to the width of the sheet ("full" or "column")."""
    scale = TYPE_SCALE[width]
    with mpl.rc_context(fname=STYLE_FILE):
        sizes = {name: mpl.rcParams[name] * scale for name in _sizes()}
        mpl.rcParams.update(sizes)
        yield


def sheet(
    *, title: str, subtitle: str, foot: str, tier: str = "", body_mm: float, width: str = "full"
) -> Figure:
    """Empty figure with its words in place; draw the panels with `figure.subplots`.

    Parameters
    ----------
    title, subtitle, foot : str
        The finding; what and when; interval, n and method. Wrapped to the width.
    tier : str
        A, B or C puts the evidence mark before the foot, "" leaves it out.
    body_mm : float
        Height of the panels [mm].
    width : str
        "full" (180 mm) or "column" (85 mm).

    Returns
    -------
    Figure
        With constrained layout kept to the room between subtitle and foot. Not known to pyplot.
    """
    scale, wide = TYPE_SCALE[width], WIDTH_MM[width]
    head = _lines(title, points=10.5 * scale, bold=True, room_mm=wide - 6)
    what = _lines(subtitle, points=8 * scale, room_mm=wide - 6)
    note = _lines(foot, points=7 * scale, room_mm=wide - 6 - (7 if tier else 0))
    head_mm = 2.5 + 4.9 * scale * len(head) + 3.7 * scale * len(what) + 1
    foot_mm = 2 + 3.2 * scale * max(len(note), 1 if tier else 0)
    tall = head_mm + body_mm + foot_mm
    figure = Figure(figsize=(wide / 25.4, tall / 25.4), layout="constrained")
    rect = (0.004, foot_mm / tall, 0.992, body_mm / tall)
    figure.get_layout_engine().set(rect=rect, w_pad=0.03, h_pad=0.03)  # type: ignore[union-attr]
    left = 2.5 / wide
    place = {"ha": "left", "va": "top", "linespacing": 1.2, "in_layout": False}
    figure.text(left, 1 - 2 / tall, "\n".join(head), weight="bold", size=10.5 * scale, color=INK, **place)
    below = 1 - (2.5 + 4.9 * scale * len(head)) / tall
    figure.text(left, below, "\n".join(what), size=8 * scale, color="#444444", **place)
    if tier:
        _mark(figure, tier, x=left, y=(foot_mm - 0.7) / tall, size=7 * scale)
    figure.text(
        left + (7 / wide if tier else 0),
        (foot_mm - 0.4) / tall,
        "\n".join(note),
        size=7 * scale,
        color="#444444",
        **place,
    )
    return figure


def counted(number: float, noun: str, plural: str = "") -> str:
    """A number and its noun, `1 opening` or `12,345 reports`."""
    return f"{words.count(number)}\u00a0{noun if round(number) == 1 else plural or noun + 's'}"


def number(value: float) -> str:
    """A quantity with two digits that count."""
    return f"{value:,.0f}" if abs(value) >= 100 else f"{value:.2g}"


def years(times: pd.Series) -> str:
    """`2021–2024`, or one year."""
    first, last = times.min().year, times.max().year
    return str(first) if first == last else f"{first}–{last}"


def short(text: str, most: int = 28) -> str:
    """Text from a file, fit to draw, its middle left out where it is long (the ends tell files apart)."""
    text = plain(text)
    return text if len(text) <= most else f"{text[: most // 2]}…{text[-(most // 2) + 1 :]}"


def plain(text: str) -> str:
    """Text from a user's file with what our type face cannot draw replaced by a box sign."""
    known = _letters()
    return "".join(sign if ord(sign) in known and sign.isprintable() else "\u25af" for sign in str(text))


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


def wrapped(text: str, *, room_mm: float) -> str:
    """Text broken into lines that fit the room at label size."""
    return "\n".join(_lines(text, points=mpl.rcParams["axes.labelsize"], room_mm=room_mm))


def month_ticks(axes: Axes, *, south: bool = False, letters: bool = False) -> None:
    """Label an axis of season days with the months of the hemisphere, the name (or its letter) in mid-month."""
    low, high = axes.get_xlim()
    solstice = pd.Timestamp("2001-12-21" if south else "2001-06-21")
    firsts = [(date - solstice).days for date in pd.date_range("2000-12-01", "2002-08-01", freq="MS")]
    axes.set_xticks([day for day in firsts if low <= day <= high], [])
    middle = [(day, date % 12) for date, day in enumerate(firsts, 11) if low <= day + 15 <= high]
    axes.set_xticks(
        [day + 15 for day, _ in middle],
        [MONTHS[month][: 1 if letters else 3] for _, month in middle],
        minor=True,
    )
    axes.tick_params(axis="x", which="minor", length=0)
    axes.set_xlim(low, high)


def date_ticks(axes: Axes, dates, *, named: bool = True) -> None:
    """Label an axis of dates with its months, the name (or its letter, where room is short) in mid-month."""
    first, last = pd.Timestamp(min(dates)), pd.Timestamp(max(dates))
    axes.set_xlim(first.to_pydatetime(), last.to_pydatetime())
    months = pd.date_range(first.replace(day=1), last, freq="MS")
    axes.set_xticks([month for month in months if month >= first], [])
    middle = [
        month + pd.Timedelta(days=14) for month in months if first <= month + pd.Timedelta(days=14) <= last
    ]
    letters = 1 if len(middle) > 6 else 3
    names = [MONTHS[month.month - 1][:letters] if named else "" for month in middle]
    axes.set_xticks(middle, names, minor=True)
    axes.tick_params(axis="x", which="minor", length=0)


def legend_above(axes: Axes, handles=None, labels=None) -> None:
    """Key in one row over the panel, where it hides nothing."""
    if handles is None:
        handles, labels = axes.get_legend_handles_labels()
    labels = labels or [handle.get_label() for handle in handles]
    size = mpl.rcParams["legend.fontsize"]
    entry = max((_width_mm(label, size, False) for label in labels), default=0) + 8
    room = axes.figure.get_figwidth() * 25.4 - 18
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


def _mark(figure: Figure, tier: str, *, x: float, y: float, size: float) -> None:
    """The evidence mark: filled for A, framed for B, dashed frame for C, so that grey print keeps it."""
    filled = tier == "A"
    box = {
        "boxstyle": "round,pad=0.25",
        "facecolor": INK if filled else "white",
        "edgecolor": INK,
        "linewidth": 0.8,
        "linestyle": "dashed" if tier == "C" else "solid",
    }
    figure.text(
        x + 0.004,
        y,
        tier,
        size=size,
        weight="bold",
        color="white" if filled else INK,
        va="top",
        bbox=box,
        in_layout=False,
    )


def _lines(text: str, *, points: float, room_mm: float, bold: bool = False) -> list[str]:
    """Break text at plain spaces so that each line fits; a no-break space holds."""
    lines: list[str] = []
    for paragraph in filter(None, UNITS.sub("\u00a0", text).split("\n")):
        line = ""
        for word in paragraph.split(" "):
            longer = f"{line} {word}".strip()
            if line and _width_mm(longer, points, bold) > room_mm:
                lines.append(line)
                longer = word
            line = longer
        lines.append(line)
    return lines


@lru_cache(maxsize=4096)
def _width_mm(text: str, points: float, bold: bool) -> float:
    face = font_manager.FontProperties(family="DejaVu Sans", size=points, weight="bold" if bold else "normal")
    width, _, _ = _pen().get_text_width_height_descent(text, face, ismath=False)
    return width / 720 * 25.4


@lru_cache(maxsize=1)
def _pen() -> RendererAgg:
    return RendererAgg(1, 1, 720)  # fine enough that hinting does not round widths


@lru_cache(maxsize=1)
def _letters() -> frozenset[int]:
    face = font_manager.get_font(font_manager.findfont("DejaVu Sans"))
    return frozenset(face.get_charmap())


@lru_cache(maxsize=1)
def _sizes() -> tuple[str, ...]:
    return (
        "font.size",
        "axes.titlesize",
        "axes.labelsize",
        "xtick.labelsize",
        "ytick.labelsize",
        "legend.fontsize",
    )

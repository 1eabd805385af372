"""The look every figure shares: sizes, colours, words for codes, and the sheet that carries them.

A sheet has a title that states the finding, a subtitle that says what and when, room for the panels,
and a foot with the evidence tier, the interval and the n. Its height follows from the words, so a
narrow column never squeezes the panels.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np
import pandas as pd
from matplotlib import colormaps, font_manager
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.colors import ListedColormap
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine

from analysis.show.wording import words

STYLE_FILE = Path(__file__).with_name("seasonbook.mplstyle")
WIDTH_MM = {"full": 180.0, "column": 85.0, "slide": 180.0}
TYPE_SCALE = {"full": 1.0, "column": 0.86, "slide": 1.25}  # 6 pt is the smallest type that newsprint carries
SLIDE = 9 / 16  # height over width
SQUEEZE = 0.9  # panels of a slide may be this much lower than those of a full sheet
TITLE_PT, WHAT_PT, FOOT_PT = 10.5, 8.0, 7.0
TITLE_MM, WHAT_MM, FOOT_MM = 4.9, 3.7, 3.2  # height of a line of each
MARK_MM = 7.0  # room of the evidence mark

# Okabe and Ito's eight colours, told apart by readers with any of the common colour deficiencies
# (Okabe & Ito 2008, "Color universal design").
BLUE, SKY, GREEN, ORANGE = "#0072B2", "#56B4E9", "#009E73", "#E69F00"
DEEP = "#00496f"  # their blue, darkened: in grey print the green of mixed paths is as dark as the blue
VERMILION, PURPLE, INK, GREY, PALE = "#D55E00", "#CC79A7", "#222222", "#6b6b6b", "#c8c8c8"

MECHANISMS = {  # open-standard propagation code: colour, hatch for grey print
    "ES": (VERMILION, ""),
    "TR": (BLUE, "////"),
    "MS": (ORANGE, "...."),
    "AS": (SKY, "\\\\\\\\"),
    "AUR": (PURPLE, "xxxx"),
    "F2": (GREEN, "----"),
    "TEP": (INK, ""),
    "LOS": ("#8c8c8c", "||||"),
    "undetermined": ("#e4e4e4", ""),
}
PATHS: dict[str, tuple[str, str, Any]] = {  # path type: words on a panel, colour, dash
    "land": ("over land", ORANGE, (0, (4, 1.5))),
    "mixed": ("mixed", GREEN, (0, (1.5, 1.2))),
    "sea": ("over sea", DEEP, "solid"),
    "all": ("all paths", VERMILION, "solid"),
}
BASES = {  # how we know that a station listened: words, colour, hatch
    "monitor": ("always-on receivers", BLUE, ""),
    "declared": ("hours declared", GREEN, "////"),
    "receptions": ("shown by receptions", SKY, "...."),
    "operating": ("shown by contacts in a row", ORANGE, "xxxx"),
}
TIERS = {
    "A": "from always-on receivers",
    "B": "from stations that came and went: indicative",
    "C": "from contacts only: no chances",
}
INTERVAL = "90 % interval for a typical season"
# Cividis from light to dark, its bright end paled so that a single report does not catch the eye first; its
# lightness still falls steadily.
PALED = colormaps["cividis_r"](np.linspace(0, 1, 256))
PALED[:, :3] += (1 - PALED[:, :3]) * 0.5 * np.linspace(1, 0, 256)[:, None] ** 2
AMOUNT = ListedColormap(PALED[:, :3], name="seasonbook-amount")
UNITS = re.compile(r"(?<=[0-9–]) (?=(?:%|(?:m|cm|km|h|dB)\b))")  # a number keeps its unit beside it
TYPE_SIZES: tuple[Any, ...] = (
    "font.size",
    "axes.titlesize",
    "axes.labelsize",
    "xtick.labelsize",
    "ytick.labelsize",
    "legend.fontsize",
)
THIN = 20  # below this many a share, a rate or a mean is left blank


@contextmanager
def look(width: str = "full") -> Iterator[None]:
    """Draw with our style file, type scaled to the sheet ("full", "column" or "slide")."""
    scale = TYPE_SCALE[width]
    with mpl.rc_context(fname=STYLE_FILE):
        for name in TYPE_SIZES:
            mpl.rcParams[name] *= scale
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
        Height of the panels [mm]; a slide has a fixed shape, and grows as a whole where they need more.
    width : str
        "full" (180 mm), "column" (85 mm) or "slide" (16:9, larger type).

    Returns
    -------
    Figure
        With constrained layout kept to the room between subtitle and foot. Not known to pyplot.
    """
    scale, wide = TYPE_SCALE[width], WIDTH_MM[width]
    texts = {"title": title, "subtitle": subtitle, "foot": foot}
    lines, head_mm, foot_mm = _set(texts, tier, scale=scale, wide=wide)
    if width == "slide":
        while wide * SLIDE - head_mm - foot_mm < SQUEEZE * body_mm:
            wide *= 1.05
            lines, head_mm, foot_mm = _set(texts, tier, scale=scale, wide=wide)
        body_mm = wide * SLIDE - head_mm - foot_mm
    tall = head_mm + body_mm + foot_mm
    rect = (0.004, foot_mm / tall, 0.992, body_mm / tall)
    layout = ConstrainedLayoutEngine(rect=rect, w_pad=0.03, h_pad=0.03)
    figure = Figure(figsize=(wide / 25.4, tall / 25.4), layout=layout)
    left = 2.5 / wide
    below = (2.5 + TITLE_MM * scale * len(lines["title"])) / tall
    _write(figure, lines["title"], x=left, y=1 - 2 / tall, size=TITLE_PT * scale, color=INK, weight="bold")
    _write(figure, lines["subtitle"], x=left, y=1 - below, size=WHAT_PT * scale)
    if tier:
        _mark(figure, tier, x=left, y=(foot_mm - 0.7) / tall, size=FOOT_PT * scale)
        left += MARK_MM * scale / wide
    _write(figure, lines["foot"], x=left, y=(foot_mm - 0.4) / tall, size=FOOT_PT * scale)
    return figure


def _set(
    texts: dict[str, str], tier: str, *, scale: float, wide: float
) -> tuple[dict[str, list[str]], float, float]:
    """Lines of the words on a sheet this wide [mm], and the heights of head and foot [mm]."""
    room = wide - 6
    lines = {
        "title": _lines(texts["title"], points=TITLE_PT * scale, bold=True, room_mm=room),
        "subtitle": _lines(texts["subtitle"], points=WHAT_PT * scale, room_mm=room),
        "foot": _lines(
            texts["foot"], points=FOOT_PT * scale, room_mm=room - (MARK_MM * scale if tier else 0)
        ),
    }
    head_mm = 3.5 + TITLE_MM * scale * len(lines["title"]) + WHAT_MM * scale * len(lines["subtitle"])
    return lines, head_mm, 2 + FOOT_MM * scale * max(len(lines["foot"]), bool(tier))


def _write(figure: Figure, lines: list[str], *, x: float, y: float, size: float, **look: Any) -> None:
    place: dict[str, Any] = {"ha": "left", "va": "top", "linespacing": 1.2, "in_layout": False}
    figure.text(x, y, "\n".join(lines), size=size, **({"color": "#444444"} | place | look))


def evidence(tier: str) -> str:
    """How a foot begins: the evidence tier in words."""
    return f"Evidence {tier}, {TIERS[tier]}."


def chance(row: Any, *, value: str = "chance") -> str:
    """`34 % (20 % to 50 %)` from a row with `low` and `high`."""
    return f"{words.percent(row[value])} ({words.percent(row['low'])} to {words.percent(row['high'])})"


def counted(number: float, noun: str, plural: str = "") -> str:
    """A number and its noun, `1 opening` or `12,345 reports`."""
    return f"{words.count(number)}\u00a0{noun if round(number) == 1 else plural or noun + 's'}"


def number(value: float) -> str:
    """A quantity with two digits that count."""
    return f"{value:,.0f}" if abs(value) >= 100 else f"{value:.2g}"


def sentence(text: str) -> str:
    """Text with a capital first letter and one full stop at its end, as a reason in a table need not have."""
    text = str(text).strip().rstrip(".")
    return f"{text[:1].upper()}{text[1:]}." if text else ""


def headline(text: str) -> str:
    """Text with a capital first letter."""
    return f"{text[:1].upper()}{text[1:]}"


def path_words(kind: str) -> str:
    """A path type or a direction as a panel's head has it."""
    return PATHS[kind][0] if kind in PATHS else {"any": "any direction"}.get(kind, kind)


def where(kind: str) -> str:
    """A path type at the end of a clause, with the space before it: ` over land`, nothing for all paths."""
    return {"all": "", "any": "", "mixed": " on mixed paths"}.get(kind, f" {path_words(kind)}")


def top(rows: pd.DataFrame, column: str) -> pd.Series:
    """The row in which a column is highest."""
    return rows.iloc[int(np.nanargmax(rows[column].to_numpy(float)))]


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


def wrapped(text: str, *, room_mm: float, bold: bool = False) -> str:
    """Text broken into lines that fit the room at the size of labels, or in bold of a panel's head."""
    return "\n".join(_lines(text, points=mpl.rcParams["axes.labelsize"], room_mm=room_mm, bold=bold))


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
            if line and width_mm(longer, points, bold) > room_mm:
                lines.append(line)
                longer = word
            line = longer
        lines.append(line)
    return lines


@lru_cache(maxsize=4096)
def width_mm(text: str, points: float, bold: bool = False) -> float:
    """Width of one line of text in our type face [mm]."""
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

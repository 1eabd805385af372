"""The drawn parts of the card: hours by month, and the calendar of near-best windows."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from analysis.show.charts import style
from analysis.show.wording import words
from analysis.show.wording.key_chances import window_key
from analysis.show.wording.number import main_refusal, series_key

A4_MM = (210.0, 297.0)
EDGE_MM = 12.0
WORDS_PT = 9.5  # to be read at arm's length
MAPS_TOP_MM, CALENDAR_TOP_MM, MAPS_TALL_MM = 26.0, 105.0, 50.0
MAPS, WINDOWS = 4, 5
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
NOTE = "One scale for all. White: nobody listened. The figure stands in the best cell."


def hours_panel(key: str, hours: pd.DataFrame) -> np.ndarray:
    """Chances of one series by hour of the clock (24 rows) and month (12 columns), NaN where nothing is known."""
    table = rows_of(hours, key).pivot_table(index="hour", columns="month", values="chance")
    return table.reindex(index=range(24), columns=range(1, 13)).to_numpy(float)


def no_chance(figure: Figure, numbers: dict) -> None:
    """In words, why neither hours nor weeks can be ranked."""
    heading = "No chance of an opening can be stated"
    write(figure, heading, left=EDGE_MM, top=MAPS_TOP_MM, size=10, weight="bold")
    said = f"{upper(main_refusal(numbers))}."
    write(figure, told(said, room_mm=186, size=WORDS_PT), left=EDGE_MM, top=MAPS_TOP_MM + 7, size=WORDS_PT)


def maps(figure: Figure, numbers: dict, panels: dict[str, np.ndarray], *, zone: str) -> None:
    """Hours by month, one panel for each series, on one scale."""
    write(
        figure,
        f"When a half-hour is likeliest open, by the clock ({zone})",
        left=EDGE_MM,
        top=MAPS_TOP_MM,
        size=10,
        weight="bold",
    )
    wide = (A4_MM[0] - 2 * EDGE_MM) / max(len(panels), 3)
    drawn = [one for one in panels.values() if np.isfinite(one).any()]
    top = max((float(np.nanmax(one)) for one in drawn), default=0.0)
    for place, (key, chance) in enumerate(panels.items()):
        axes = _place(
            figure, left=EDGE_MM + 9 + place * wide, top=MAPS_TOP_MM + 12, wide=wide - 13, tall=MAPS_TALL_MM
        )
        _draw_hours(axes, chance, top=top)
        axes.set_title(told(upper(numbers[f"{key}_name"]["text"]), room_mm=wide), fontsize=8, x=-0.2, pad=7)
    write(
        figure,
        told(NOTE, room_mm=208),
        left=EDGE_MM,
        top=MAPS_TOP_MM + MAPS_TALL_MM + 22.5,
        size=7.5,
        color=style.GREY,
    )


def _draw_hours(axes: Axes, chance: np.ndarray, *, top: float) -> None:
    axes.grid(False)
    axes.set_xlim(0, 12)
    axes.set_ylim(0, 24)
    axes.set_xticks(np.arange(12) + 0.5, [name[0] for name in MONTHS])
    axes.set_yticks([0, 6, 12, 18, 24], [f"{hour} h" for hour in range(0, 25, 6)])
    if not np.isfinite(chance).any():
        return
    look: dict[str, Any] = {"aspect": "auto", "origin": "lower", "extent": (0, 12, 0, 24)}
    axes.imshow(chance, cmap=style.AMOUNT, vmin=0, vmax=top, **look)
    row, column = np.unravel_index(np.nanargmax(chance), chance.shape)
    best = chance[row, column]
    dark = best > top / 2  # dark cells carry light words
    place: dict[str, Any] = {"ha": "center", "va": "center", "color": "white" if dark else style.INK}
    axes.text(column + 0.5, row + 0.5, words.percent(best), size=6.5, **place)


def calendar(figure: Figure, tables, keys: list[str]) -> None:
    """Near-best first days of next season, and when the season runs, along the year."""
    top, numbers = CALENDAR_TOP_MM, tables.key_numbers
    found = [f"{key}_window" for key in keys if f"{key}_window_near" in numbers][:WINDOWS]
    write(figure, "Which weeks", left=EDGE_MM, top=top, size=10, weight="bold")
    if not found:
        refusals = [one["reason"] for name, one in numbers.items() if name.endswith("_window")]
        said = f"No week can be preferred to another: {'; '.join(dict.fromkeys(filter(None, refusals)))}"
        write(figure, told(said, room_mm=186, size=WORDS_PT), left=EDGE_MM, top=top + 7, size=WORDS_PT)
        return
    note = "Blue: first days of the near-best windows. Line: from the start to the end of the season, where known."
    write(figure, note, left=EDGE_MM + 30, top=top + 0.8, size=7, color=style.GREY)
    axes = _place(figure, left=EDGE_MM + 46, top=top + 6, wide=140, tall=5 * len(found) + 2)
    for row, key in enumerate(found):
        _season_row(axes, row, near=_near_days(tables.windows, key), span=_season_span(tables.estimates, key))
    axes.set_yticks(range(len(found)), [upper(numbers[f"{key}_name"]["text"]) for key in found])
    axes.set_ylim(len(found) - 0.4, -0.6)
    firsts = pd.date_range(f"{words.COMMON_YEAR}-01-01", periods=12, freq="MS").day_of_year - 1
    axes.grid(False)
    axes.set_xlim(0, 365)
    axes.set_xticks(firsts, [])
    axes.set_xticks(firsts + 15, MONTHS, minor=True)
    axes.tick_params(axis="x", which="minor", length=0)


def _season_row(axes: Axes, row: int, *, near: np.ndarray, span: list[float]) -> None:
    axes.barh(np.full(len(near), row), 1, left=near - 1, height=0.55, color=style.BLUE, lw=0)
    if np.isfinite(span).all():
        start, end = span
        pieces = [(start, end)] if start <= end else [(start, 365), (0, end)]
        for piece in pieces:
            axes.plot(piece, [row, row], color=style.INK, lw=1, zorder=0)


def _season_span(estimates: pd.DataFrame, key: str) -> list[float]:
    """Days of the year on which the season of a windows series starts and ends."""
    return [
        _estimate(estimates, key.removesuffix("_window"), what) for what in ("season start", "season end")
    ]


def _near_days(windows: pd.DataFrame, key: str) -> np.ndarray:
    """Days of the year of the near-best first days of one windows series."""
    mine = np.array([window_key(row) == key for row in windows.to_dict("records")], dtype=bool)
    starts = pd.to_datetime(windows.loc[mine & windows["near_best"].astype(bool).to_numpy(), "start"])
    return starts.dt.day_of_year.to_numpy()


def _estimate(estimates: pd.DataFrame, key: str, what: str) -> float:
    """Day of the year of one estimate of a series, NaN if it was refused."""
    rows = rows_of(estimates, key)
    values = rows.loc[rows["what"] == what, "value"]
    return float(values.iloc[0]) if len(values) else float("nan")


def rows_of(table: pd.DataFrame, key: str) -> pd.DataFrame:
    """Rows of one series of a fitted table."""
    keys = [
        series_key(band=band, mechanism=mechanism, path_type=path)
        for band, mechanism, path in zip(table["band"], table["mechanism"], table["path_type"], strict=True)
    ]
    return table[np.array(keys, dtype=str) == key]


def _place(figure: Figure, *, left: float, top: float, wide: float, tall: float) -> Axes:
    """Axes at a place counted in millimetres from the upper left corner of the page."""
    box = (left / A4_MM[0], 1 - (top + tall) / A4_MM[1], wide / A4_MM[0], tall / A4_MM[1])
    return figure.add_axes(box)


def write(figure: Figure, text: str, *, left: float, top: float, size: float = 8, **look) -> None:
    figure.text(left / A4_MM[0], 1 - top / A4_MM[1], text, size=size, va="top", linespacing=1.25, **look)


def told(text: str, *, room_mm: float, size: float = style.WHAT_PT) -> str:
    """Text broken into lines of this type size, numbers kept beside their units."""
    return style.wrapped(words.kept_together(text), room_mm=room_mm * style.WHAT_PT / size)


def upper(text: str) -> str:
    """The text with a capital first letter."""
    return text[:1].upper() + text[1:]

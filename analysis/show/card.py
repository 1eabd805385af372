"""One page for the shack wall: hours by month, calendar, headings, first signs, and how sure it all is."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from analysis.show import style, words
from analysis.show.key_chances import window_key
from analysis.show.number import series_key

A4_MM = (210.0, 297.0)
EDGE_MM = 12.0
MAPS = 3
COLUMN_MM = 90.0
LINE_MM = 3.6
COLUMNS_TOP_MM = 182.0
WINDOWS = 5
RANGES = "Ranges in brackets hold the true value nine times in ten. Hours nobody listened to are left out."
CAUTIONS = (
    "Local rules, the landowner and the terms of the licence come first.",
    "Leave the mast at the first thunder; lower it before the storm is near.",
    "Keep masts and wires farther from power lines than they are tall.",
    "Nobody in the beam: mind the exposure limits at the power in use.",
    "Shade, water, hat: the best hours fall in the hottest months.",
    "Never drive home tired; sleep first.",
)


def write_card(
    path: Path | str,
    *,
    numbers: dict[str, dict[str, Any]],
    daily: pd.DataFrame,
    season: pd.DataFrame,
    windows: pd.DataFrame,
    estimates: pd.DataFrame,
    home: str,
    data_until: str,
    portable: bool = False,
) -> Path:
    """Write the card as a PDF of one A4 page, the same bytes every time.

    Parameters
    ----------
    numbers : dict
        From `key_numbers`; every number in the words of the card is one of these.
    daily, season, windows, estimates : DataFrame
        Finished tables; columns in DEVELOPERS.md.
    home : str
        Locator; four characters of it are printed.
    data_until : str
        Date of the newest report, year-month-day.
    portable : bool
        Adds the cautions for a trip.
    """
    with style.look():
        figure = Figure(figsize=(A4_MM[0] / 25.4, A4_MM[1] / 25.4))
        _head(figure, numbers, home=home, data_until=data_until, portable=portable)
        stated = _stated(numbers)
        _maps(figure, numbers, daily, season, stated[:MAPS])
        _calendar(figure, numbers, windows, estimates, stated)
        _columns(figure, numbers, stated, portable=portable)
        facts = {"Title": f"Shack card for {words.square(home)}", "Creator": "Seasonbook", "Producer": None}
        figure.savefig(path, format="pdf", metadata={**facts, "CreationDate": None})
    return Path(path)


def hours_by_month(daily: pd.DataFrame, season: pd.DataFrame) -> np.ndarray:
    """Chance of an open half-hour by hour (48 rows) and month (12 columns) of one series.

    Both tables are averages over the other's axis, so their product over the common mean is the
    chance if the daily course were alike in every month; NaN where either is blank.
    """
    by_hour = daily.set_index(np.floor(daily["hour"] * 2).astype(int))["chance"].reindex(range(48))
    month = season["date"].str[:2].astype(int)
    by_month = season.groupby(month)["chance"].mean().reindex(range(1, 13))
    return np.clip(np.outer(by_hour, by_month) / by_hour.mean(), 0, 1)


def _stated(numbers: dict) -> list[str]:
    """Keys of the series whose chances may be stated, sporadic E first."""
    keys = [key for key, one in numbers.items() if one["unit"] == "series" and one["verdict"] != "refuse"]
    names = [key.removesuffix("_name") for key in keys if not key.startswith("best_")]
    return sorted(names, key=lambda name: name.split("_")[1] != "es")


def _rows(table: pd.DataFrame, key: str) -> pd.DataFrame:
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


def _write(figure: Figure, text: str, *, left: float, top: float, size: float = 8, **look) -> None:
    figure.text(left / A4_MM[0], 1 - top / A4_MM[1], text, size=size, va="top", linespacing=1.25, **look)


def _head(figure: Figure, numbers: dict, *, home: str, data_until: str, portable: bool) -> None:
    bands = numbers["bands"]["text"]
    what = "Portable card" if portable else "Shack card"
    _write(figure, f"{what}: {bands} from {words.square(home)}", left=EDGE_MM, top=10, size=17, weight="bold")
    until = f"Data up to {words.date(data_until)}" if data_until else "No dated report"
    reports = f"{numbers['reports']['text']} of {numbers['stations']['text']}"
    _write(figure, f"{until}; {reports}.", left=EDGE_MM, top=19, size=9, color=style.GREY)


def _maps(figure: Figure, numbers: dict, daily: pd.DataFrame, season: pd.DataFrame, keys: list[str]) -> None:
    """Hours by month, one panel for each series; words where there is none."""
    top, tall = 34.0, 78.0
    _write(figure, "When: chance that a half-hour is open", left=EDGE_MM, top=26, size=10, weight="bold")
    if not keys:
        reasons = [one["reason"] for one in numbers.values() if one["unit"] == "series" and one["reason"]]
        said = "No chance of an opening can be stated from these data. " + " ".join(dict.fromkeys(reasons))
        _write(figure, style.wrapped(said, room_mm=180), left=EDGE_MM, top=top)
        return
    wide = (A4_MM[0] - 2 * EDGE_MM) / MAPS
    for place, key in enumerate(keys):
        axes = _place(figure, left=EDGE_MM + 9 + place * wide, top=top + 4, wide=wide - 14, tall=tall)
        hours = _rows(daily, key)
        drawn = hours_by_month(hours, _rows(season, key))
        _hours_panel(axes, drawn, axis=hours["axis"].iloc[0])
        axes.set_title(style.wrapped(numbers[f"{key}_name"]["text"], room_mm=wide - 12), fontsize=8)


def _hours_panel(axes: Axes, drawn: np.ndarray, *, axis: str) -> None:
    top = float(np.nanmax(drawn))
    axes.imshow(
        drawn, aspect="auto", origin="lower", extent=(0, 12, 0, 24), cmap="cividis_r", vmin=0, vmax=top
    )
    axes.set_xticks(np.arange(12) + 0.5, [name[0] for name in style.MONTHS])
    names = (
        ["0 h", "6 h", "12 h", "18 h", "24 h"]
        if axis == "solar"
        else ["night", "rise", "noon", "set", "night"]
    )
    axes.set_yticks([0, 6, 12, 18, 24], names)
    axes.grid(False)
    row, column = np.unravel_index(np.nanargmax(drawn), drawn.shape)
    # Dark cells carry light words: the best cell is the darkest one.
    axes.text(
        column + 0.5, row / 2 + 0.25, words.percent(top), size=7, color="white", ha="center", va="center"
    )
    axes.set_xlabel("local solar time" if axis == "solar" else "by the Sun", size=7)


def _calendar(
    figure: Figure, numbers: dict, windows: pd.DataFrame, estimates: pd.DataFrame, keys: list[str]
) -> None:
    """Near-best first days of next season, and when the season runs, along the year."""
    top = 136.0
    _write(
        figure, "Calendar: first days of the near-best windows", left=EDGE_MM, top=top, size=10, weight="bold"
    )
    found = [name.removesuffix("_near") for name in numbers if name.endswith("_window_near")]
    if not found:
        refusals = [
            one["reason"] for name, one in numbers.items() if name.endswith("_window") and one["reason"]
        ]
        said = "No window can be ranked. " + " ".join(dict.fromkeys(refusals))
        _write(figure, style.wrapped(said, room_mm=180), left=EDGE_MM, top=top + 6)
        return
    axes = _place(
        figure,
        left=EDGE_MM + 42,
        top=top + 6,
        wide=A4_MM[0] - 2 * EDGE_MM - 42,
        tall=6 * len(found[:WINDOWS]) + 2,
    )
    for row, key in enumerate(found[:WINDOWS]):
        near = _near_days(windows, key)
        axes.barh(np.full(len(near), row), 1, left=near - 1, height=0.5, color=style.BLUE, lw=0)
        span = [
            _estimate(estimates, key.removesuffix("_window"), what) for what in ("season start", "season end")
        ]
        if np.isfinite(span).all():
            axes.plot(span, [row, row], color=style.INK, lw=1, zorder=0)
    axes.set_yticks(range(len(found[:WINDOWS])), [numbers[f"{key}_name"]["text"] for key in found[:WINDOWS]])
    axes.set_ylim(len(found[:WINDOWS]) - 0.5, -0.5)
    firsts = pd.date_range(f"{words.COMMON_YEAR}-01-01", periods=12, freq="MS").day_of_year - 1
    axes.set_xlim(0, 365)
    axes.set_xticks(firsts, [])
    axes.set_xticks(firsts + 15, style.MONTHS, minor=True)
    axes.tick_params(axis="x", which="minor", length=0)


def _near_days(windows: pd.DataFrame, key: str) -> np.ndarray:
    """Days of the year of the near-best first days of one windows series."""
    mine = np.array([window_key(row) == key for row in windows.to_dict("records")], dtype=bool)
    starts = pd.to_datetime(windows.loc[mine & windows["near_best"].astype(bool).to_numpy(), "start"])
    return starts.dt.day_of_year.to_numpy()


def _estimate(estimates: pd.DataFrame, key: str, what: str) -> float:
    """Day of the year of one estimate of a series, NaN if it was refused."""
    rows = _rows(estimates, key)
    values = rows.loc[rows["what"] == what, "value"]
    return float(values.iloc[0]) if len(values) else float("nan")


def _columns(figure: Figure, numbers: dict, keys: list[str], *, portable: bool) -> None:
    """The words, in two columns."""
    left = [("Best hours", _best_hours(numbers, keys)), ("What a window promises", _windows(numbers))]
    right = [("Beam headings", _headings(numbers)), ("First signs", _signs(numbers))]
    right += [("Bands to watch", _bands(numbers)), ("How sure this is", _evidence(numbers, keys))]
    if portable:
        left.append(("Before you go", list(CAUTIONS)))
    for sections, x in ((left, EDGE_MM), (right, EDGE_MM + COLUMN_MM + 6)):
        _flow(figure, [section for section in sections if section[1]], left=x)


def _flow(figure: Figure, sections: list[tuple[str, list[str]]], *, left: float) -> None:
    """Sections below each other; what would run off the page is left out, never cut in the middle."""
    top = COLUMNS_TOP_MM
    for heading, lines in sections:
        wrapped = [style.wrapped(f"• {line}", room_mm=COLUMN_MM).replace("\n", "\n   ") for line in lines]
        rows = sum(1 + text.count("\n") for text in wrapped)
        if top + 6 + rows * LINE_MM > A4_MM[1] - EDGE_MM:
            continue
        _write(figure, heading, left=left, top=top, size=10, weight="bold")
        _write(figure, "\n".join(wrapped), left=left, top=top + 5.5)
        top += 10.5 + rows * LINE_MM


def _best_hours(numbers: dict, keys: list[str]) -> list[str]:
    found = []
    for key in keys:
        hour = numbers[f"{key}_best_hour"]
        when = f"around {hour['text']} local solar time" if hour["unit"] == "solar hour" else hour["text"]
        chance = numbers[f"{key}_best_hour_chance"]["text"]
        found.append(f"{_upper(numbers[f'{key}_name']['text'])}: {when}, {chance}")
    return found


def _windows(numbers: dict) -> list[str]:
    found = []
    for key in (name.removesuffix("_near") for name in numbers if name.endswith("_window_near")):
        text = {
            what: numbers[f"{key}_{what}"]["text"] for what in ("name", "days", "at_least", "chance", "near")
        }
        found.append(
            f"{_upper(text['name'])}: first day {text['near']}; "
            f"at least {text['at_least']} in {text['days']}: {text['chance']}"
        )
    return found[:WINDOWS]


def _headings(numbers: dict) -> list[str]:
    found = []
    for name, one in numbers.items():
        if name.endswith("_beam"):
            band, mechanism = name.split("_")[:2]
            series = words.series(band_name=band, mechanism=mechanism.upper())
            found.append(f"{_upper(series)}: {one['text']}")
    return found


def _signs(numbers: dict) -> list[str]:
    keys = [
        name.removesuffix("_lead") for name, one in numbers.items() if name.endswith("_lead") and one["text"]
    ]
    return [
        f"{_upper(numbers[f'{key}_name']['text'])} on {numbers[f'{key}_series']['text'].split(' on ')[-1]}: "
        f"{numbers[f'{key}_lead']['text']} before voice"
        for key in keys
    ]


def _bands(numbers: dict) -> list[str]:
    found = []
    for band in (name.removesuffix("_band") for name in numbers if name.endswith("_band")):
        longest = numbers.get(f"{band}_longest", {}).get("text", "")
        found.append(f"{numbers[f'{band}_band']['text']}" + f": farthest yet {longest}" * bool(longest))
    return found


def _evidence(numbers: dict, keys: list[str]) -> list[str]:
    tiers = {numbers[f"{key}_name"]["tier"] for key in keys} or {"C"}
    found = [words.TIERS[tier] for tier in sorted(tiers) if tier in words.TIERS]
    provisional = [
        numbers[f"{key}_name"]["text"] for key in keys if numbers[f"{key}_name"]["verdict"] == "provisional"
    ]
    if provisional:
        found.append(f"Provisional: {words.listed(provisional)}")
    return [*found, RANGES]


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]

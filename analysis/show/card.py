"""One page for the shack wall: hours by month, calendar, headings, first signs, and how sure it all is."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pandas as pd
from matplotlib.figure import Figure

from analysis.show import style, words
from analysis.show.card_panels import (
    A4_MM,
    EDGE_MM,
    MAPS,
    calendar,
    hours_panel,
    maps,
    no_chance,
    told,
    upper,
    write,
)
from analysis.show.number import leading_signs, main_series, stated_series

COLUMNS_TOP_MM, WORDS_TOP_MM = 164.0, 62.0
BOTTOM_MM = 288.0
COLUMN_MM = 90.0
LINE_MM = 3.55  # 8 points with the spacing of the style
ROWS = 4  # series told in words
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
    hours: pd.DataFrame | None = None,
    zone: str = "",
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
    hours : DataFrame, optional
        Chances by month and civil hour, `plan.localtime.hour_by_month` of every series, one below the
        other. Without it the curves by hour and by season day are combined.
    zone : str
        Name of the time zone of `hours`.
    """
    figure = card_figure(
        numbers=numbers,
        daily=daily,
        season=season,
        windows=windows,
        estimates=estimates,
        home=home,
        data_until=data_until,
        portable=portable,
        hours=hours,
        zone=zone,
    )
    facts = {"Title": f"Card for {words.square(home)}", "Creator": "Seasonbook", "Producer": None}
    with style.look():
        figure.savefig(path, format="pdf", metadata={**facts, "CreationDate": None})
    return Path(path)


def card_figure(
    *,
    numbers: dict[str, dict[str, Any]],
    daily: pd.DataFrame,
    season: pd.DataFrame,
    windows: pd.DataFrame,
    estimates: pd.DataFrame,
    home: str,
    data_until: str,
    portable: bool = False,
    hours: pd.DataFrame | None = None,
    zone: str = "",
) -> Figure:
    """The card as a figure; parameters as for `write_card`."""
    with style.look():
        figure = Figure(figsize=(A4_MM[0] / 25.4, A4_MM[1] / 25.4))
        shown = _shown(numbers)
        _head(figure, numbers, home=home, data_until=data_until, portable=portable)
        if shown:
            tables: dict[str, Any] = {"daily": daily, "season": season, "hours": hours}
            maps(figure, numbers, {key: hours_panel(key, **tables, zone=zone) for key in shown[:MAPS]})
            calendar(figure, numbers, windows, estimates, shown)
        else:
            no_chance(figure, numbers)
        _columns(figure, numbers, shown[:ROWS], portable=portable)
    return figure


def _shown(numbers: dict) -> list[str]:
    """Keys of the series on the card: those to write about, then any other that may be stated."""
    main = main_series(numbers)
    return main + [key for key in stated_series(numbers) if key not in main]


def _head(figure: Figure, numbers: dict, *, home: str, data_until: str, portable: bool) -> None:
    what = "Portable card" if portable else "Shack card"
    write(figure, f"{what} for {words.square(home)}", left=EDGE_MM, top=9, size=17, weight="bold")
    bands = upper(numbers["bands"]["text"] or "no VHF band")
    until = f"data up to {words.date(data_until)}" if data_until else "no dated report"
    reports = f"{numbers['reports']['text']} of {numbers['stations']['text']}"
    write(figure, f"{bands}; {until}; {reports}.", left=EDGE_MM, top=18.5, size=9, color=style.GREY)


def _columns(figure: Figure, numbers: dict, keys: list[str], *, portable: bool) -> None:
    """The words, in two columns; where no chance is drawn they begin higher up."""
    top = COLUMNS_TOP_MM if keys else WORDS_TOP_MM
    left = [("Best hours", _best_hours(numbers, keys)), ("What a window promises", _windows(numbers, keys))]
    right = [
        ("Beam headings", _headings(numbers, keys or _caught(numbers))),
        ("First signs", _signs(numbers)),
    ]
    right += [("Bands to watch", _bands(numbers)), ("How sure this is", _evidence(numbers, keys))]
    if portable:
        left.append(("Before you go", list(CAUTIONS)))
    if not (portable and keys):  # then there is no room left
        left.append(("To remember", _best(numbers)))
    for sections, x in ((left, EDGE_MM), (right, EDGE_MM + COLUMN_MM + 6)):
        _flow(figure, [section for section in sections if section[1]], left=x, top=top)


def _flow(figure: Figure, sections: list[tuple[str, list[str]]], *, left: float, top: float) -> None:
    """Sections below each other; what would run off the page is left out, never cut in the middle."""
    for heading, lines in sections:
        wrapped = [told(f"• {line}", room_mm=COLUMN_MM).replace("\n", "\n   ") for line in lines]
        rows = sum(1 + text.count("\n") for text in wrapped)
        if top + 6 + rows * LINE_MM > BOTTOM_MM:
            continue
        write(figure, heading, left=left, top=top, size=10, weight="bold")
        write(figure, "\n".join(wrapped), left=left, top=top + 5.5)
        top += 9.5 + rows * LINE_MM


def _best_hours(numbers: dict, keys: list[str]) -> list[str]:
    found = []
    for key in keys:
        hour = numbers[f"{key}_best_hour"]
        when = f"around {hour['text']} local solar time" if hour["unit"] == "solar hour" else hour["text"]
        chance = numbers[f"{key}_best_hour_chance"]["text"]
        found.append(f"{upper(numbers[f'{key}_name']['text'])}: {when}, {chance}")
    return found


def _windows(numbers: dict, keys: list[str]) -> list[str]:
    found = []
    for key in (f"{key}_window" for key in keys if f"{key}_window_near" in numbers):
        text = {
            what: numbers[f"{key}_{what}"]["text"] for what in ("name", "days", "at_least", "chance", "near")
        }
        found.append(
            f"{upper(text['name'])}: first day {text['near']}; "
            f"at least {text['at_least']} in {text['days']}: {text['chance']}"
        )
    return found


def _best(numbers: dict) -> list[str]:
    told = []
    for place in range(1, 1 + (numbers["best"]["value"] or 0)):
        when, name, km = (numbers[f"best_{place}_{what}"]["text"] for what in ("when", "name", "km"))
        told.append(f"{when}: {name}, up to {km}")
    return told


def _caught(numbers: dict) -> list[str]:
    """Band and mechanism of whatever brought an opening, where no chance may be stated."""
    return [name.removesuffix("_beam") for name in numbers if name.endswith("_beam")]


def _headings(numbers: dict, keys: list[str]) -> list[str]:
    found = []
    for pair in dict.fromkeys("_".join(key.split("_")[:2]) for key in keys):
        if f"{pair}_beam" in numbers:
            band, mechanism = pair.split("_")
            series = words.series(band_name=band, mechanism=mechanism.upper())
            found.append(f"{upper(series)}: {numbers[f'{pair}_beam']['text']}")
    return found


def _signs(numbers: dict) -> list[str]:
    return [
        f"{upper(numbers[f'{key}_series']['text'])}: {numbers[f'{key}_name']['text']}, "
        f"{numbers[f'{key}_lead']['text']} before voice"
        for key in leading_signs(numbers)
    ]


def _bands(numbers: dict) -> list[str]:
    """Each band with what the latest season brought on it and how far it has ever reached."""
    found = []
    for band in (name.removesuffix("_band") for name in numbers if name.endswith("_band")):
        keys = [
            name.removesuffix("_openings_latest") for name in numbers if name.endswith("_openings_latest")
        ]
        brought = [
            f"{words.MECHANISMS[key.split('_')[1].upper()]} on {numbers[f'{key}_opening_days_latest']['text']}"
            for key in keys
            if key.split("_")[0] == band
        ]
        far = numbers.get(f"{band}_longest", {}).get("text", "")
        told = [f"{words.listed(brought)} of {numbers['season_latest']['text']}"] if brought else []
        told += [f"farthest yet {far}"] if far else []
        found.append(f"{numbers[f'{band}_band']['text']}: {'; '.join(told) or 'nothing confirmed'}")
    return found


def _evidence(numbers: dict, keys: list[str]) -> list[str]:
    tiers = {numbers[f"{key}_name"]["tier"] for key in keys} or {"C"}
    found = [words.TIERS[tier] for tier in sorted(tiers) if tier in words.TIERS]
    provisional = [
        numbers[f"{key}_name"]["text"] for key in keys if numbers[f"{key}_name"]["verdict"] == "provisional"
    ]
    if provisional:
        found.append(f"Provisional: {words.listed(provisional)}")
    return [*found, RANGES] if keys else found

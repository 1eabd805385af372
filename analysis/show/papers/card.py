"""One page for the shack wall: hours by month, calendar, headings, first signs, and how sure it all is."""

from __future__ import annotations

import re
from pathlib import Path

import pandas as pd
from matplotlib.figure import Figure

from analysis.show.charts import style
from analysis.show.papers.card_panels import (
    A4_MM,
    EDGE_MM,
    MAPS,
    WORDS_PT,
    calendar,
    hours_panel,
    maps,
    no_chance,
    told,
    upper,
    write,
)
from analysis.show.wording import words
from analysis.show.wording.number import all_series, leading_signs, main_series, stated_series

COLUMNS_TOP_MM, WORDS_TOP_MM = 146.0, 62.0
MOST_SIGNS = 4  # lines about first signs: the card has room for no more
BOTTOM_MM = 288.0
COLUMN_MM = 90.0
LINE_MM = WORDS_PT * 0.444  # with the spacing of `write`
ROWS = 4  # series told in words
RANGES = "Ranges in brackets hold the true value nine times in ten. Hours nobody listened to are left out."
CAUTIONS = (
    "Local rules, licence, landowner and qualified people come first.",
    "Lightning: antennas down, off the hill at the first thunder.",
    "Masts and wires: farther from power lines than they are tall.",
    "Nobody in the beam; mind the exposure limits.",
    "Shade, water, hat: the best hours are hot.",
    "Never drive home tired; sleep first.",
)


def write_card(
    path: Path | str, tables, *, portable: bool = False, hours: pd.DataFrame | None = None, zone: str = ""
) -> Path:
    """Write the card as a PDF of one A4 page, the same bytes every time; parameters as for `card_figure`."""
    figure = card_figure(tables, portable=portable, hours=hours, zone=zone)
    facts = {
        "Title": f"Card for {words.square(tables.about.home)}",
        "Creator": "Seasonbook",
        "Producer": None,
    }
    with style.look():
        figure.savefig(path, format="pdf", metadata={**facts, "CreationDate": None})
    return Path(path)


def card_figure(
    tables, *, portable: bool = False, hours: pd.DataFrame | None = None, zone: str = ""
) -> Figure:
    """The card as a figure.

    Parameters
    ----------
    tables : analysis.tables.Tables
        A finished review; every number in the words of the card is one of its key numbers, and of the
        home locator four characters are printed.
    portable : bool
        Adds the cautions for a trip.
    hours : DataFrame, optional
        Chances by month and civil hour, `plan.localtime.hour_by_month` of every series, one below the
        other; those of the review if none are given.
    zone : str, optional
        Name of the time zone of `hours`; that of the review if none is given.
    """
    numbers, zone = tables.key_numbers, zone or tables.about.zone
    hours = tables.hours if hours is None else hours
    with style.look():
        figure = Figure(figsize=(A4_MM[0] / 25.4, A4_MM[1] / 25.4))
        shown = _shown(numbers)
        _head(figure, numbers, tables.about, portable=portable)
        if shown:
            maps(figure, numbers, {key: hours_panel(key, hours) for key in shown[:MAPS]}, zone=zone)
            calendar(figure, tables, shown)
        else:
            no_chance(figure, numbers)
        _columns(figure, numbers, shown[:ROWS], portable=portable)
    return figure


def _shown(numbers: dict) -> list[str]:
    """Keys of the series on the card: those to write about, then any other that may be stated."""
    main = main_series(numbers)
    return main + [key for key in stated_series(numbers) if key not in main]


def _head(figure: Figure, numbers: dict, about, *, portable: bool) -> None:
    what = "Portable card" if portable else "Shack card"
    where = numbers["place"]["text"] if portable and "place" in numbers else words.square(about.home)
    write(figure, f"{what} for {where}", left=EDGE_MM, top=9, size=17, weight="bold")
    bands = upper(numbers["bands"]["text"] or "no VHF band")
    until = f"data up to {words.date(about.data_until)}" if about.data_until else "no dated report"
    reports = f"{numbers['reports']['text']} of {numbers['stations']['text']}"
    write(figure, f"{bands}; {until}; {reports}.", left=EDGE_MM, top=18.5, size=9, color=style.GREY)


def _columns(figure: Figure, numbers: dict, keys: list[str], *, portable: bool) -> None:
    """The words, in two columns; where no chance is drawn they begin higher up."""
    top = COLUMNS_TOP_MM if keys else WORDS_TOP_MM
    left = [
        ("Best hours", _best_hours(numbers, keys)),
        (_windows_head(numbers), _windows(numbers, keys)),
        ("First signs", _signs(numbers)),
    ]
    headings = ("Beam headings", _headings(numbers, keys or _caught(numbers)))
    right = [
        headings,
        ("Bands to watch", _bands(numbers)),
        ("How sure this is", _evidence(numbers, keys)),
        ("To remember", _best(numbers)),
    ]
    if portable:  # the cautions stand first, so that nothing ever crowds them out
        there = _place(numbers) if "place" in numbers else headings
        right = [("Before you go", list(CAUTIONS)), there, *right[2:3], right[1]]
    if not any(lines for _, lines in left):
        left, right = right[::2], right[1::2]
    for sections, x in ((left, EDGE_MM), (right, EDGE_MM + COLUMN_MM + 6)):
        _flow(figure, [section for section in sections if section[1]], left=x, top=top)


def _flow(figure: Figure, sections: list[tuple[str, list[str]]], *, left: float, top: float) -> None:
    """Sections below each other; lines that would run off the page are left out, none is cut in the middle."""
    for heading, lines in sections:
        wrapped = [
            told(f"• {line}", room_mm=COLUMN_MM, size=WORDS_PT).replace("\n", "\n   ") for line in lines
        ]
        room = int((BOTTOM_MM - top - 6) / LINE_MM)
        while (rows := sum(1 + text.count("\n") for text in wrapped)) > room:
            wrapped.pop()
        if not wrapped:
            continue
        write(figure, heading, left=left, top=top, size=11, weight="bold")
        write(figure, "\n".join(wrapped), left=left, top=top + 5.5, size=WORDS_PT)
        top += 9.5 + rows * LINE_MM


def _place(numbers: dict) -> tuple[str, list[str]]:
    """What is known of the place to go to; hours and dates beside it are those of home."""
    lines = [one["text"] for name, one in numbers.items() if re.fullmatch(r"place_\d+", name)]
    home = f"Hours and windows are those of {numbers['home']['text']}, as the nearest that is known"
    return f"The place: {numbers['place']['text']}", [*lines, home]


def _best_hours(numbers: dict, keys: list[str]) -> list[str]:
    return [
        f"{upper(numbers[f'{key}_name']['text'])}: {numbers[f'{key}_clock']['text']}; "
        f"at best {numbers[f'{key}_clock_chance']['text']} of half-hours open"
        for key in keys
        if f"{key}_clock" in numbers
    ]


def _windows_head(numbers: dict) -> str:
    """The year of the windows, which all series share."""
    years = [one["text"] for name, one in numbers.items() if name.endswith("_window_year")]
    return f"Windows in {years[0]}, by first day" if years else ""


def _windows(numbers: dict, keys: list[str]) -> list[str]:
    found = []
    for key in (f"{key}_window" for key in keys if f"{key}_window_near" in numbers):
        text = {
            what: numbers[f"{key}_{what}"]["text"] for what in ("name", "days", "at_least", "chance", "near")
        }
        found.append(
            f"{upper(text['name'])}: {text['near']}; "
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
    """What came before voice and by how much more than chance, one line for each band and mechanism."""
    found: dict[str, list[str]] = {}
    for key in leading_signs(numbers):
        sign, lead = (numbers[f"{key}_{what}"]["text"] for what in ("name", "lead"))
        found.setdefault(upper(numbers[f"{key}_series"]["text"]), []).append(f"{sign} {lead}")
    led = [f"{series}: {words.listed(signs)} before voice beyond chance" for series, signs in found.items()]
    return [_listen(numbers, place) for place in range(1, 1 + _most_signs(numbers, led))] + led


def _most_signs(numbers: dict, led: list[str]) -> int:
    """How many signs to listen for have room below the leads."""
    return min(int(numbers.get("listen", {}).get("value") or 0), MOST_SIGNS - len(led))


def _listen(numbers: dict, place: int) -> str:
    name, target, share, chance = (
        numbers[f"listen_{place}_{what}"]["text"] for what in ("name", "target", "share", "chance")
    )
    return f"After {name}: {target} in {share} of cases (by chance {chance})"


def _bands(numbers: dict) -> list[str]:
    """Each band with what the latest season brought on it and how far it has ever reached."""
    found = []
    for band in (name.removesuffix("_band") for name in numbers if name.endswith("_band")):
        keys = [
            name.removesuffix("_opening_days_latest")
            for name in numbers
            if name.endswith("_opening_days_latest")  # which a mechanism without a series, such as F2, lacks
        ]
        days = {key: numbers[f"{key}_opening_days_latest"] for key in keys if key.split("_")[0] == band}
        brought = [
            f"{words.MECHANISMS[key.split('_')[1].upper()]} on {one['text']}"
            for key, one in days.items()
            if one["value"]
        ]
        far = numbers.get(f"{band}_longest", {}).get("text", "")
        told = [f"in {numbers['season_latest']['text']} {words.listed(brought)}"] if brought else []
        told += [f"farthest yet {far}"] if far else []
        found.append(f"{numbers[f'{band}_band']['text']}: {'; '.join(told) or 'nothing confirmed'}")
    return found


def _evidence(numbers: dict, keys: list[str]) -> list[str]:
    tiers = {numbers[f"{key}_name"]["tier"] for key in keys or all_series(numbers)} or {"C"}
    found = [words.TIERS[tier] for tier in sorted(tiers) if tier in words.TIERS]
    provisional = [
        numbers[f"{key}_name"]["text"] for key in keys if numbers[f"{key}_name"]["verdict"] == "provisional"
    ]
    if provisional:
        found.append(f"Provisional: {words.listed(provisional)}")
    return [*found, RANGES] if keys else found

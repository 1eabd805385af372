"""How numbers, dates and trade terms are written in every text of ours."""

from __future__ import annotations

import re

import numpy as np
import pandas as pd

MECHANISMS = {
    "ES": "sporadic E",
    "TR": "tropo",
    "MS": "meteor scatter",
    "AS": "aircraft scatter",
    "AUR": "aurora",
    "F2": "F2",
    "TEP": "transequatorial propagation",
    "LOS": "local paths",
    "undetermined": "undetermined",
}
"""The open standard's propagation codes in an operator's words."""

SCOPES = {"here": "here", "neighbours": "by our own ears", "region": "in the region"}
"""For whom a number holds: what home could have used, what home and its neighbours noticed, anywhere."""

PATHS = {"all": "", "land": " over land", "mixed": " over mixed paths", "sea": " over sea"}
TIERS = {
    "A": "A, monitored: always-on receivers were listening, so chances may be stated",
    "B": "B, opportunistic: listeners are known but came and went, so chances are indicative only",
    "C": "C, contacts only: nobody knows who was listening, so no chance can be stated",
}
SUN_PHASES = {
    0.0: "in the middle of the night",
    3.0: "in the hours before dawn",
    5.0: "shortly before sunrise",
    6.0: "around sunrise",
    7.0: "shortly after sunrise",
    9.0: "in the morning",
    12.0: "around noon",
    15.0: "in mid-afternoon",
    17.0: "shortly before sunset",
    18.0: "around sunset",
    19.0: "shortly after sunset",
    21.0: "in the evening",
    24.0: "in the middle of the night",
}
UNITS = r"(?<=\d) (?=%|k?m\b|cm\b|days?\b|hours\b|minutes\b|UTC\b|h\b|to \d)|(?<=\d to) (?=\d)"
COMMON_YEAR = 2001  # season days are named in a year of 365 days


def band(name: str) -> str:
    """Name of a band with its unit apart: `6m` becomes `6 m`, `70cm` becomes `70 cm`, FM the FM band."""
    if name == "FM":
        return "the FM band"
    digits = name.rstrip("cmkMHz")
    return f"{digits} {name[len(digits) :]}" if digits and digits != name else name


def series(*, band_name: str, mechanism: str, path_type: str = "all") -> str:
    """A series in words: `tropo over sea on 2 m`."""
    return f"{MECHANISMS.get(mechanism, mechanism)}{PATHS.get(path_type, '')} on {band(band_name)}"


def listed(items, *, last: str = "and") -> str:
    """Items joined the way a sentence does it: `6 m, 4 m and 2 m`."""
    items = list(items)
    return f" {last} ".join([", ".join(items[:-1]), items[-1]]) if len(items) > 1 else "".join(items)


def count(number: float) -> str:
    """A whole number with a comma at each thousand."""
    return f"{number:,.0f}"


def quantity(number: float) -> str:
    """A number with two digits that count, without an exponent."""
    return count(number) if abs(number) >= 100 else f"{number:.2g}"


def counted(number: float, noun: str) -> str:
    """A whole number with its noun: `1 station`, `3 stations`."""
    return f"{count(number)} {noun}{'' if round(number) == 1 else 's'}"


def percent(share: float) -> str:
    """A share as a percentage, no finer than it can be read: `34 %`, `0.4 %`."""
    points = 100 * float(share)
    if 99 < points < 100:
        return "more than 99 %"
    if 0 < points < 0.1:
        return "less than 0.1 %"
    # One decimal would promise too much once the figure has two digits of its own.
    return f"{points:.1f} %" if 0 < points < 1 else f"{points:.0f} %"


def percents(*, low: float, high: float) -> str:
    """Two shares as the ends of a range: `8 to 18 %`."""
    return f"{percent(low).removesuffix(' %')} to {percent(high)}"


def day(when) -> str:
    """Day and month: `21 June`."""
    stamp = pd.Timestamp(when)
    return f"{stamp.day} {stamp.month_name()}"


def of_year(number: float) -> pd.Timestamp:
    """A day of a common year, which may lie in the year before or after, by its number from 1 January."""
    return pd.Timestamp(COMMON_YEAR, 1, 1) + pd.Timedelta(days=round(number) - 1)


def part_of_month(when) -> str:
    """`early June`, `mid-June` or `late June`: as fine as a season's peak is ever known."""
    stamp = pd.Timestamp(when)
    part = "early " if stamp.day <= 10 else "mid-" if stamp.day <= 20 else "late "
    return part + stamp.month_name()


def season(year: int, *, lat: float) -> str:
    """A summer's season by its year, like 2024; south of the equator, where it runs across New Year, like 2024/25."""
    return f"{year}/{(year + 1) % 100:02d}" if lat < 0 else str(year)


def date(when) -> str:
    """Day, month and year: `21 June 2025`."""
    return f"{day(when)} {pd.Timestamp(when).year}"


def clock(hour: float) -> str:
    """An hour of the day to the nearest half hour, `10:30`; a finer one was never measured."""
    halves = int(np.floor(2 * float(hour) + 0.5)) % 48
    return f"{halves // 2:02d}:{30 * (halves % 2):02d}"


def sun_phase(hour: float) -> str:
    """A sun-phase hour (sunrise 6, noon 12, sunset 18) in words, because it is no clock time."""
    return SUN_PHASES[min(SUN_PHASES, key=lambda phase: abs(phase - float(hour) % 24))]


def span(low: str, high: str) -> str:
    """Two ends in words; one word where they read the same."""
    return f"about {low}" if low == high else f"between {low} and {high}"


def run_of_days(first, last) -> str:
    """Dates of a run: `14 to 23 June`, `28 June to 7 July`."""
    first, last = pd.Timestamp(first), pd.Timestamp(last)
    if first == last:
        return day(first)
    return f"{first.day if first.month == last.month else day(first)} to {day(last)}"


def kept_together(text: str) -> str:
    """Text whose numbers stay beside their units and ranges in one piece when lines are broken."""
    return re.sub(UNITS, "\u00a0", text)


def between_days(first, last) -> str:
    """Dates of a run as a sentence names them: `between 14 and 23 June`, `on 14 June`."""
    run = run_of_days(first, last)
    return f"between {run.replace(' to ', ' and ')}" if " to " in run else f"on {run}"


def square(locator: str) -> str:
    """The first four characters of a locator, which name no house."""
    return str(locator or "").strip().upper()[:4]


def wavelength_m(name: str) -> float:
    """Wavelength that a band is named after, in metres; NaN for a name that holds none."""
    if name == "FM":
        return 3.0  # 98 MHz
    for unit, metres in (("mm", 0.001), ("cm", 0.01), ("m", 1.0)):
        digits = name.removesuffix(unit)
        if digits != name:
            return float(digits) * metres if digits.replace(".", "", 1).isdigit() else float("nan")
    return float("nan")


def is_vhf(name: str) -> bool:
    """Whether a band lies above 30 MHz and is one to be active on (others are not this review's business)."""
    return wavelength_m(name) < 10 and name != "FM"


def bands(names) -> list[str]:
    """Bands from the longest wave to the shortest."""
    return sorted(map(str, names), key=lambda name: (-wavelength_m(name), name))

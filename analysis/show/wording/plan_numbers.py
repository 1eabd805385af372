"""Key numbers of one operator's plan: what replaces the review's on the card and on the plan's page."""

from __future__ import annotations

import re
from typing import Any

import pandas as pd

from analysis.show.wording import words
from analysis.show.wording.clock import clock_numbers
from analysis.show.wording.key_chances import window_numbers
from analysis.show.wording.number import number
from analysis.show.wording.plan_words import chosen_place, place_lines

REPLACED = re.compile(
    "_window|_best_hour|_clock"
)  # what the plan says anew, for the hours and dates asked for


def plan_numbers(
    numbers: dict[str, dict[str, Any]],
    *,
    windows: pd.DataFrame,
    hours: pd.DataFrame,
    zone: str,
    places: pd.DataFrame | None = None,
) -> dict[str, dict[str, Any]]:
    """The review's numbers of the bands planned, with best hours by the clock and the plan's windows.

    Parameters
    ----------
    numbers : dict
        Key numbers of the review.
    windows, hours : DataFrame
        Of the plan: `choice.plan_windows` and `localtime.hour_by_month`.
    zone : str
        Name of the time zone of `hours`.
    places : DataFrame, optional
        As `places.compare_places` returns it; the place to go to becomes `place`, what is known of it `place_1` and so on.
    """
    planned = set(hours["band"])
    bands = {name.removesuffix("_band") for name in numbers if name.endswith("_band")} | planned
    others = tuple(f"{band}_" for band in bands - planned)
    kept = {
        name: one
        for name, one in numbers.items()
        if not name.startswith(others) and not REPLACED.search(name)
    }
    told = clock_numbers(hours, zone=zone) | window_numbers(whole_series(windows))
    return kept | told | ({} if places is None or places.empty else place_numbers(places))


def whole_series(windows: pd.DataFrame) -> pd.DataFrame:
    """Windows of single series: neither a quadrant of one nor several together."""
    return windows[windows["direction"].isin(list(words.PATHS))]


def place_numbers(places: pd.DataFrame) -> dict[str, dict[str, Any]]:
    """The place to go to, of which four characters are printed, and what is known of it, line by line."""
    chosen = chosen_place(places)
    lines = enumerate(place_lines(places, chosen), start=1)
    return {"place": number(text=words.square(chosen), unit="locator")} | {
        f"place_{k}": number(text=line, unit="place") for k, line in lines
    }

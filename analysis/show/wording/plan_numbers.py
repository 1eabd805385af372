"""Key numbers of one operator's plan: what replaces the review's on the card and on the plan's page."""

from __future__ import annotations

import re
from typing import Any

import pandas as pd

from analysis.show.wording import words
from analysis.show.wording.clock import clock_numbers
from analysis.show.wording.key_chances import window_numbers

REPLACED = re.compile(
    "_window|_best_hour|_clock"
)  # what the plan says anew, for the hours and dates asked for


def plan_numbers(
    numbers: dict[str, dict[str, Any]], *, windows: pd.DataFrame, hours: pd.DataFrame, zone: str
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
    """
    planned = set(hours["band"])
    bands = {name.removesuffix("_band") for name in numbers if name.endswith("_band")} | planned
    others = tuple(f"{band}_" for band in bands - planned)
    kept = {
        name: one
        for name, one in numbers.items()
        if not name.startswith(others) and not REPLACED.search(name)
    }
    return kept | clock_numbers(hours, zone=zone) | window_numbers(whole_series(windows))


def whole_series(windows: pd.DataFrame) -> pd.DataFrame:
    """Windows of single series: neither a quadrant of one nor several together."""
    return windows[windows["direction"].isin(list(words.PATHS))]

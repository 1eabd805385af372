"""Key numbers of one operator's plan: what replaces the review's on the card and on the plan's page."""

from __future__ import annotations

from typing import Any

import pandas as pd

from analysis.show.wording import words
from analysis.show.wording.key_chances import window_numbers
from analysis.show.wording.number import chance_text, may_state, number, series_key

SERIES = ["band", "mechanism", "path_type"]


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
        if not name.startswith(others) and not _of_a_window(name) and not _of_an_hour(name)
    }
    return kept | hour_numbers(hours, zone=zone) | window_numbers(whole_series(windows))


def whole_series(windows: pd.DataFrame) -> pd.DataFrame:
    """Windows of single series: neither a quadrant of one nor several together."""
    return windows[windows["direction"].isin(list(words.PATHS))]


def hour_numbers(hours: pd.DataFrame, *, zone: str) -> dict[str, dict[str, Any]]:
    """The best hour of the year of each series by the local clock, and the chance in it."""
    found = {}
    for _, rows in hours.groupby(SERIES, observed=True, sort=False):
        drawn = rows[rows["chance"].notna()]
        if drawn.empty or not may_state(rows.iloc[0]):
            continue
        best = drawn.iloc[int(drawn["chance"].argmax())]
        key = series_key(band=best["band"], mechanism=best["mechanism"], path_type=best["path_type"])
        about, n = {"tier": best["tier"], "verdict": best["verdict"]}, best["n_monitored"]
        chance = chance_text(best["chance"], low=best["low"], high=best["high"], tier=best["tier"])
        ends = {"low": best["low"], "high": best["high"]}
        text = hour_text(best, zone=zone)
        found[f"{key}_best_hour"] = number(best["hour"], text=text, unit="civil hour", n=n) | about
        found[f"{key}_best_hour_chance"] = (
            number(best["chance"], text=chance, unit="chance", n=n, **ends) | about
        )
    return found


def hour_text(row, *, zone: str) -> str:
    """An hour of the clock and its month: `13 to 14 h in June (Europe/Madrid)`."""
    hour = int(row["hour"])
    month = pd.Timestamp(words.COMMON_YEAR, int(row["month"]), 1).month_name()
    return f"{hour} to {hour + 1} h in {month} ({zone})"


def _of_a_window(name: str) -> bool:
    return "_window" in name


def _of_an_hour(name: str) -> bool:
    return "_best_hour" in name

"""Best hours by the clock: the runs of good hours of a series' best month, in local time and in UTC."""

from __future__ import annotations

from typing import Any

import pandas as pd

from analysis.plan.localtime import alarms
from analysis.show.wording import words
from analysis.show.wording.number import chance_text, may_state, number, series_key

SERIES = ["band", "mechanism", "path_type"]
MOST_RUNS = 2  # a morning and an evening


def clock_numbers(hours: pd.DataFrame, *, zone: str) -> dict[str, dict[str, Any]]:
    """For each series the best hours of its best month by the clock, and the chance in the best of them.

    Parameters
    ----------
    hours : DataFrame
        `localtime.hour_by_month` of every series, one below the other.
    zone : str
        IANA name of the zone of `hours`.
    """
    found = {"zone": number(text=zone, unit="zone")}
    for _, rows in hours.groupby(SERIES, observed=True, sort=False):
        drawn = rows[rows["chance"].notna()]
        if drawn.empty or not may_state(rows.iloc[0]):
            continue
        best = drawn.iloc[int(drawn["chance"].argmax())]
        month = int(best["month"])
        runs = (
            alarms(drawn[drawn["month"] == month], worth=0.0)
            .nlargest(MOST_RUNS, "chance")
            .sort_values("start")
        )
        key = series_key(band=best["band"], mechanism=best["mechanism"], path_type=best["path_type"])
        about, n = {"tier": best["tier"], "verdict": best["verdict"]}, best["n_monitored"]
        ends = {"low": best["low"], "high": best["high"]}
        chance = chance_text(best["chance"], tier=best["tier"], **ends)
        told = _told(runs, month=month, zone=zone)
        found[f"{key}_clock"] = number(text=told, unit="civil hours", n=n) | about
        found[f"{key}_clock_chance"] = number(best["chance"], text=chance, unit="chance", n=n, **ends) | about
    return found


def _told(runs: pd.DataFrame, *, month: int, zone: str) -> str:
    spans = [(int(run.start), int(run.end)) for run in runs.itertuples()]  # type: ignore[arg-type]
    name = pd.Timestamp(words.COMMON_YEAR, month, 1).month_name()
    if zone == "UTC":
        return f"{_hours(spans, 0)} UTC in {name}"
    # Summer time as in the middle of the month; zones with half hours are told to the hour below.
    ahead = pd.Timestamp(words.COMMON_YEAR, month, 15, 12, tz=zone).utcoffset()
    east = 0 if ahead is None else ahead // pd.Timedelta(hours=1)
    return f"{_hours(spans, 0)} in {name} ({_hours(spans, -int(east))} UTC)"


def _hours(spans: list[tuple[int, int]], shift: int) -> str:
    if spans == [(0, 24)]:
        return "at any hour"
    return words.listed(f"{(start + shift) % 24} to {(end + shift) % 24 or 24} h" for start, end in spans)

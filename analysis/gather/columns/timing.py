"""Which columns of a table hold its dates and times of day, and what must be asked about them."""

from __future__ import annotations

import pandas as pd

from analysis.gather.cells import kinds, times
from analysis.gather.columns import headers
from analysis.gather.columns.guesses import Columns, columns_of, pool_of, settle


def tell_hours(found: Columns) -> bool:
    """Whether columns of starts and ends are hours of listening; contacts have starts and ends too."""
    have = set(found.meaning.values())
    return (
        {"start", "end"} <= have
        and not have & {"mode", "freq", "snr_db"}
        and not {"tx_call", "rx_call"} <= have
    )


def find_times(found: Columns, share: dict[str, dict[str, float]], sample: pd.DataFrame) -> None:
    """Settle what is date, time of day or both, whatever the columns are called; UTC before local time."""
    if tell_hours(found):
        return
    named = columns_of(found, "time", "date", "clock", "start") + columns_of(found, "end")
    free = [column for column in share if column not in found.meaning]
    for column in named:
        found.meaning.pop(column)
    usable = [column for column in named + free if not _is_frequency(share[column])]
    in_utc = [column for column in usable if not headers.is_local(column)]
    if not (
        _moment_column(found, share, in_utc, named=named)
        or _day_and_clock(found, share, sample, in_utc, named=named)
    ):
        _ = _moment_column(found, share, usable, named=named) or _day_and_clock(
            found, share, sample, usable, named=named
        )


def _moment_column(found: Columns, share, columns: list[str], *, named: list[str]) -> bool:
    """Find the column that holds dates with times of day, or two of them that are hours of listening."""
    least = 0.5 if named else kinds.ENOUGH
    whole = [column for column in columns if share[column].get("moment", 0) >= least]
    if len(whole) == 2 and not named and not pool_of(found, share, "locator", "locator", least=kinds.ENOUGH):
        for column, meaning in zip(whole, ("start", "end"), strict=True):
            settle(found, column, meaning, 0.85, "two columns of times and no locators")
    elif whole:
        settle(found, whole[0], "time", 0.98, "dates with times of day")
    return bool(whole)


def _day_and_clock(
    found: Columns, share, sample: pd.DataFrame, columns: list[str], *, named: list[str]
) -> bool:
    """Find the columns of dates and of times of day; True if there are both."""
    for meaning in ("date", "clock"):
        for column in columns_of(found, meaning):
            found.meaning.pop(column)
    days = [column for column in columns if share[column].get("date", 0) >= 0.5]
    days = sorted(days, key=lambda c: (c not in named, sample[c].nunique()))
    if days:
        settle(found, days[0], "date", 0.97, "dates")
    clocks = [
        column
        for column in columns
        if column not in days[:1]
        and (
            share[column].get("clock", 0) >= 0.5
            or (column in named and share[column].get("pointed", 0) >= 0.5)
        )
    ]
    with_colon = {column: sample[column].str.contains(":").any() for column in clocks}
    clocks = sorted(clocks, key=lambda c: (c not in named, not with_colon[c]))
    if clocks and (clocks[0] in named or days or with_colon[clocks[0]]):
        settle(found, clocks[0], "clock", 0.96, "times of day")
    return bool(days and clocks)


def zone_question(found: Columns) -> str:
    for column in columns_of(found, "time", "clock", "start"):
        if headers.is_local(column):
            return f"how far the local time of column {column!r} is from UTC (zone)"
    return ""


def order_question(found: Columns, sample: pd.DataFrame, cells: pd.DataFrame) -> str:
    for column in columns_of(found, "time", "date", "start"):
        if times.unsettled(sample[column]) and times.unsettled(cells[column]):
            return f"whether day or month comes first in the dates of column {column!r} (date_order)"
    return ""


def _is_frequency(share: dict[str, float]) -> bool:
    """Ten-digit frequencies in Hz look like seconds since 1970, 23 cm being the only band that does."""
    return share.get("freq Hz", 0.0) >= 0.99 and share.get("number", 0.0) >= 0.99

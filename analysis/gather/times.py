"""Dates and times of day as people write them, always meant as UTC.

An offset that is written behind a time is obeyed; none is ever guessed. A date whose day and month
could be exchanged is read only if the same column settles the order.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.gather import values

UTC_TIME = pd.DatetimeTZDtype("us", "UTC")
MONTHS = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]
EPOCHS = {r"\d{9,10}(?:\.\d+)?": 1.0, r"\d{12,13}": 1e3, r"\d{15,16}": 1e6}  # since 1970: s, ms, us
SPLIT = (
    r"^(?P<date>\d{4}-?\d\d-?\d\d|[\w./ -]*?\d{2,4}|\d{6})(?:[T,_;]|\s)+(?P<clock>\d[\d:.]*)\s*(?P<zone>.*)$"
)
PACKED = r"^(?P<date>\d{8})(?P<clock>\d{4}(?:\d\d)?)(?P<zone>)$"
SLASHED = r"^(\d{1,2})[-/. ](\d{1,2})[-/. ](?:\d{4}|\d\d)(?!\d)"
CLOCK = r"^(\d{1,2})[:.h]?(\d{2})(?:[:.]?(\d{2})(?:[.,](\d+))?)?\s*(?:z|utc|gmt|u)?$"


def moments(text: pd.Series, *, day_first: bool | None = None) -> pd.Series:
    """Date and time written together, or seconds, ms or us since 1970, as UTC times; else NaT.

    `day_first` says how to read 03/04/2024; None lets the column settle it.
    """
    return values.over_unique(text, lambda unique: _moments(unique, day_first))


def dates(text: pd.Series, *, day_first: bool | None = None) -> pd.Series:
    """Dates as UTC midnights; else NaT. `day_first` as in `moments`."""
    return values.over_unique(text, lambda unique: _dates(unique, day_first))


def clocks(text: pd.Series) -> pd.Series:
    """Times of day (1802, 18:02, 180215, 18:02:15Z ...) as time since midnight; else NaT."""
    return values.over_unique(text, _clocks)


def _moments(text: pd.Series, day_first: bool | None) -> pd.Series:
    tidy = text.str.strip()
    full = (
        (tidy.str.len() >= 16) & tidy.str.slice(4, 5).eq("-") & ~tidy.str.contains(r"[A-Za-z]{2}", regex=True)
    )
    result = pd.to_datetime(tidy.where(full), format="ISO8601", utc=True, errors="coerce").astype(UTC_TIME)
    todo = result.isna() & tidy.ne("")
    if todo.any():
        result = result.where(~todo, _moments_by_hand(tidy.where(todo, ""), day_first))
    return result


def _moments_by_hand(text: pd.Series, day_first: bool | None) -> pd.Series:
    result = pd.Series(pd.NaT, index=text.index, dtype=UTC_TIME)
    packed = text.str.extract(PACKED)
    parts = packed.where(packed["date"].notna(), text.str.extract(SPLIT)).fillna("").astype("str")
    offset = _offsets(parts["zone"])
    result = (_dates(parts["date"], day_first) + _clocks(parts["clock"]) - offset).astype(UTC_TIME)
    for pattern, per_second in EPOCHS.items():
        epoch = text.str.fullmatch(pattern) & result.isna()
        seconds = pd.to_numeric(text.where(epoch), errors="coerce") / per_second
        stamp = pd.to_datetime((seconds * 1e6).round(), unit="us", utc=True, errors="coerce").astype(UTC_TIME)
        result = result.where(~epoch, stamp)
    return result


def _offsets(zone: pd.Series) -> pd.Series:
    """Offset from UTC that is written behind a time; a zone known only by name gives NaT."""
    tidy = zone.str.strip().str.upper()
    sign = tidy.str.extract(r"^(?:UTC|GMT)?([+-])(\d\d):?(\d\d)?$")
    minutes = pd.to_numeric(sign[1]) * 60 + pd.to_numeric(sign[2]).fillna(0)
    minutes = minutes * sign[0].map({"+": 1, "-": -1})
    minutes = minutes.where(~tidy.isin(["", "Z", "UTC", "GMT", "U", "UT"]), 0)
    return pd.to_timedelta(minutes, unit="min").astype("timedelta64[us]")


def _clocks(text: pd.Series) -> pd.Series:
    tidy = text.str.strip().str.lower()
    bare = tidy.str.fullmatch(r"\d{3}|\d{5}")
    tidy = ("0" + tidy).where(bare, tidy)  # a spreadsheet dropped the leading zero
    parts = tidy.str.extract(CLOCK)
    hour, minute, second = (pd.to_numeric(parts[i]) for i in range(3))
    second = second.fillna(0) + pd.to_numeric("0." + parts[3].fillna("0"))
    right = (hour < 24) & (minute < 60) & (second < 61)
    return pd.to_timedelta((hour * 3600 + minute * 60 + second).where(right), unit="s").astype(
        "timedelta64[us]"
    )


def _dates(text: pd.Series, day_first: bool | None) -> pd.Series:
    tidy = text.str.strip().str.lower().str.replace(r"[,\s]+$", "", regex=True)
    year_first = tidy.str.extract(r"^(\d{4})[-/. ](\d{1,2})[-/. ](\d{1,2})$")
    packed = tidy.str.extract(r"^(\d{4})(\d\d)(\d\d)$")
    short = tidy.str.extract(r"^(\d\d)(\d\d)(\d\d)$")
    last = tidy.str.extract(r"^(\d{1,2})[-/. ](\d{1,2})[-/. ](\d{4}|\d\d)$")
    named = tidy.str.extract(r"^(\d{1,2})[-/. ]*([a-z]{3})[a-z]*[-/., ]*(\d{4}|\d\d)$")
    named[1] = named[1].map({name: str(i + 1) for i, name in enumerate(MONTHS)})
    order = day_order(tidy) if day_first is None else day_first
    day, month = (last[0], last[1]) if order else (last[1], last[0])
    if order is None:
        day = month = pd.Series(None, index=text.index, dtype="str")
    result = pd.Series(pd.NaT, index=text.index, dtype=UTC_TIME)
    for y, m, d in (
        (year_first[0], year_first[1], year_first[2]),
        (packed[0], packed[1], packed[2]),
        (short[0], short[1], short[2]),
        (last[2], month, day),
        (named[2], named[1], named[0]),
    ):
        result = result.fillna(_whole_date(year=y, month=m, day=d))
    return result


def day_order(text: pd.Series) -> bool | None:
    """Whether dates like 13/04/2024 put the day first; None if nothing in the column settles it.

    Dates with points are written day first wherever they are written.
    """
    parts = text.str.extract(SLASHED)
    first, second = pd.to_numeric(parts[0]), pd.to_numeric(parts[1])
    if (first > 12).any() != (second > 12).any():
        return bool((first > 12).any())
    return True if text[parts[0].notna()].str.contains(r"\d\.\d", regex=True).all() else None


def unsettled(text: pd.Series) -> bool:
    """Whether a column holds dates whose day and month could be exchanged, and nothing that settles it."""
    unique = pd.Series(text.astype("str").unique(), dtype="str").str.strip()
    return bool(unique.str.match(SLASHED).any()) and day_order(unique) is None


def _whole_date(*, year: pd.Series, month: pd.Series, day: pd.Series) -> pd.Series:
    full_year = pd.to_numeric(year)
    full_year = full_year.where(full_year >= 100, full_year + np.where(full_year < 70, 2000, 1900))
    parts = pd.DataFrame({"year": full_year, "month": pd.to_numeric(month), "day": pd.to_numeric(day)})
    return pd.to_datetime(parts, errors="coerce", utc=True).astype(UTC_TIME)

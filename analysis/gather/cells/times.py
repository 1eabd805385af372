"""Dates and times of day as people write them, always meant as UTC.

An offset that is written behind a time is obeyed; none is ever guessed. A date whose day and month
could be exchanged is read only if the same column settles the order.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np
import pandas as pd

from analysis.gather.cells import values

UTC_TIME = pd.DatetimeTZDtype("us", "UTC")
MONTHS = {  # the first letters of a month, without accents, in English, French, German and Spanish
    "jan": 1, "ene": 1, "feb": 2, "fev": 2, "mar": 3, "mrz": 3, "apr": 4, "avr": 4, "abr": 4, "may": 5, "mai": 5,
    "juin": 6, "jun": 6, "juil": 7, "jul": 7, "aug": 8, "aou": 8, "ago": 8, "sep": 9, "oct": 10, "okt": 10,
    "nov": 11, "dec": 12, "dez": 12, "dic": 12,
}  # fmt: skip
EPOCHS = {
    r"[0-9]{9,10}(?:\.[0-9]+)?": 1.0,
    r"[0-9]{12,13}": 1e3,
    r"[0-9]{15,16}": 1e6,
}  # since 1970: s, ms, us
SPLIT = (
    r"^(?P<date>[0-9]{4}-?[0-9][0-9]-?[0-9][0-9]|[\w., /-]*?[0-9]{2,4}|[0-9]{6})(?:[T,_;]|\s)+"
    r"(?P<clock>[0-9][0-9:.]*(?:[hH][0-9][0-9])?(?:\s*[aApP]\.?[mM]\.?)?)\s*(?P<zone>(?:[^0-9\s].*)?)$"
)
PACKED = r"^(?P<date>[0-9]{8})(?P<clock>[0-9]{4}(?:[0-9][0-9])?)(?P<zone>)$"
BETWEEN = r"(?:[-/ ]|\.\s?)"  # the parts of a date
YEAR_FIRST = rf"^(?P<y>[0-9]{{4}}){BETWEEN}(?P<m>[0-9]{{1,2}}){BETWEEN}(?P<d>[0-9]{{1,2}})$"
PACKED_DATE = r"^(?P<y>[0-9]{4})(?P<m>[0-9][0-9])(?P<d>[0-9][0-9])$"
SHORT_DATE = r"^(?P<y>[0-9][0-9])(?P<m>[0-9][0-9])(?P<d>[0-9][0-9])$"
WEEKDAY = r"^(?:[a-z]{2,10}[.,]*\s+)?"
MONTH = rf"(?P<m>{'|'.join(MONTHS)})[a-z]*\.?"
NAMED_MONTH = (
    WEEKDAY
    + rf"(?P<d>[0-9]{{1,2}})(?:st|nd|rd|th|er)?[-/. ]*(?:de )?{MONTH}[-/., ]*(?:de )?(?P<y>[0-9]{{4}}|[0-9][0-9])$"
)
MONTH_FIRST = WEEKDAY + rf"{MONTH}[-/. ]*(?P<d>[0-9]{{1,2}})(?:st|nd|rd|th)?[-/., ]+(?P<y>[0-9]{{4}})$"
SLASHED = rf"^(?P<first>[0-9]{{1,2}}){BETWEEN}(?P<second>[0-9]{{1,2}}){BETWEEN}(?P<y>[0-9]{{4}}|[0-9][0-9])$"
SLASHED_START = rf"^([0-9]{{1,2}}){BETWEEN}([0-9]{{1,2}}){BETWEEN}(?:[0-9]{{4}}|[0-9][0-9])(?![0-9:.h])"
OFFSET = r"([+-])([0-9][0-9]):?([0-9][0-9])"
CLOCK = r"^([0-9]{1,2})[:.h]?([0-9]{2})(?:[:.]?([0-9]{2})(?:[.,]([0-9]+))?)?\s*(?:([ap])\.?m\.?)?\s*(?:z|utc|gmt|u)?$"


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


def is_zone(name: str) -> bool:
    """Whether a name is UTC, an offset from it (+02:00) or a zone of the IANA database (Europe/Madrid)."""
    try:
        return bool(re.fullmatch(OFFSET, name)) or ZoneInfo(name) is not None
    except (ValueError, OSError, ZoneInfoNotFoundError):
        return False


def from_local(local: pd.Series, *, zone: str) -> pd.Series:
    """Local times in a zone as UTC; an hour that the clock strikes twice or never is NaT."""
    clock = local.dt.tz_localize(None)
    if offset := re.fullmatch(OFFSET, zone):
        hours, minutes = int(offset[2]), int(offset[3])
        clock -= (-1 if offset[1] == "-" else 1) * pd.Timedelta(hours=hours, minutes=minutes)
        return clock.dt.tz_localize("UTC")
    return clock.dt.tz_localize(zone, ambiguous="NaT", nonexistent="NaT").dt.tz_convert("UTC")


def _moments(text: pd.Series, day_first: bool | None) -> pd.Series:
    plain = _all_iso(text)
    if plain is not None:
        return plain
    tidy = text.str.strip()
    whole = tidy.where(tidy.str.len() >= len("2024-06-09 14:18"))  # a date alone would be taken for midnight
    result = pd.to_datetime(whole, format="ISO8601", utc=True, errors="coerce").astype(UTC_TIME)
    todo = result.isna() & tidy.ne("")
    if todo.any():  # of a long column mostly a few cells
        result[todo] = _moments_by_hand(tidy[todo], day_first)
    return result


def _all_iso(text: pd.Series) -> pd.Series | None:
    """A column that is ISO 8601 throughout, by the quickest way; None if a single cell is not."""
    import pyarrow as pa

    if text.empty or text.str.len().min() < len("2024-06-09 14:18"):
        return None
    for zone in (None, "UTC"):
        try:
            moments = pa.array(text, type=pa.string()).cast(pa.timestamp("us", tz=zone))
        except pa.ArrowInvalid:
            continue
        whole = pd.Series(moments.cast(pa.timestamp("us")).to_numpy(zero_copy_only=False), index=text.index)
        return whole.dt.tz_localize("UTC")
    return None


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
    sign = tidy.str.extract(r"^(?:UTC|GMT)?([+-])([0-9][0-9]):?([0-9][0-9])?$")
    minutes = pd.to_numeric(sign[1]) * 60 + pd.to_numeric(sign[2]).fillna(0)
    minutes = minutes * sign[0].map({"+": 1, "-": -1})
    minutes = minutes.where(~tidy.isin(["", "Z", "UTC", "GMT", "U", "UT"]), 0)
    return pd.to_timedelta(minutes, unit="min").astype("timedelta64[us]")


def _clocks(text: pd.Series) -> pd.Series:
    tidy = text.str.strip().str.lower()
    bare = tidy.str.fullmatch(r"[0-9]{3}|[0-9]{5}")
    tidy = ("0" + tidy).where(bare, tidy)  # a spreadsheet dropped the leading zero
    parts = tidy.str.extract(CLOCK)
    hour, minute, second = (pd.to_numeric(parts[i]) for i in range(3))
    second = second.fillna(0) + pd.to_numeric("0." + parts[3].fillna("0"))
    half = parts[4].map({"a": 0, "p": 12}).astype("float64")
    hour = hour.where(half.isna(), (hour % 12 + half).where(hour.between(1, 12)))
    right = (hour < 24) & (minute < 60) & (second < 61)
    return pd.to_timedelta((hour * 3600 + minute * 60 + second).where(right), unit="s").astype(
        "timedelta64[us]"
    )


def _dates(text: pd.Series, day_first: bool | None) -> pd.Series:
    tidy = text.str.strip().str.lower().str.replace(r"[,.\s]+$", "", regex=True)
    parts = tidy.str.extract(YEAR_FIRST)
    for pattern in (PACKED_DATE, SHORT_DATE):
        if parts["y"].isna().any():
            parts = parts.fillna(tidy.str.extract(pattern))
    if (parts["y"].isna() & tidy.str.contains("[a-z]{3}", regex=True)).any():
        plain = tidy.str.normalize("NFKD").str.replace("[\u0300-\u036f]", "", regex=True)
        for pattern in (NAMED_MONTH, MONTH_FIRST):
            parts = parts.fillna(plain.str.extract(pattern))
    last = tidy.str.extract(SLASHED)
    if last["y"].notna().any():
        order = day_order(tidy) if day_first is None else day_first
        if order is not None:
            first, second = ("d", "m") if order else ("m", "d")
            parts = parts.fillna(last.rename(columns={"first": first, "second": second}))
    month = parts["m"].replace({name: str(number) for name, number in MONTHS.items()})
    return _whole_dates(year=parts["y"], month=month, day=parts["d"])


def day_order(text: pd.Series) -> bool | None:
    """Whether dates like 13/04/2024 put the day first; None if nothing in the column settles it.

    Dates with points are written day first wherever they are written.
    """
    parts = text.str.extract(SLASHED_START)
    first, second = pd.to_numeric(parts[0]), pd.to_numeric(parts[1])
    if (first > 12).any() != (second > 12).any():
        return bool((first > 12).any())
    return True if text[parts[0].notna()].str.contains(r"[0-9]\.\s?[0-9]", regex=True).all() else None


def unsettled(text: pd.Series) -> bool:
    """Whether a column holds dates whose day and month could be exchanged, and nothing that settles it."""
    unique = pd.Series(text.astype("str").unique(), dtype="str").str.strip()
    return bool(unique.str.match(SLASHED_START).any()) and day_order(unique) is None


def either_order(function: Callable[..., pd.Series], text: pd.Series) -> pd.Series:
    """`moments` or `dates` of text that may put day or month first."""
    found = function(text, day_first=True)
    if text.str.match(SLASHED_START).any():
        found = found.fillna(function(text, day_first=False))
    return found


def _whole_dates(*, year: pd.Series, month: pd.Series, day: pd.Series) -> pd.Series:
    """Midnights from parts as text; two digits of a year are 1970 to 2069, an impossible day is NaT."""
    y, m, d = (pd.to_numeric(part).to_numpy(dtype="float64") for part in (year, month, day))
    y = np.where(y < 100, y + np.where(y < 70, 2000, 1900), y)
    right = (y >= 1) & (m >= 1) & (m <= 12) & (d >= 1) & (d <= 31)
    months = np.where(right, (y - 1970) * 12 + m - 1, 0).astype("int64").astype("datetime64[M]")
    days = months.astype("datetime64[D]") + np.where(right, d - 1, 0).astype("timedelta64[D]")
    right &= days.astype("datetime64[M]") == months
    days[~right] = np.datetime64("NaT", "D")
    return pd.Series(days.astype("datetime64[us]"), index=year.index).dt.tz_localize("UTC")

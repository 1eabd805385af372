"""What a life allows: dates, days of leave, weekdays, public holidays, school terms, hours at the radio."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from zoneinfo import ZoneInfo, available_timezones

import numpy as np
import pandas as pd

from analysis.gather.problems import InputError

EVERY_DAY = (0, 1, 2, 3, 4, 5, 6)  # definition
WEEKEND = (5, 6)  # definition: Saturday and Sunday
DAY_NAMES = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
LONGEST = 60  # days of leave in one window
ALL_DAY = (0.0, 24.0)  # definition
QUADRANTS = ("north", "east", "south", "west")  # of the compass, from home

Span = tuple[pd.Timestamp, pd.Timestamp]


@dataclass(frozen=True)
class Wishes:
    """What a window must fit.

    `length` days; `earliest` and `latest` dates it may touch; `weekdays` on which one can operate
    (0 Monday .. 6 Sunday; public holidays count as Sundays); spans it must lie `within` (school
    holidays) and spans to `avoid`, first and last date of each; `country` and `subdivision` (ISO 3166
    codes) of the public holidays; `hours` of the day in local civil time of `zone` (an IANA name), to
    the next day where the second is not after the first; `at_least` opening days that make a good
    window (None: as many as tell the windows apart); quadrants of the compass that dates are wanted
    `toward` (none: the whole series); the day on which the plan is made, `today` (None: the day after the
    last report).

    Examples
    --------
    >>> from analysis import Wishes
    >>> Wishes(length=7, hours=(18.0, 23.0), zone="Europe/Madrid").length
    7
    """

    length: int = 10
    earliest: pd.Timestamp | None = None
    latest: pd.Timestamp | None = None
    weekdays: tuple[int, ...] = EVERY_DAY
    within: tuple[Span, ...] = ()
    avoid: tuple[Span, ...] = ()
    country: str = ""
    subdivision: str = ""
    hours: tuple[float, float] = ALL_DAY
    zone: str = "UTC"
    at_least: int | None = None
    toward: tuple[str, ...] = ()
    today: pd.Timestamp | None = None


def parse_date(text: str) -> pd.Timestamp:
    """A date such as 2026-06-01.

    Raises
    ------
    InputError
        If it is none.
    """
    try:
        return pd.Timestamp(dt.datetime.strptime(text.strip(), "%Y-%m-%d"))
    except ValueError as error:
        raise InputError(f"{text[:20]!r} is no date; write it as 2026-06-01") from error


def parse_hours(text: str) -> tuple[float, float]:
    """Two times of day such as `18-23:30`, as hours.

    Raises
    ------
    InputError
        If they are none.
    """
    found = re.fullmatch(r"\s*(\d{1,2})(?::([0-5]\d))?\s*-\s*(\d{1,2})(?::([0-5]\d))?\s*", text)
    if not found:
        raise InputError(f"{text[:20]!r} are no hours; write them as 18:00-23:30")
    first, first_min, last, last_min = (int(part or 0) for part in found.groups())
    return first + first_min / 60, last + last_min / 60


def parse_weekdays(text: str) -> tuple[int, ...]:
    """Weekdays such as `sat,sun`; also `all`, `weekend` or `workdays`.

    Raises
    ------
    InputError
        If a word is no weekday.
    """
    groups = {"all": EVERY_DAY, "weekend": WEEKEND, "workdays": (0, 1, 2, 3, 4)}
    if text.strip().lower() in groups:
        return groups[text.strip().lower()]
    days = [word.strip().lower()[:3] for word in text.split(",")]
    if not set(days) <= set(DAY_NAMES):
        raise InputError(f"{text[:40]!r} are no weekdays; write them as sat,sun or weekend")
    return tuple(sorted({DAY_NAMES.index(day) for day in days}))


def check(wishes: Wishes) -> None:
    """Refuse wishes that contradict themselves or name what does not exist.

    Raises
    ------
    InputError
        One line: what was found, how to repair it.
    """
    if not 1 <= wishes.length <= LONGEST:
        raise InputError(f"a window of {wishes.length} days; give 1 to {LONGEST}")
    if wishes.earliest is not None and wishes.latest is not None and wishes.latest < wishes.earliest:
        raise InputError(
            f"the latest date {wishes.latest:%Y-%m-%d} is before the earliest {wishes.earliest:%Y-%m-%d}"
        )
    if unknown := [name for name in wishes.toward if name not in QUADRANTS]:
        raise InputError(f"toward {unknown[0]!r}: give {', '.join(QUADRANTS)}")
    if wishes.at_least is not None and not 1 <= wishes.at_least <= wishes.length:
        raise InputError(f"{wishes.at_least} opening days in {wishes.length}; give 1 to {wishes.length}")
    if not wishes.weekdays or not set(wishes.weekdays) <= set(EVERY_DAY):
        raise InputError(f"weekdays {wishes.weekdays}; give numbers from 0 (Monday) to 6 (Sunday)")
    if not all(0 <= hour <= 24 for hour in wishes.hours):
        raise InputError(f"hours {wishes.hours[0]:g} to {wishes.hours[1]:g}; give two hours from 0 to 24")
    for first, last in (*wishes.within, *wishes.avoid):
        if last < first:
            raise InputError(f"a span ends on {last:%Y-%m-%d}, before it starts on {first:%Y-%m-%d}")
    time_zone(wishes.zone)
    public_holidays([2025], country=wishes.country, subdivision=wishes.subdivision)


def time_zone(name: str) -> ZoneInfo:
    """A time zone by its IANA name, such as Europe/Madrid.

    Raises
    ------
    InputError
        If there is no such zone.
    """
    try:
        return ZoneInfo(name)
    except (KeyError, OSError, ValueError) as error:
        raise InputError(
            f"no time zone is called {name!r}; give an IANA name such as {_like(name)}"
        ) from error


def _like(name: str) -> str:
    """Zones whose names hold what was given or look like it, else one example."""
    zones = sorted(available_timezones())
    plain = {re.sub(r"\W|_", "", zone.rpartition("/")[2]).lower(): zone for zone in zones}
    wanted = re.sub(r"\W|_", "", name.rpartition("/")[2]).lower()
    inside = [zone for zone in zones if len(wanted) > 3 and wanted in re.sub(r"_", "", zone.lower())]
    alike = [plain[near] for near in get_close_matches(wanted, plain, n=2)]
    return " or ".join(list(dict.fromkeys([*inside, *alike]))[:3]) or "Europe/Madrid"


def public_holidays(years: Sequence[int], *, country: str, subdivision: str = "") -> pd.Series:
    """Names of the public holidays by date; empty without a country.

    Raises
    ------
    InputError
        If the country or subdivision is not known.
    """
    if not country:
        return pd.Series(dtype="str", index=pd.DatetimeIndex([]))
    import holidays

    try:
        found = holidays.country_holidays(country.upper(), subdiv=subdivision.upper() or None, years=years)
    except NotImplementedError as error:
        where = f"{country} {subdivision}".strip()
        raise InputError(
            f"no public holidays are known for {where!r}; give ISO codes such as ES or DE and BY"
        ) from error
    named = pd.Series(dict(found), dtype="str")
    return named.set_axis(pd.to_datetime(named.index)).sort_index()


def calendar(dates: pd.Series, wishes: Wishes) -> pd.DataFrame:
    """Each date of a season against the wishes.

    Parameters
    ----------
    dates : Series of datetime64
        Dates in a row, one per season day.
    wishes : Wishes

    Returns
    -------
    DataFrame
        `date`, `holiday` (name or empty), `usable` (one can operate), `leave` (a working day that a
        window would cost), `allowed` (a window may begin here), `leave_days` of that window.
    """
    table = pd.DataFrame({"date": dates.to_numpy()})
    years = sorted({int(year) for year in table["date"].dt.year})
    named = public_holidays(years, country=wishes.country, subdivision=wishes.subdivision)
    table["holiday"] = table["date"].map(dict(named)).astype("object").fillna("").astype("str")
    day = table["date"].dt.day_of_week.where(table["holiday"] == "", 6)
    table["usable"] = day.isin(wishes.weekdays)
    table["leave"] = ~day.isin(WEEKEND)
    barred = in_spans(table["date"], wishes.avoid)
    if wishes.earliest is not None:
        barred |= table["date"] < wishes.earliest
    if wishes.latest is not None:
        barred |= table["date"] > wishes.latest
    whole = np.zeros(len(table), bool)
    for span in wishes.within or ((table["date"].iloc[0], table["date"].iloc[-1]),):
        # Each span for itself: a window must not run from one school holiday into the next.
        whole |= _runs(in_spans(table["date"], (span,)) & ~barred, wishes.length) == wishes.length
    table["allowed"] = whole & (_runs(table["usable"], wishes.length) > 0)
    table["leave_days"] = _runs(table["leave"], wishes.length).astype("int64")
    return table


def in_hours(hour: pd.Series, hours: tuple[float, float]) -> pd.Series:
    """Mask of the times of day [h] from the first hour to the second, past midnight where that is not later."""
    return (hour - hours[0]) % 24 < ((hours[1] - hours[0]) % 24 or 24.0)


def in_spans(dates: pd.Series, spans: Sequence[Span]) -> pd.Series:
    """Mask of the dates that lie in one of the spans, both ends included."""
    mask = pd.Series(False, index=dates.index)
    for first, last in spans:
        mask |= dates.between(first, last)
    return mask


def _runs(mask: pd.Series, length: int) -> np.ndarray:
    """True days among each day and those that follow in a window; days past the end count as false."""
    padded = np.r_[mask.to_numpy(float), np.zeros(length - 1)]
    return np.convolve(padded, np.ones(length), mode="valid").round()

"""Openings and listening cut to the hours of the day in which somebody can sit down, by the local clock."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.find.days import Key, series_days
from analysis.fit.ahead.days import DaySeries, assess_days, model_days
from analysis.fit.assess import assess
from analysis.fit.estimate import Series
from analysis.gather.problems import InputError
from analysis.plan.constraints import ALL_DAY


def within_hours(openings: pd.DataFrame, *, hours: tuple[float, float], zone: str) -> pd.DataFrame:
    """The parts of openings that fall into an operator's hours, one row per opening and day.

    Parameters
    ----------
    openings : DataFrame
        `start end duration_min` and whatever else.
    hours : (float, float)
        First and last hour in local civil time; past midnight where the second is not after the first.
    zone : str
        IANA name. An hour that does not exist on the day the clocks go forward begins when they have;
        of an hour that comes twice, both are the operator's.

    Returns
    -------
    DataFrame
        The same columns; `duration_min` keeps its correction for sampling.
    """
    if hours == ALL_DAY or openings.empty:
        return openings
    openings = openings.reset_index(drop=True)
    first = openings["start"].dt.tz_convert(zone).dt.tz_localize(None).dt.normalize()
    last = openings["end"].dt.tz_convert(zone).dt.tz_localize(None).dt.normalize()
    n_days = (last - first).dt.days.to_numpy() + 2
    pieces = openings.loc[openings.index.repeat(n_days)].reset_index(drop=True)
    step = np.concatenate([np.arange(n) - 1 for n in n_days])
    day = first.repeat(n_days).reset_index(drop=True) + pd.to_timedelta(step, unit="D")
    opens, closes = _civil_span(day, hours, zone)
    spare = pd.to_timedelta(
        (pieces["duration_min"] - (pieces["end"] - pieces["start"]).dt.total_seconds() / 60) / 2, unit="min"
    )
    begins, ends = pieces["start"] - spare, pieces["end"] + spare
    lasted = ends.where(ends < closes, closes) - begins.where(begins > opens, opens)
    pieces["start"] = pieces["start"].where(pieces["start"] > opens, opens)
    pieces["end"] = pieces["end"].where(pieces["end"] < closes, closes)
    pieces["duration_min"] = lasted.dt.total_seconds() / 60
    return pieces[(pieces["end"] >= pieces["start"]) & (pieces["duration_min"] > 0)].reset_index(drop=True)


def days_in_hours(
    openings: pd.DataFrame,
    series: Series,
    *,
    hours: tuple[float, float],
    zone: str,
    scope: str = "",
    direction: str | None = None,
) -> DaySeries:
    """Opening days as someone sees them who sits down in these hours only.

    A day is an opening day if half an hour or more of an opening falls into the hours, and monitored if
    a quarter of the hours was listened to (`find.days.series_days`). Parameters as for `within_hours` and
    `ahead.days.day_series`; `scope` is that of the series where none is given.
    """
    if series.heard is None:
        raise InputError("the series have no days yet; give them through with_days first")
    length = (series.heard["end"] - series.heard["start"]).dt.total_seconds()
    heard = series.heard.assign(duration_min=length / 60)
    days = series_days(
        within_hours(openings, hours=hours, zone=zone),
        within_hours(heard, hours=hours, zone=zone),
        Key(scope=scope or series.scope, **series.keys()),
        of_day=((hours[1] - hours[0]) % 24 or 24.0) / 24,
        lon=series.lon,
        lat=series.lat,
    )
    days = model_days(days)
    verdict = assess_days(days, assess(series.cells, tier=series.tier))
    return DaySeries(series.band, series.mechanism, direction or series.path_type, days, verdict)


def _civil_span(day: pd.Series, hours: tuple[float, float], zone: str) -> tuple[pd.Series, pd.Series]:
    """UTC times at which the hours of each local day begin and end."""
    over = 24.0 if hours[1] <= hours[0] else 0.0
    spans = []
    for hour, first in ((hours[0], True), (hours[1] + over, False)):
        civil = day + pd.Timedelta(minutes=round(hour * 60))
        # Of an hour that comes twice, begin with the first (summer time) and end with the second.
        zoned = civil.dt.tz_localize(zone, nonexistent="shift_forward", ambiguous=np.full(len(day), first))
        spans.append(zoned.dt.tz_convert("UTC"))
    return spans[0], spans[1]

"""The season to plan for: its dates, how many seasons stand behind it, which parts of it were ever heard."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.fit.model.curves import GAP_DAYS
from analysis.fit.model.harmonics import SEASON_DAYS
from analysis.tag.sun import season_of

UNHEARD = "nobody listened at this time of year"


def season_dates(season: int, *, southern: bool) -> pd.Series:
    """Date of each season day (`SEASON_DAYS`, the index) of a season."""
    centre = pd.Timestamp(season, 12 if southern else 6, 21, tz="UTC")
    days = pd.date_range(centre - pd.Timedelta(days=190), centre + pd.Timedelta(days=190), freq="D")
    found = season_of(days, lat=-1.0 if southern else 1.0)
    mine = (found["season"] == season).to_numpy()
    dates = pd.Series(days.tz_localize(None)[mine], index=found.loc[mine, "season_day"].to_numpy(int))
    return dates.reindex(SEASON_DAYS)


def coming_season(days: pd.DataFrame) -> int:
    """The season after the last one whose solstice has been listened to."""
    seen = days[days["monitored"]]
    past = seen.loc[seen["season_day"] >= 0, "season"]
    return int(past.max()) + 1 if len(past) else int(seen["season"].max())


def seasons_behind(days: pd.DataFrame) -> int:
    """Seasons of which a month or more was listened to; at least one if any day was."""
    listened = days[days["monitored"]].groupby("season").size()
    return max(int((listened >= 30).sum()), min(len(listened), 1))


def is_southern(days: pd.DataFrame) -> bool:
    """Whether season day 0 of the days falls in December rather than June."""
    solstice = days["date"] - pd.to_timedelta(days["season_day"].astype("int64"), unit="D")
    return bool((solstice.dt.month == 12).mean() > 0.5)


def heard_windows(days: pd.DataFrame, *, length: int) -> np.ndarray:
    """First season days (`SEASON_DAYS`) whose window touches no stretch that was never listened to.

    A stretch of more than `GAP_DAYS` without a monitored day in any season is cut out: a curve drawn
    through it would be guesswork.
    """
    seen = np.isin(
        SEASON_DAYS, days.loc[days["monitored"], "season_day"].clip(SEASON_DAYS[0], SEASON_DAYS[-1])
    )
    heard = seen.copy()
    listened = np.flatnonzero(seen)
    if len(listened):
        for day, step in zip(listened, np.diff(np.r_[listened, listened[0] + len(seen)]), strict=True):
            if step <= GAP_DAYS + 1:
                heard[np.arange(day, day + step) % len(seen)] = True
    return np.all([np.roll(heard, -step) for step in range(length)], axis=0)

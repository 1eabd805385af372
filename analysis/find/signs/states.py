"""The state of each day: open, shut, or not listened to, which is what a forecast or the weather is held against."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.find.reach import HERE, REGION

AREA = "area"  # scope of a forecast that names a square or a path
AREA_KM = 300.0  # about an area that a chart or an index is given for (judgement)
COLUMNS = ["day", "season", "season_day", "open"]


def day_states(days: pd.DataFrame, *, band: str, mechanism: str, scope: str) -> pd.DataFrame:
    """One row per day of one series: `day season season_day open`; `open` is 1, 0 or NaN (nobody listened).

    Parameters
    ----------
    days : DataFrame
        As `find.days.days_table` makes it.
    """
    mine = days[(days["band"] == band) & (days["mechanism"] == mechanism) & (days["scope"] == scope)]
    mine = mine[mine["path_type"] == "all"].sort_values("day")
    known = mine["listened"].astype(bool) | mine["open"].astype(bool)
    return mine.assign(open=mine["open"].astype(float).where(known))[COLUMNS].reset_index(drop=True)


def area_states(states: pd.DataFrame, spots: pd.DataFrame, *, lon: float, lat: float) -> pd.DataFrame:
    """The region's states for one area: a day is open where an opening ran through it.

    Parameters
    ----------
    states : DataFrame
        `day_states` of the region: when anybody listened.
    spots : DataFrame
        Tagged spots of the band and mechanism; those in an opening count.
    lon, lat : float
        Centre of the area [degrees].
    """
    mine = spots[spots["opening"].notna()]
    east = (mine["mid_lon"] - lon) * np.cos(np.radians(lat))
    near = np.hypot(east, mine["mid_lat"] - lat) * 111.2 <= AREA_KM
    day = (mine.loc[near, "time"] + pd.Timedelta(hours=lon / 15)).dt.floor("D").dt.tz_localize(None)
    opened = states["day"].isin(day.unique()).astype(float)
    return states.assign(open=opened.where(states["open"].notna()))


def usable(states: pd.DataFrame, *, days: int, each: int) -> bool:
    """Whether so many days are known, and so many of them open and shut."""
    known = states["open"].dropna()
    return len(known) >= days and min(known.sum(), len(known) - known.sum()) >= each


def here_or_region(days: pd.DataFrame, *, band: str, mechanism: str, least: dict[str, int]):
    """States here, or the region's where too little is known here: scope and states."""
    for scope in (HERE, REGION):
        states = day_states(days, band=band, mechanism=mechanism, scope=scope)
        if usable(states, **least):
            break
    return scope, states

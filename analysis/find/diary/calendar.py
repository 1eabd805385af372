"""Every half-hour of a season at home: open, known to be closed, listened to without an opening, or unknown."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.find import intervals
from analysis.find.days import GRADES, WITHIN
from analysis.find.grouping.closed import HALF_HOUR, busy_half_hours
from analysis.find.hearers import listeners
from analysis.find.reach import HERE
from analysis.tag.sun import season_of

STATES = ("open", "closed", "quiet", "unknown")  # the stronger first


def here_calendar(
    openings: pd.DataFrame,
    spots: pd.DataFrame,
    listening: pd.DataFrame,
    *,
    band: str,
    mechanism: str,
    lon: float,
    lat: float,
) -> pd.DataFrame:
    """What is known of every half-hour here, for one band and mechanism.

    Parameters
    ----------
    openings, spots, listening : DataFrame
        As `openings.find_openings` and `listening.find_listening` return them.
    band, mechanism : str
    lon, lat : float
        Home [degrees east, north].

    Returns
    -------
    DataFrame
        `start season season_day hour state` [UTC], every half-hour of the days on which anything is known.
        `open`: an opening here of two reports or more touches it; `closed`: stations near home were busy and
        nothing came through (`closed.busy_half_hours`); `quiet`: somebody of the scope listened at its
        middle and nothing was reported; `unknown`: nobody is known to have listened.
    """
    about = {"band": band, "mechanism": mechanism}
    home = {"lon": lon, "lat": lat}
    own = (openings["band"] == band) & (openings["mechanism"] == mechanism)
    opened = openings[own & openings["scope"].isin(WITHIN[HERE]) & openings["grade"].isin(GRADES)]
    heard = listeners(spots, listening, **about, **home)[HERE]  # type: ignore[arg-type]
    busy = busy_half_hours(spots, **about, **home)  # type: ignore[arg-type]
    shut = intervals.minutes(busy.loc[busy["n_open"] == 0, "start"]) // HALF_HOUR
    edges = [
        intervals.minutes(table[side]) / HALF_HOUR for table in (opened, heard) for side in ("start", "end")
    ]
    known = np.concatenate([*edges, shut])
    if not len(known):
        return pd.DataFrame(columns=["start", "season", "season_day", "hour", "state"])
    first = int(np.floor(known.min() / 48) * 48)
    n = int(np.floor(known.max() / 48) + 1) * 48 - first
    marks = [
        _marked(np.floor(edges[0]) - first, np.floor(edges[1]) - first + 1, n),
        _marked(shut - first, shut - first + 1, n),
        _marked(np.ceil(edges[2] - 0.5) - first, np.ceil(edges[3] - 0.5) - first, n),
    ]
    start = intervals.times((first + np.arange(n)) * float(HALF_HOUR))
    table = season_of(start, lat=lat).assign(
        start=start, hour=np.arange(n) % 48 / 2, state=np.select(marks, STATES[:3], STATES[3])
    )
    some = np.repeat(np.any(marks, axis=0).reshape(-1, 48).any(axis=1), 48)
    return table.loc[some, ["start", "season", "season_day", "hour", "state"]].reset_index(drop=True)


def _marked(first: NDArray, past: NDArray, n: int) -> NDArray:
    """Which of `n` half-hours lie in any of the spans [first, past)."""
    change = np.zeros(n + 1)
    np.add.at(change, np.clip(first, 0, n).astype(int), 1)
    np.add.at(change, np.clip(past, 0, n).astype(int), -1)
    return np.cumsum(change)[:n] > 0

"""How much listening there was, week by week: always-on receivers, people, and hours that anybody covered."""

from __future__ import annotations

import pandas as pd

from analysis.find import intervals
from analysis.tag import sun

WEEK_H = 168  # definition


def weekly_effort(spans: pd.DataFrame, *, south: bool = False) -> pd.DataFrame:
    """Listening of one band by season and week; a span over several weeks is shared out among them.

    Parameters
    ----------
    spans : DataFrame
        `station band start end basis` of one band.
    south : bool
        Count seasons by the southern summer.

    Returns
    -------
    DataFrame
        `season`, `week` (first season day of it), `basis`, `hours` [station-hours] and `covered_h`, the hours
        of that week in which at least one station of any basis listened (the same in every row of a week).
    """
    by_basis = pd.concat(
        [
            _weeks(rows, south=south).assign(basis=basis)
            for basis, rows in spans.groupby(spans["basis"].astype(str))
        ],
        ignore_index=True,
    )
    anybody = _weeks(intervals.union(spans.assign(station="anybody")), south=south)
    covered = anybody.rename(columns={"hours": "covered_h"})
    return by_basis.merge(covered, on=["season", "week"], validate="many_to_one")


def coverage(weeks: pd.DataFrame) -> pd.Series:
    """Share of the hours of each season's listened weeks, from the first to the last, that anybody covered."""
    each = weeks.drop_duplicates(["season", "week"]).groupby("season")
    reach = each["week"].max() - each["week"].min() + 7
    return each["covered_h"].sum() / (24 * reach)


def _weeks(spans: pd.DataFrame, *, south: bool) -> pd.DataFrame:
    days = intervals.per_day(spans).groupby("day", as_index=False)["hours"].sum()
    date = pd.Series(pd.to_datetime(days["day"], unit="D", utc=True))
    when = sun.season_of(date, lat=-1.0 if south else 1.0)
    days["season"], days["week"] = when["season"].astype(int), when["season_day"].astype(int) // 7 * 7
    return days.groupby(["season", "week"], as_index=False)["hours"].sum()

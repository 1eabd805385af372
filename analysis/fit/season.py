"""The chance of an open half-hour through the season, and every season beside the others."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from analysis.fit.daily import BOUNDS, JUDGED, VALUES, curve_rows, stacked
from analysis.fit.estimate import Series
from analysis.fit.findings import estimates_table
from analysis.fit.peaks import date_text
from analysis.fit.season_index import season_rows

__all__ = ["estimates_table", "season_table", "seasons_table"]

COLUMNS = ["band", "mechanism", "path_type", "season_day", "date", *VALUES, *JUDGED, *BOUNDS]
SEASONS_COLUMNS = [
    *["band", "mechanism", "path_type", "season", "opening_days", "monitored_days"],
    *["index", "low", "high", "compared", "usual_low", "usual_high", "tier", "verdict", "reason"],
]


def season_table(series: Sequence[Series]) -> pd.DataFrame:
    """Chance of an open half-hour by season day for every series.

    Returns
    -------
    DataFrame
        As `daily.daily_table` with `season_day` (from the summer solstice of the series' hemisphere)
        and `date` (month-day of a common year) for `axis hour`; 365 rows per series, chances averaged
        over all hours. Stretches of more than 30 days without listening are blank.
    """
    return stacked([_rows(one) for one in series], COLUMNS)


def seasons_table(series: Sequence[Series]) -> pd.DataFrame:
    """One row per series and season: opening days, and how the season compares with the others.

    Returns
    -------
    DataFrame
        `band mechanism path_type season opening_days monitored_days index low high compared usual_low
        usual_high tier verdict reason`. `index` is the season's chance over that of all seasons (1 is usual) at the same hours
        and days, so it does not grow with activity; `verdict` is above, below or normal against the
        80 % predictive interval of the other seasons, provisional where they are too few to say, or
        refuse. `compared` is what the verdict compares (opening days over those usual on the days listened to,
        without monitors the index), `usual_low usual_high` that interval; blank where nothing was judged.
    """
    return stacked([season_rows(one) for one in series], SEASONS_COLUMNS)


def _rows(one: Series) -> pd.DataFrame:
    rows = curve_rows(one, by="season_day")
    if rows["season_day"].isna().all():
        return rows.assign(date="")
    return rows.assign(date=date_text(rows["season_day"].to_numpy(), one.fit.counts).to_numpy())

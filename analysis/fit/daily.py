"""The chance of an open half-hour by hour, land, mixed and sea side by side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd

from analysis.fit.estimate import Series
from analysis.fit.model.curves import curve

VALUES = ["chance", "low", "high", "n_monitored"]
JUDGED = ["seasons", "tier", "verdict", "reason"]
BOUNDS = ["bound_low", "bound_high"]
COLUMNS = ["band", "mechanism", "path_type", "axis", "hour", *VALUES, *JUDGED, *BOUNDS]


def daily_table(series: Sequence[Series]) -> pd.DataFrame:
    """Chance of an open half-hour by hour for every series.

    Parameters
    ----------
    series : sequence of Series

    Returns
    -------
    DataFrame
        `band mechanism path_type axis hour chance low high n_monitored seasons tier verdict reason`
        and `bound_low bound_high`; 48 rows per series, `hour` the middle of a half-hour on `axis`,
        chances averaged over the season days listened to with 90 % intervals. Hours with fewer than
        20 monitored half-hours are blank. A refused series has one blank row with the reason.
    """
    return stacked([curve_rows(one, by="hour").assign(axis=one.axis) for one in series], COLUMNS)


def curve_rows(one: Series, *, by: str) -> pd.DataFrame:
    """The rows of one series in `daily_table` (by hour) or `season_table` (by season_day)."""
    verdict = one.fit.verdict
    judged: dict[str, Any] = one.keys() | {
        "seasons": len(one.fit.counts.seasons),
        "tier": one.tier,
        "verdict": verdict.status,
        "reason": verdict.reason,
    }
    if verdict.status != "refuse":
        return curve(one.fit, by=by).rename(columns={"x": by}).assign(**judged)
    n = int(one.fit.counts.by_hour["monitored"].sum())
    blank = dict.fromkeys([by, "chance", "low", "high", *BOUNDS], np.nan)
    return pd.DataFrame([blank | {"n_monitored": n} | judged])


def stacked(frames: list[pd.DataFrame], columns: list[str]) -> pd.DataFrame:
    """One table of all frames with exactly these columns; without frames, an empty one."""
    if not frames:
        return pd.DataFrame(columns=columns)
    return pd.concat([frame.reindex(columns=columns) for frame in frames], ignore_index=True)

"""In the middle of a season: what has come so far, and how it moves the chances of the rest."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from analysis.fit.ahead.calibration import calibration
from analysis.fit.ahead.daymodel import fit_days
from analysis.fit.ahead.days import DaySeries
from analysis.fit.ahead.next_season import UNHEARD, heard_windows, is_southern, season_dates
from analysis.fit.ahead.verify import back_test
from analysis.fit.ahead.windows import DRAWS, LENGTH, SEED, Drawing, telling_count, window_chance

DAYS_NEEDED = 20  # monitored days of the season below which it has not said anything yet
COLUMNS = [
    "band",
    "mechanism",
    "direction",
    "start",
    "end",
    "days",
    "at_least",
    "before",
    "now",
    "low",
    "high",
]
ABOUT = ["tier", "verdict", "reason"]


def rest_of_season(
    series: DaySeries,
    *,
    length: int = LENGTH,
    at_least: int | None = None,
    draws: int = DRAWS,
    seed: int = SEED,
) -> pd.DataFrame:
    """Chances of the windows that are still to come, before and after hearing the season so far.

    Parameters
    ----------
    series : DaySeries
        Days of earlier seasons and of this one up to yesterday.
    length : int
        Days in a window.
    at_least : int, optional
        Opening days that make it good; as many as tell the windows apart by default.
    draws, seed : int

    Returns
    -------
    DataFrame
        `COLUMNS` and `tier verdict reason`: `before` from the earlier seasons alone, `now` with this
        season's level and the days since its last opening, `low` to `high` the 90 % interval of `now`.
        One row without numbers where nothing can be said.
    """
    said = not_yet(series)
    about: dict[str, Any] = {**series.keys(), "days": length, "tier": series.verdict.tier}
    if said:
        row = about | {"verdict": "refuse", "reason": said}
        return pd.DataFrame([row]).reindex(columns=[*COLUMNS, *ABOUT])
    days, season = series.days, _this_season(series.days)
    this = days["season"] == season
    earlier, model = fit_days(days[~this]), fit_days(days)
    options: dict[str, Any] = {"length": length}
    options["at_least"] = at_least or telling_count(model, length=length)
    options["check"] = calibration(back_test(days, length=length, counts=(options["at_least"],)))
    before = window_chance(earlier, drawing=Drawing(draws=2, seed=seed), **options)["chance"]
    found = window_chance(model, so_far=days[this], drawing=Drawing(draws=draws, seed=seed), **options)
    table = found[["low", "high"]].assign(before=before, now=found["chance"])
    dates = season_dates(season, southern=is_southern(days))
    table["start"] = dates.to_numpy()[table.index]
    table["end"] = table["start"] + pd.Timedelta(days=length - 1)
    about |= {"verdict": series.verdict.status, "reason": series.verdict.reason}
    table = table.assign(**about, at_least=options["at_least"])
    unheard = ~heard_windows(days, length=length)[table.index]
    table.loc[unheard, ["before", "now", "low", "high"]] = np.nan
    table.loc[unheard, "reason"] = UNHEARD
    return table[[*COLUMNS, *ABOUT]].reset_index(drop=True)


def begun(series: DaySeries, *, season: int) -> pd.DataFrame | None:
    """Days so far of a season, where it is the one that is running and has said something; else None."""
    if not_yet(series) or season != _this_season(series.days):
        return None
    return series.days[series.days["season"] == season]


def _this_season(days: pd.DataFrame) -> int:
    return int(days.loc[days["monitored"], "season"].max())


def not_yet(series: DaySeries) -> str:
    """Why nothing can be said yet; empty where something can."""
    if series.verdict.status == "refuse":
        return series.verdict.reason
    seen = series.days[series.days["monitored"]]
    season = _this_season(series.days)
    n = int((seen["season"] == season).sum())
    if seen["season"].nunique() < 2:
        return "no earlier season to compare with"
    if n < DAYS_NEEDED:
        return f"only {n} monitored days in {season} so far, at least {DAYS_NEEDED} are needed"
    return ""

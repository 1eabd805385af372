"""In the middle of a season: what has come so far, and how it moves the chances of the rest."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from scipy.stats import norm

from analysis.fit.curves import LEVEL
from analysis.fit.daymodel import AGE, MEMORY, ORDER, DayModel, draw_coefficients, fit_days
from analysis.fit.days import DaySeries
from analysis.fit.estimate import Estimate, refused
from analysis.fit.harmonics import SEASON_DAYS
from analysis.fit.next_season import UNHEARD, heard_windows, is_southern, season_dates
from analysis.fit.spells import day_chances, rest_chances, step
from analysis.fit.windows import DRAWS, LENGTH, SEED, telling_count, window_chance

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


def season_level(series: DaySeries) -> Estimate:
    """How the season that is running compares with the earlier ones, in odds of an opening day.

    Parameters
    ----------
    series : DaySeries
        Days of earlier seasons and of this one so far.

    Returns
    -------
    Estimate
        `value` times the usual odds, with its 90 % interval; refused in words while the season has
        fewer than twenty monitored days or there is no earlier one.
    """
    said = _not_yet(series)
    if said:
        return refused(said, unit="times the usual odds")
    model = fit_days(series.days)
    season = _this_season(series.days)
    column = _column(model, season)
    error = np.sqrt(model.covariance[column, column])
    reach = norm.ppf((1 + LEVEL) / 2) * error
    value, low, high = np.exp(model.coef[column] + np.array([0, -reach, reach]))
    n = int((series.days["monitored"] & (series.days["season"] == season)).sum())
    about = (series.verdict.status, series.verdict.reason)
    return Estimate(float(value), float(low), float(high), "times the usual odds", n, "season effect", *about)


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
    said = _not_yet(series)
    about: dict[str, Any] = {**series.keys(), "days": length, "tier": series.verdict.tier}
    if said:
        row = about | {"verdict": "refuse", "reason": said}
        return pd.DataFrame([row]).reindex(columns=[*COLUMNS, *ABOUT])
    days, season = series.days, _this_season(series.days)
    earlier, model = fit_days(days[days["season"] != season]), fit_days(days)
    at_least = at_least or telling_count(earlier, length=length)
    last = int(days.loc[days["season"] == season, "season_day"].max())
    first = last + 1 - SEASON_DAYS[0]
    before = window_chance(earlier, length=length, at_least=at_least, draws=2, seed=seed)["chance"]
    drawn = _drawn(model, days, season, first=first, length=length, at_least=at_least, draws=draws, seed=seed)
    rows = np.arange(first, first + drawn.shape[1])
    dates = season_dates(season, southern=is_southern(days)).to_numpy()[rows]
    table = pd.DataFrame({"start": dates, "before": before.to_numpy()[rows], "now": drawn.mean(axis=0)})
    table["end"] = table["start"] + pd.Timedelta(days=length - 1)
    table["low"], table["high"] = np.quantile(drawn, [(1 - LEVEL) / 2, (1 + LEVEL) / 2], axis=0)
    about |= {"verdict": series.verdict.status, "reason": series.verdict.reason, "at_least": at_least}
    table = table.assign(**about)
    heard = heard_windows(days, length=length)[rows]
    table.loc[~heard, ["before", "now", "low", "high"]] = np.nan
    table.loc[~heard, "reason"] = UNHEARD
    return table[[*COLUMNS, *ABOUT]]


def _drawn(model, days, season, *, first, length, at_least, draws, seed) -> np.ndarray:
    """Chances of the rest under draws of the coefficients, this season's effect among them."""
    coefs, _ = draw_coefficients(model, n=draws, seed=seed)
    state = _state(model, days, season)
    effects = coefs[:, _column(model, season)]
    return rest_chances(coefs, effects, state=state, first=first, length=length, at_least=at_least)


def _state(model: DayModel, days: pd.DataFrame, season: int) -> np.ndarray:
    """Chance of each number of days since the last opening day, after the last day of the table."""
    chance = day_chances(model.coef[None], model.coef[[_column(model, season)]])[0]
    now = np.zeros(len(AGE))
    now[-1] = 1.0
    for day in days[days["season"] == season].sort_values("date").itertuples():
        known = bool(day.open) if day.monitored else None
        now = step(now, chance[min(max(day.season_day - SEASON_DAYS[0], 0), len(chance) - 1)], opened=known)
    return now


def _column(model: DayModel, season: int) -> int:
    return 2 * ORDER + 1 + len(MEMORY) + model.seasons.index(season)


def _this_season(days: pd.DataFrame) -> int:
    return int(days.loc[days["monitored"], "season"].max())


def _not_yet(series: DaySeries) -> str:
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

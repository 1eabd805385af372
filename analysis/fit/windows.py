"""Chances of an opening in a run of days: calendar of next season, near-best sets."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

import numpy as np
import pandas as pd

from analysis.fit.curves import LEVEL
from analysis.fit.daymodel import DayModel, draw_coefficients, fit_days
from analysis.fit.days import DaySeries
from analysis.fit.harmonics import SEASON_DAYS
from analysis.fit.next_season import (
    UNHEARD,
    coming_season,
    heard_windows,
    is_southern,
    season_dates,
    seasons_behind,
)
from analysis.fit.spells import window_chances

DRAWS = 60
SEED = 20250621
TOLERANCE = 0.10  # how much chance a near-best window may lose
LENGTH = 10  # days
NUMBERS = ["chance", "low", "high", "expected_days", "expected_low", "expected_high", "expected_hours"]
COUNTS = (1, 2, 4, 6, 9, 13)  # opening days that a chance may be of
SATURATED = 0.95  # a best chance above this no longer tells one week from the next
COLUMNS = [
    "band",
    "mechanism",
    "direction",
    "start",
    "days",
    "chance",
    "low",
    "high",
    "near_best",
    "seasons",
    "tier",
    "verdict",
    "reason",
    "at_least",
    "expected_days",
    "expected_low",
    "expected_high",
    "expected_hours",
]


def windows_table(
    series: Sequence[DaySeries],
    *,
    length: int = LENGTH,
    at_least: int | None = None,
    next_season: int | None = None,
    tolerance: float = TOLERANCE,
    draws: int = DRAWS,
    seed: int = SEED,
) -> pd.DataFrame:
    """Chance of opening days in every run of days of next season.

    Parameters
    ----------
    series : list of DaySeries
        As `days.day_series` makes them.
    length : int
        Days of leave.
    at_least : int, optional
        Opening days in the window that the chance is of; by default as many as tell each series'
        windows apart (`telling_count`).
    next_season : int, optional
        Season to lay out; the one after each series' last by default.
    tolerance : float
        A window is near-best if in half of the draws it loses no more than this against the best.
    draws : int
        Sets of coefficients drawn for the intervals.
    seed : int

    Returns
    -------
    DataFrame
        `COLUMNS`: one row per first day, `low` to `high` the 90 % interval, `expected_days` with its
        own and `expected_hours`. Windows in a part of the season that nobody ever listened to have no
        numbers; a refused series has one row without any.
    """
    options = {"length": length, "at_least": at_least, "tolerance": tolerance, "draws": draws, "seed": seed}
    tables = [_calendar(one, next_season=next_season, **options) for one in series]
    table = pd.concat(tables, ignore_index=True) if tables else pd.DataFrame(columns=COLUMNS)
    return table.astype({"at_least": "Int64"})


def window_chance(
    model: DayModel,
    *,
    length: int,
    at_least: int = 1,
    usable: np.ndarray | None = None,
    allowed: np.ndarray | None = None,
    tolerance: float = TOLERANCE,
    draws: int = DRAWS,
    seed: int = SEED,
) -> pd.DataFrame:
    """Chance of `at_least` opening days in windows of a coming season.

    Parameters
    ----------
    model : DayModel
    length, at_least : int
        Days in a window, and opening days in it that the chance is of.
    usable, allowed : array (season days,) of bool, optional
        Days that count, and first days among which the near-best are chosen; all by default.
    tolerance : float
        A window is near-best in a draw if it loses no more chance than this against the best.
    draws, seed : int

    Returns
    -------
    DataFrame
        `season_day` of the first day, `chance low high` (90 % interval), `share` (how often over the
        draws the window is near-best), `loss` of chance against the best and `loss_high`, which it
        exceeds in one draw out of twenty, `expected_days expected_low expected_high`, `expected_hours`.
        A window that runs past the end of the season goes on with the beginning of one like it.
    """
    fitted = model.coef[None], np.array([model.season_sd])
    chances = partial(window_chances, length=length, at_least=at_least, usable=usable)
    chance, days = chances(*fitted)
    drawn, drawn_days = chances(*draw_coefficients(model, n=draws, seed=seed))
    counted = 1.0 if usable is None else usable
    expected = np.array([running(one, length) for one in drawn_days * counted])
    table = pd.DataFrame({"season_day": SEASON_DAYS, "chance": chance[0]})
    table["low"], table["high"] = _around(drawn, chance[0])
    eligible = np.ones(len(table), bool) if allowed is None else allowed
    table["share"] = 0.0
    if eligible.any():
        table.loc[eligible, "share"] = rank_windows(drawn[:, eligible], tol=tolerance)
    table["loss"], table["loss_high"] = _losses(chance[0], drawn, eligible)
    table["expected_days"] = running(days[0] * counted, length)
    table["expected_low"], table["expected_high"] = _around(expected, table["expected_days"].to_numpy())
    table["expected_hours"] = running(days[0] * counted * model.hours, length)
    return table


def telling_count(model: DayModel, *, length: int) -> int:
    """Smallest of `COUNTS` opening days for which even the best window is not all but certain."""
    possible = [count for count in COUNTS if count <= length]
    fitted = model.coef[None], np.array([model.season_sd])
    for count in possible:
        if window_chances(*fitted, length=length, at_least=count)[0].max() < SATURATED:
            return count
    return possible[-1]


def rank_windows(drawn: np.ndarray, *, tol: float = TOLERANCE) -> np.ndarray:
    """How often each window is near-best.

    Parameters
    ----------
    drawn : array (draws, windows)
        Chances under several sets of coefficients.
    tol : float
        A window is near-best if it loses no more chance than this against the best.

    Returns
    -------
    array (windows,)
        Share of the draws.
    """
    return (drawn >= drawn.max(axis=1, keepdims=True) - tol).mean(axis=0)


def running(daily: np.ndarray, length: int) -> np.ndarray:
    """Sum over each day and the `length` - 1 that follow, going round the year."""
    total = np.concatenate([[0.0], np.cumsum(np.concatenate([daily, daily[: length - 1]]))])
    return total[length:] - total[:-length]


def _calendar(one: DaySeries, *, length, at_least, next_season, tolerance, draws, seed) -> pd.DataFrame:
    about = {**one.keys(), "days": length, "tier": one.verdict.tier, "verdict": one.verdict.status}
    about |= {"seasons": seasons_behind(one.days), "reason": one.verdict.reason, "at_least": at_least}
    if one.verdict.status == "refuse":
        return pd.DataFrame([{"start": pd.NaT, "near_best": False} | about]).reindex(columns=COLUMNS)
    model = fit_days(one.days)
    if at_least is None:
        about["at_least"] = at_least = telling_count(model, length=length)
    heard = heard_windows(one.days, length=length)
    found = window_chance(
        model, length=length, at_least=at_least, allowed=heard, tolerance=tolerance, draws=draws, seed=seed
    )
    season = coming_season(one.days) if next_season is None else next_season
    dates = season_dates(season, southern=is_southern(one.days))
    table = found.assign(start=dates.to_numpy(), near_best=found["share"] >= 0.5, **about)
    table.loc[~heard, NUMBERS] = np.nan
    table.loc[~heard, "reason"] = UNHEARD
    return table[COLUMNS]


def _losses(chance, drawn, eligible) -> tuple[np.ndarray, np.ndarray]:
    """Chance lost against the best eligible window, as fitted and at worst (95 % of the draws)."""
    best = drawn[:, eligible].max(axis=1, initial=0, keepdims=True)
    worst = np.quantile(best - drawn, (1 + LEVEL) / 2, axis=0)
    return chance[eligible].max(initial=0) - chance, worst


def _around(drawn: np.ndarray, value: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """90 % interval of draws, stretched where it would leave the fitted value outside."""
    low, high = np.quantile(drawn, [(1 - LEVEL) / 2, (1 + LEVEL) / 2], axis=0)
    return np.minimum(low, value), np.maximum(high, value)

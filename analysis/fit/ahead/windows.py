"""Chances of an opening in a run of days: calendar of next season, near-best sets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from analysis.fit.ahead.big import big_days
from analysis.fit.ahead.calibration import UNCHECKED, Calibration, calibration, skill
from analysis.fit.ahead.daymodel import DayModel, draw_coefficients, fit_days
from analysis.fit.ahead.days import DaySeries
from analysis.fit.ahead.next_season import (
    UNHEARD,
    coming_season,
    heard_windows,
    is_southern,
    season_dates,
    seasons_behind,
)
from analysis.fit.ahead.spells import LENGTH, rest_chances, state_after, window_chances
from analysis.fit.ahead.verify import back_test
from analysis.fit.assess import DAYS_NEEDED
from analysis.fit.model.curves import LEVEL
from analysis.fit.model.harmonics import SEASON_DAYS

DRAWS = 60  # speed
SEED = 20250621  # any
TOLERANCE = 0.10  # of chance, and part of the open hours, that a near-best window may lose
# Opening days, and open hours of openings that start in the window, with their intervals.
EXPECTED = ["expected_days", "expected_low", "expected_high", "expected_hours", "hours_low", "hours_high"]
NUMBERS = ["chance", "low", "high", *EXPECTED]
BIG = ["big_chance", "big_low", "big_high"]  # of a day in the top tenth by reach times length
COUNTS = (1, 2, 4, 6, 9, 13)  # opening days that a chance may be of
HALF = 0.5  # of the draws
SATURATED = 0.95  # a best chance above this no longer tells one week from the next
SEASONS_OF_ITS_OWN = 4  # below which the usual course of a season weighs as much as the data
LEANS = "few seasons, so the dates lean on the usual course of sporadic E in the published foEs maps"
COLUMNS = [
    *["band", "mechanism", "direction", "start", "days", "chance", "low", "high", "near_best"],
    *["seasons", "tier", "verdict", "reason", "at_least", *EXPECTED, *BIG],
    *["hours_lost", "check", "skill", "skill_low", "skill_high"],
]


@dataclass(frozen=True, kw_only=True)
class Drawing:
    """How many sets of coefficients are drawn, from which seed, and what a near-best window may lose in one.

    A window is near-best in a draw if it loses no more chance than `tolerance` against the best, and no
    larger part of the best one's open hours: where chances saturate, hours still tell weeks apart.
    """

    draws: int = DRAWS
    seed: int = SEED
    tolerance: float = TOLERANCE


@dataclass(frozen=True, kw_only=True)
class Dates:
    """Days of a season that count, and first days among which the near-best are chosen; all where None."""

    usable: np.ndarray | None = None
    allowed: np.ndarray | None = None


DRAWING, WHOLE_SEASON = Drawing(), Dates()


def windows_table(
    series: Sequence[DaySeries],
    *,
    length: int = LENGTH,
    at_least: int | None = None,
    next_season: int | None = None,
    drawing: Drawing = DRAWING,
) -> pd.DataFrame:
    """Chance of opening days in every run of days of next season, one series below the other.

    Parameters
    ----------
    series : list of DaySeries
        As `days.day_series` makes them.
    next_season : int, optional
        Season to lay out; the one after each series' last by default.
    length, at_least, drawing
        As for `series_windows`.

    Returns
    -------
    DataFrame
        `COLUMNS`, as `series_windows` gives them.
    """
    options: dict[str, Any] = {"length": length, "at_least": at_least, "drawing": drawing}
    tables = [series_windows(one, season=next_season, **options)[COLUMNS] for one in series]
    table = pd.concat(tables, ignore_index=True) if tables else pd.DataFrame(columns=COLUMNS)
    return table.astype({"at_least": "Int64"})


def series_windows(
    one: DaySeries,
    *,
    length: int = LENGTH,
    at_least: int | None = None,
    season: int | None = None,
    dates: Dates = WHOLE_SEASON,
    so_far: pd.DataFrame | None = None,
    drawing: Drawing = DRAWING,
) -> pd.DataFrame:
    """Windows of one series, with dates and verdict.

    Parameters
    ----------
    one : DaySeries
        As `days.day_series` makes it.
    at_least : int, optional
        Opening days in the window that the chance is of; by default as many as tell the windows apart
        (`telling_count`).
    season : int, optional
        Season to lay out; the one after the last by default.
    length, dates, so_far, drawing
        As for `window_chance`.

    Returns
    -------
    DataFrame
        `COLUMNS` and `loss loss_high` as `window_chance` gives them, one row per first day and its
        number for index; a window is `near_best` if it is so in half of the draws, or
        in most of them where none is so in half. Chances are corrected
        by what forecasts of left-out seasons showed (`calibration`); `check` says in words what that was,
        `skill` (Brier, over the same chance on every date, 90 % interval) how much they told; `big_chance`
        is that of one day or more among the tenth with the largest reach times length. Windows in a
        part of the season that nobody ever listened to have no numbers; a refused series has one row
        without any.
    """
    if one.verdict.status == "refuse":
        return refused_row(one, length=length, reason=one.verdict.reason)
    model, heard = fit_days(one.days), heard_windows(one.days, length=length)
    count = at_least or telling_count(model, length=length)
    forecasts = back_test(one.days, length=length, counts=(count,))
    check = calibration(forecasts)
    begin = heard if dates.allowed is None else heard & dates.allowed
    options: dict[str, Any] = {"length": length, "drawing": drawing}
    options |= {"dates": Dates(usable=dates.usable, allowed=begin)}
    table = window_chance(model, check=check, at_least=count, so_far=so_far, **options)
    table = table.join(_big(one.days, so_far, options))
    calendar = season_dates(season or coming_season(one.days), southern=is_southern(one.days))
    table["start"], table["near_best"] = calendar.to_numpy()[table.index], near_best(table["share"])
    table = table.assign(**_about(one, length=length), at_least=count)
    said = [LEANS] if model.usual and seasons_behind(one.days) < SEASONS_OF_ITS_OWN else []
    table["reason"] = "; ".join(filter(None, [*said, one.verdict.reason]))
    table = table.assign(check=check.words, **skill(forecasts))
    table.loc[~heard[table.index], [*NUMBERS, *BIG]] = np.nan
    table.loc[~heard[table.index], "reason"] = UNHEARD
    return table[[*COLUMNS, "loss", "loss_high"]]


def _big(days: pd.DataFrame, so_far: pd.DataFrame | None, options: dict[str, Any]) -> pd.DataFrame:
    """Chance of a big opening day in the same windows; no rows where fewer than ten days were big."""
    big = big_days(days)
    if big["open"].sum() < DAYS_NEEDED:
        return pd.DataFrame(columns=BIG, dtype=float)
    begun = None if so_far is None else big[big["date"].isin(so_far["date"])]
    return window_chance(fit_days(big), so_far=begun, **options)[NUMBERS[:3]].set_axis(BIG, axis=1)


def refused_row(one: DaySeries, *, length: int, reason: str) -> pd.DataFrame:
    """A series without numbers: one row that says why."""
    row = {"start": pd.NaT, "near_best": False, "verdict": "refuse", "reason": reason}
    table = pd.DataFrame([_about(one, length=length) | row])
    return table.reindex(columns=[*COLUMNS, "loss", "loss_high"])


def window_chance(
    model: DayModel,
    *,
    length: int,
    at_least: int = 1,
    dates: Dates = WHOLE_SEASON,
    so_far: pd.DataFrame | None = None,
    check: Calibration = UNCHECKED,
    drawing: Drawing = DRAWING,
) -> pd.DataFrame:
    """Chance of `at_least` opening days in windows of a coming season, or of one that has begun.

    Parameters
    ----------
    model : DayModel
    length, at_least : int
        Days in a window, and opening days in it that the chance is of.
    dates : Dates
        Days that count, and first days among which the near-best are chosen.
    so_far : DataFrame, optional
        Days of the season that has begun, which the model was fitted to as well; then only windows
        after them are worked out, with the season's own level and its last openings.
    check : Calibration
        How the chances are corrected; not at all by default.
    drawing : Drawing
        How many sets of coefficients are drawn, and what a near-best window may lose in one.

    Returns
    -------
    DataFrame
        Index: number of the first day in `SEASON_DAYS`. `season_day` of the first day, `chance low high`
        (90 % interval), `share` (how often over the draws the window is near-best), `loss` of chance
        against the best and `loss_high`, which it exceeds in one draw out of twenty, `expected_days
        expected_low expected_high`, `expected_hours hours_low hours_high` of openings, and `hours_lost`,
        the part of the best one's expected hours that is missing. A window that runs past the end of a coming season
        goes on with the beginning of one like it.
    """
    chances: dict[str, Any] = {"length": length, "at_least": at_least, "usable": dates.usable}
    sets = draw_coefficients(model, n=drawing.draws, seed=drawing.seed)
    first, chance, daily, drawn, drawn_daily = (
        _coming(model, sets, chances) if so_far is None else _rest(model, sets, so_far, chances)
    )
    chance, drawn = check.corrected(chance), check.corrected(drawn)
    counted = np.ones(len(SEASON_DAYS) - first) if dates.usable is None else dates.usable[first:]
    n = drawn.shape[1]
    rows = np.arange(first, first + n)
    eligible = np.ones(n, bool) if dates.allowed is None else dates.allowed[rows]
    table = pd.DataFrame({"season_day": SEASON_DAYS[rows], "chance": chance}, index=rows)
    table["low"], table["high"] = _around(drawn, chance)
    hours = np.empty((0, n))
    for names, weight in ((EXPECTED[:3], counted), (EXPECTED[3:], counted * model.hours[first:])):
        value = running(daily * weight, length)[:n]
        hours = np.array([running(one, length)[:n] for one in drawn_daily * weight])
        table[names[0]], (table[names[1]], table[names[2]]) = value, _around(hours, value)
    table["share"] = 0.0
    if eligible.any():
        ranked = rank_windows(drawn[:, eligible], hours=hours[:, eligible], tol=drawing.tolerance)
        table.loc[eligible, "share"] = ranked
    table["loss"], table["loss_high"] = _losses(chance, drawn, eligible)
    most = table.loc[eligible, "expected_hours"].max()
    return table.assign(hours_lost=1 - table["expected_hours"] / most)


def telling_count(model: DayModel, *, length: int) -> int:
    """Smallest of `COUNTS` opening days for which even the best window is not all but certain."""
    possible = [count for count in COUNTS if count <= length]
    fitted = model.coef[None], np.array([model.season_sd])
    for count in possible:
        if window_chances(*fitted, length=length, at_least=count)[0].max() < SATURATED:
            return count
    return possible[-1]


def rank_windows(drawn: np.ndarray, *, hours: np.ndarray | None = None, tol: float = TOLERANCE) -> np.ndarray:
    """How often each window is near-best.

    Parameters
    ----------
    drawn : array (draws, windows)
        Chances under several sets of coefficients.
    hours : array (draws, windows), optional
        Expected open hours under them.
    tol : float
        A window is near-best if it loses no more chance than this against the best, and no larger part
        of the most open hours.

    Returns
    -------
    array (windows,)
        Share of the draws.
    """
    near = drawn >= drawn.max(axis=1, keepdims=True) - tol
    if hours is not None:
        near &= hours >= (1 - tol) * hours.max(axis=1, keepdims=True)
    return near.mean(axis=0)


def near_best(share: pd.Series) -> pd.Series:
    """Windows near-best in half of the draws, or in most of them where none is so in half; mask."""
    return (share > 0) & (share >= min(HALF, share.max()))


def running(daily: np.ndarray, length: int) -> np.ndarray:
    """Sum over each day and the `length` - 1 that follow, going round the year."""
    total = np.concatenate([[0.0], np.cumsum(np.concatenate([daily, daily[: length - 1]]))])
    return total[length:] - total[:-length]


def _about(one: DaySeries, *, length: int) -> dict[str, Any]:
    about = {**one.keys(), "days": length, "seasons": seasons_behind(one.days)}
    return about | {"tier": one.verdict.tier, "verdict": one.verdict.status}


def _coming(model: DayModel, sets, chances: dict) -> tuple:
    """First day, chances of windows and days as fitted, and under each set: of a season not begun."""
    chance, daily = window_chances(model.coef[None], np.array([model.season_sd]), **chances)
    return 0, chance[0], daily[0], *window_chances(*sets, **chances)


def _rest(model: DayModel, sets, so_far: pd.DataFrame, chances: dict) -> tuple:
    """The same of what is left of a season; as fitted is the mean, since the season's level is hardly known."""
    column = model.effect_column(int(so_far["season"].iloc[0]))
    first = int(so_far["season_day"].max()) + 1 - SEASON_DAYS[0]
    state = state_after(model, so_far)
    drawn, daily = rest_chances(sets[0], sets[0][:, column], state=state, first=first, **chances)
    return first, drawn.mean(axis=0), daily.mean(axis=0), drawn, daily


def _losses(chance, drawn, eligible) -> tuple[np.ndarray, np.ndarray]:
    """Chance lost against the best eligible window, as fitted and at worst (95 % of the draws)."""
    best = drawn[:, eligible].max(axis=1, initial=0, keepdims=True)
    worst = np.quantile(best - drawn, (1 + LEVEL) / 2, axis=0)
    return chance[eligible].max(initial=0) - chance, worst


def _around(drawn: np.ndarray, value: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """90 % interval of draws, stretched where it would leave the fitted value outside."""
    low, high = np.quantile(drawn, [(1 - LEVEL) / 2, (1 + LEVEL) / 2], axis=0)
    return np.minimum(low, value), np.maximum(high, value)

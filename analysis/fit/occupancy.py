"""The main model: was the band open, and would the listeners have noticed?

A half-hour is open with a chance that follows smooth daily and yearly cycles and the season; an open
half-hour is detected in each listening station-slot with a chance of its own. Silence of many
listeners then says more than silence of one, and growing activity no longer looks like a better band.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.optimize import minimize
from scipy.special import expit

from analysis.fit.assess import assess, opening_days
from analysis.fit.counts import Counts, block_centre, count
from analysis.fit.curves import Fit, curve
from analysis.fit.glm import irls
from analysis.fit.harmonics import HARMONICS, design, penalty, supported

__all__ = ["Fit", "curve", "fit_occupancy"]

SEASON_RIDGE = 2.0
SLOT_RIDGE = 0.02  # keeps the detection chance off 0 and 1, where a perfect receiver would send it
REPEATS_NEEDED = 20  # open half-hours with two listening slots or more, to tell "open" from "noticed"
WITHIN_GROUPS = 8  # parts of a lone season that are left out in turn


@dataclass(frozen=True)
class _Problem:
    """One weighted likelihood: design rows, their open half-hours, silent half-hours by effort."""

    x: np.ndarray
    open_bins: np.ndarray
    season: np.ndarray
    silent_row: np.ndarray
    silent_slots: np.ndarray
    silent_bins: np.ndarray
    hits: np.ndarray
    misses: np.ndarray
    trend: np.ndarray
    ridge: np.ndarray


def fit_occupancy(
    cells: pd.DataFrame, *, harmonics: tuple = HARMONICS, smooth: float = 10.0, tier: str = "A"
) -> Fit:
    """Fit the chance that a half-hour is open to the cells of one series.

    Parameters
    ----------
    cells : DataFrame
        Half-hours, columns `start season season_day hour n_listening n_detected`.
    harmonics : tuple of four int
        Largest orders, see `harmonics.design`; fewer are used when opening days are few.
    smooth : float
        Ridge on the harmonics; 10 was best in leave-one-season-out trials.
    tier : str
        Evidence tier A, B or C.

    Returns
    -------
    Fit
        With one refit per season left out (or per eighth of a lone season), from which every
        interval comes. Where `assess` refuses, a fit without coefficients that says why.

    References
    ----------
    MacKenzie et al. 2002, Ecology 83, 2248 (occupancy when detection is imperfect).
    """
    verdict = assess(cells, tier=tier)
    counts = count(cells)
    if verdict.status == "refuse":
        return Fit(verdict, counts, harmonics)
    orders = supported(harmonics, opening_days=opening_days(cells))
    problem = _problem(counts, orders, smooth)
    told_apart = counts.heard["repeats"].sum() >= REPEATS_NEEDED
    solve = _solve if told_apart else _solve_plain
    whole = solve(problem, None)
    refits = [solve(part, whole) for part in _left_out(problem, counts)]
    return Fit(
        verdict,
        counts,
        orders,
        coef=whole,
        refits=np.array(refits),
        method="occupancy-detection" if told_apart else "share of monitored half-hours (one slot each)",
    )


def _problem(counts: Counts, harmonics: tuple, smooth: float) -> _Problem:
    classes, silent = counts.classes, counts.silent
    n_seasons = len(counts.seasons)
    season = classes["season_index"].to_numpy()
    smooth_part = design(
        classes["half"].to_numpy() / 2 + 0.25, block_centre(classes["block"].to_numpy()), harmonics=harmonics
    )
    trend = counts.seasons - counts.seasons.mean() if n_seasons > 2 else np.zeros(n_seasons)
    return _Problem(
        x=np.column_stack([smooth_part, np.eye(n_seasons)[season]]),
        open_bins=classes["open_bins"].to_numpy(float),
        season=season,
        silent_row=silent["row"].to_numpy(),
        silent_slots=silent["slots"].to_numpy(float),
        silent_bins=silent["bins"].to_numpy(float),
        hits=counts.heard["hits"].to_numpy(float),
        misses=counts.heard["misses"].to_numpy(float),
        trend=trend.astype(float),
        ridge=np.r_[
            penalty(harmonics=harmonics, smooth=smooth), np.full(n_seasons, SEASON_RIDGE), [SLOT_RIDGE] * 2
        ],
    )


def _left_out(problem: _Problem, counts: Counts):
    """The same problem without each season in turn, or without each eighth of a lone season."""
    if len(counts.seasons) > 1:
        group, n_groups = problem.season, len(counts.seasons)
    else:  # pairs of five-day blocks are dealt out, so that every part spans the season
        group, n_groups = counts.classes["block"].to_numpy() // 2 % WITHIN_GROUPS, WITHIN_GROUPS
    for left in range(n_groups):
        kept = group != left
        silent = kept[problem.silent_row]
        share = np.bincount(problem.season, problem.open_bins * kept, len(counts.seasons)) / np.maximum(
            np.bincount(problem.season, problem.open_bins, len(counts.seasons)), 1
        )
        yield _Problem(
            problem.x,
            problem.open_bins * kept,
            problem.season,
            problem.silent_row[silent],
            problem.silent_slots[silent],
            problem.silent_bins[silent],
            problem.hits * share,
            problem.misses * share,
            problem.trend,
            problem.ridge,
        )


def objective(beta: np.ndarray, problem: _Problem) -> tuple[float, np.ndarray]:
    """Penalised negative log likelihood and its gradient; the last two of `beta` are detection's."""
    eta = problem.x @ beta[:-2]
    slot = beta[-2] + beta[-1] * problem.trend
    missed = -np.logaddexp(0, slot)  # log chance that a slot of an open half-hour stays silent
    silence = problem.silent_slots * missed[problem.season][problem.silent_row]
    eta_silent = eta[problem.silent_row]
    value = (
        problem.open_bins @ -np.logaddexp(0, -eta) + problem.hits @ (slot + missed) + problem.misses @ missed
    )
    value += problem.silent_bins @ (np.logaddexp(0, eta_silent + silence) - np.logaddexp(0, eta_silent))
    unnoticed = problem.silent_bins * expit(eta_silent + silence)  # expected open among the silent
    by_row = np.bincount(problem.silent_row, unnoticed - problem.silent_bins * expit(eta_silent), len(eta))
    by_row += problem.open_bins * expit(-eta)
    lost = np.bincount(
        problem.season[problem.silent_row], unnoticed * problem.silent_slots, len(problem.trend)
    )
    by_season = problem.hits - (problem.hits + problem.misses + lost) * expit(slot)
    gradient = np.r_[problem.x.T @ by_row, by_season.sum(), by_season @ problem.trend]
    return (
        0.5 * float(problem.ridge @ beta**2) - float(value),
        problem.ridge * beta - gradient,
    )


def _solve(problem: _Problem, start: np.ndarray | None) -> np.ndarray:
    """L-BFGS in coordinates in which the likelihood is nearly round, so that few steps are needed."""
    if start is None:
        hits, misses = problem.hits.sum(), problem.misses.sum()
        start = np.r_[_solve_plain(problem, None)[:-2], np.log((hits + 0.5) / (misses + 0.5)), 0.0]
    root = np.linalg.cholesky(_information(problem, start))
    back = np.linalg.inv(root).T

    def turned(gamma):
        value, gradient = objective(start + back @ gamma, problem)
        return value, back.T @ gradient

    found = minimize(turned, np.zeros(len(start)), jac=True, method="L-BFGS-B", options={"gtol": 1e-4})
    return start + back @ found.x


def _information(problem: _Problem, beta: np.ndarray) -> np.ndarray:
    """Curvature of the likelihood as if openness were seen: good enough to set the scale."""
    rows = len(problem.open_bins)
    bins = problem.open_bins + np.bincount(problem.silent_row, problem.silent_bins, rows)
    rate = expit(problem.x @ beta[:-2])
    slot = expit(beta[-2] + beta[-1] * problem.trend)
    known = (problem.hits + problem.misses) * slot * (1 - slot)
    size = len(beta)
    information = np.diag(problem.ridge + 1e-6)
    information[: size - 2, : size - 2] += problem.x.T @ (problem.x * (bins * rate * (1 - rate))[:, None])
    information[-2, -2] += known.sum()
    information[-1, -1] += known @ problem.trend**2 + 1
    return information


def _solve_plain(problem: _Problem, start: np.ndarray | None) -> np.ndarray:
    """The plain regression on the same rows; detection is taken as certain."""
    rows = len(problem.open_bins)
    bins = problem.open_bins + np.bincount(problem.silent_row, problem.silent_bins, rows)
    begin = None if start is None else start[:-2]
    beta = irls(problem.x, successes=problem.open_bins, trials=bins, penalty=problem.ridge[:-2], start=begin)
    return np.r_[beta, np.inf, 0.0]

"""The main model: was the band open, and would the listeners have noticed?

A half-hour is open with a chance that follows smooth daily and yearly cycles and the season; an open
half-hour is detected in each listening station-slot with a chance of its own, some with a small one;
now and then a report is false, as often as lone reports at all hours of the year show. Silence of many
listeners then says more than silence of one, growing activity no longer looks like a better band, and a
lone report in the dead of winter counts for less than one in June.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from scipy.optimize import minimize
from scipy.special import expit, logit

from analysis.fit.assess import OPEN_SHARE_LIMIT, Verdict, all_false, always_open, assess, opening_days
from analysis.fit.model.counts import Counts, block_centre, count
from analysis.fit.model.curves import Fit, curve, refit_groups
from analysis.fit.model.glm import irls
from analysis.fit.model.harmonics import HARMONICS, design, penalty, supported

__all__ = ["Fit", "curve", "fit_occupancy", "fit_plain"]

SEASON_RIDGE = 2.0
LEVEL_RIDGE = 0.02  # keeps the chance off 0 where false reports explain all that was heard
SLOT_RIDGE = 0.2  # keeps the detection chance off 1 (a perfect receiver) and off 0 (false reports only)
WRONG_RIDGE = 1.0  # the rate of false reports is known to about a factor of three,
WRONG_REACH = np.log(4.0)  # and within four times: lone reports of weak openings would be taken for more
REPEATS_NEEDED = 20  # open half-hours with two listening slots or more, to tell "open" from "noticed"
FALSE_REPORTS = 1e-4  # usual chance of a false report per listening station and ten-minute slot
LEAST_SLOT = 0.05  # a smaller detection chance is that of false reports, not of a receiver
REAL_NEEDED = 10  # half-hours heard that are no false report, below which nothing is fitted
WEAK = 0.1  # assumed share of open half-hours that are hard to notice: open in part, or at the edge
WEAK_SLOT = 0.2  # chance of a detection in a slot of those, against the others
CERTAIN = 30.0  # log odds of a detection that is taken for granted
WITHIN_GROUPS = 8  # parts of a lone season that are left out in turn


@dataclass(frozen=True)
class _Problem:
    """One weighted likelihood: design rows, and looks at them (slots, hits, how many half-hours)."""

    x: np.ndarray
    season: np.ndarray
    row: np.ndarray
    slots: np.ndarray
    hits: np.ndarray
    bins: np.ndarray
    trend: np.ndarray
    ridge: np.ndarray
    false_reports: float
    weak: float


def fit_occupancy(
    cells: pd.DataFrame,
    *,
    harmonics: tuple = HARMONICS,
    smooth: float = 10.0,
    tier: str = "A",
    false_reports: float = FALSE_REPORTS,
    weak: float = WEAK,
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
    false_reports : float
        Usual chance of a false report per listening station and ten-minute slot; the rate is fitted,
        within four times this one.
    weak : float
        Assumed share of open half-hours that are hard to notice; used for tier A only, since people who
        come on because it is open make up for them. The chance rises by at most about a tenth.

    Returns
    -------
    Fit
        With one refit per season left out (per group of seasons where there are more than 16, per
        eighth of a lone season), from which every interval comes. Where `assess` refuses, a fit
        without coefficients that says why.

    References
    ----------
    MacKenzie et al. 2002, Ecology 83, 2248 (occupancy when detection is imperfect); Royle and Link
    2006, Ecology 87, 835 (false reports).
    """
    verdict = assess(cells, tier=tier)
    counts = count(cells)
    if verdict.status == "refuse":
        return Fit(verdict, counts, harmonics)
    orders = supported(harmonics, opening_days=opening_days(cells), seasons=len(counts.seasons))
    problem = _problem(counts, orders, smooth, false_reports, weak=weak if tier == "A" else 0.0)
    repeats = counts.looks.loc[(counts.looks["hits"] > 0) & (counts.looks["slots"] > 1), "bins"].sum()
    solve = _solve if repeats >= REPEATS_NEEDED else _solve_plain
    method = "occupancy-detection" if solve is _solve else "share of monitored half-hours (one slot each)"
    whole, refits = _refitted(problem, counts, solve)
    verdict = _believed(verdict, problem, whole)
    if verdict.status == "refuse":
        return Fit(verdict, counts, orders)
    return Fit(verdict, counts, orders, whole, refits, method, float(expit(_wrong(problem, whole))))


def fit_plain(
    cells: pd.DataFrame, *, harmonics: tuple = HARMONICS, smooth: float = 10.0, tier: str = "A"
) -> Fit:
    """The plain companion of `fit_occupancy`: the smoothed share of monitored half-hours with a detection.

    It asks for nothing but that somebody listened, and so says too little where listeners are few: a
    lower bound. Parameters and result as for `fit_occupancy`.
    """
    verdict = assess(cells, tier=tier)
    counts = count(cells)
    if verdict.status == "refuse":
        return Fit(verdict, counts, harmonics)
    orders = supported(harmonics, opening_days=opening_days(cells), seasons=len(counts.seasons))
    problem = _problem(counts, orders, smooth, FALSE_REPORTS)
    method = "share of monitored half-hours"
    return Fit(verdict, counts, orders, *_refitted(problem, counts, _solve_plain), method, FALSE_REPORTS)


def _refitted(problem: _Problem, counts: Counts, solve: Callable) -> tuple[np.ndarray, np.ndarray]:
    """Coefficients of the whole, and of every part with some seasons left out."""
    whole = solve(problem, None)
    return whole, np.array([solve(part, whole) for part in _left_out(problem, counts)])


def _believed(verdict: Verdict, problem: _Problem, beta: np.ndarray) -> Verdict:
    """The verdict once it is known how much of what was heard is no false report."""
    eta = (problem.x @ beta[:-3])[problem.row]
    if np.average(expit(eta), weights=problem.bins) > OPEN_SHARE_LIMIT:
        return always_open(verdict.tier)
    slot = expit(beta[-2] + beta[-1] * problem.trend)[problem.season]
    wrong = _wrong(problem, beta)
    if_shut = problem.hits * wrong - problem.slots * np.logaddexp(0, wrong)
    heard = expit(eta + _noticed(problem, slot)[0] - if_shut) * (problem.hits > 0)
    real = problem.bins @ heard >= REAL_NEEDED and expit(beta[-2]) >= LEAST_SLOT
    return verdict if real else all_false(verdict.tier)


def _problem(
    counts: Counts, harmonics: tuple, smooth: float, false_reports: float, *, weak: float = 0.0
) -> _Problem:
    classes, looks = counts.classes, counts.looks.to_numpy().T
    n_seasons = len(counts.seasons)
    season = classes["season_index"].to_numpy()
    hour, day = classes["half"].to_numpy() / 2 + 0.25, block_centre(classes["block"].to_numpy())
    trend = counts.seasons - counts.seasons.mean() if n_seasons > 2 else np.zeros(n_seasons)
    ridge = penalty(harmonics=harmonics, smooth=smooth)
    return _Problem(
        x=np.column_stack([design(hour, day, harmonics=harmonics), np.eye(n_seasons)[season]]),
        season=season[looks[0]],
        row=looks[0],
        slots=looks[1].astype(float),
        hits=looks[2].astype(float),
        bins=looks[3].astype(float),
        trend=trend.astype(float),
        ridge=np.r_[LEVEL_RIDGE, ridge[1:], [SEASON_RIDGE] * n_seasons, WRONG_RIDGE, [SLOT_RIDGE] * 2],
        false_reports=false_reports,
        weak=weak,
    )


def _left_out(problem: _Problem, counts: Counts) -> Iterator[_Problem]:
    """The same problem without each season in turn, or without each eighth of a lone season."""
    if len(counts.seasons) > 1:
        n_groups = refit_groups(len(counts.seasons))
        group = problem.season % n_groups
    else:  # pairs of five-day blocks are dealt out, so that every part spans the season
        pairs = np.unique(counts.classes["block"].to_numpy() // 2, return_inverse=True)[1]
        n_groups = min(WITHIN_GROUPS, pairs.max() + 1)
        group = pairs[problem.row] % n_groups
    for left in range(n_groups):
        yield replace(problem, bins=problem.bins * (group != left))


def objective(beta: np.ndarray, problem: _Problem) -> tuple[float, np.ndarray]:
    """Penalised negative log likelihood and its gradient.

    The last three of `beta`: log odds of a false report over the usual ones, of a detection, its trend.
    """
    row, slots, hits, bins = problem.row, problem.slots, problem.hits, problem.bins
    eta = (problem.x @ beta[:-3])[row]
    if_open, by_slot = _noticed(problem, expit(beta[-2] + beta[-1] * problem.trend)[problem.season])
    wrong = _wrong(problem, beta)
    if_shut = hits * wrong - slots * np.logaddexp(0, wrong)
    value = bins @ (np.logaddexp(eta + if_open, if_shut) - np.logaddexp(0, eta))
    opened = expit(eta + if_open - if_shut)  # chance that the half-hour was open, given what was heard
    by_row = np.bincount(row, bins * (opened - expit(eta)), len(problem.x))
    by_wrong = bins * (1 - opened) @ (hits - slots * expit(wrong)) / np.cosh(beta[-3] / WRONG_REACH) ** 2
    by_slot *= bins * opened
    by_detection = by_wrong, by_slot.sum(), by_slot @ problem.trend[problem.season]
    gradient = np.r_[problem.x.T @ by_row, by_detection]
    return 0.5 * float(problem.ridge @ beta**2) - float(value), problem.ridge * beta - gradient


def _wrong(problem: _Problem, beta: np.ndarray) -> float:
    """Log odds of a false report in a slot, between a quarter and four times the usual."""
    return float(logit(problem.false_reports) + WRONG_REACH * np.tanh(beta[-3] / WRONG_REACH))


def _noticed(problem: _Problem, slot: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Log chance of the detections if a half-hour is open, and its slope along the logit of `slot`.

    Without the weak ones a single detection among many slots would be laid to a false report.
    """
    slots, hits, slot = problem.slots, problem.hits, np.clip(slot, 1e-12, 1 - 1e-12)
    faint = WEAK_SLOT * slot
    strong = hits * np.log(slot) + (slots - hits) * np.log1p(-slot)
    if not problem.weak:
        return strong, hits - slots * slot
    weak = hits * np.log(faint) + (slots - hits) * np.log1p(-faint)
    both = np.logaddexp(np.log1p(-problem.weak) + strong, np.log(problem.weak) + weak)
    part = np.exp(np.log(problem.weak) + weak - both)
    slope = (1 - part) * (hits - slots * slot)
    return both, slope + part * (hits - slots * faint) * (1 - slot) / (1 - faint)


def _solve(problem: _Problem, start: np.ndarray | None) -> np.ndarray:
    """L-BFGS in coordinates in which the likelihood is nearly round, so that few steps are needed."""
    if start is None:
        heard = problem.bins * (problem.hits > 0)
        hits, slots = heard @ problem.hits, heard @ problem.slots
        start = _solve_plain(problem, None)
        start[-2] = np.log((hits + 0.5) / (slots - hits + 0.5))
    root = np.linalg.cholesky(_information(problem, start))
    back = np.linalg.inv(root).T

    def turned(gamma):
        value, gradient = objective(start + back @ gamma, problem)
        return value, back.T @ gradient

    found = minimize(turned, np.zeros(len(start)), jac=True, method="L-BFGS-B", options={"gtol": 1e-4})
    return start + back @ found.x


def _information(problem: _Problem, beta: np.ndarray) -> np.ndarray:
    """Curvature of the likelihood as if openness were seen: good enough to set the scale."""
    rate = expit(problem.x @ beta[:-3])
    weight = np.bincount(problem.row, problem.bins, len(rate)) * rate * (1 - rate)
    slot = expit(beta[-2] + beta[-1] * problem.trend)[problem.season]
    known = problem.bins * (problem.hits > 0) * problem.slots * slot * (1 - slot)
    information = np.diag(problem.ridge + 1e-6)
    information[:-3, :-3] += problem.x.T @ (problem.x * weight[:, None])
    information[-3, -3] += problem.bins @ problem.slots * problem.false_reports
    information[-2, -2] += known.sum()
    information[-1, -1] += known @ problem.trend[problem.season] ** 2 + 1
    return information


def _solve_plain(problem: _Problem, start: np.ndarray | None) -> np.ndarray:
    """The plain regression on the same rows; detection is taken as certain."""
    rows = len(problem.x)
    opened = np.bincount(problem.row, problem.bins * (problem.hits > 0), rows)
    bins = np.bincount(problem.row, problem.bins, rows)
    begin = None if start is None else start[:-3]
    beta = irls(problem.x, successes=opened, trials=bins, penalty=problem.ridge[:-3], start=begin)
    return np.r_[beta, 0.0, CERTAIN, 0.0]

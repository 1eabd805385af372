"""The main model: was the band open, and would the listeners have noticed?

A half-hour is open with a chance that follows smooth daily and yearly cycles and the season; an open
half-hour is detected in each listening station-slot with a chance of its own, some with a small one;
now and then a report is false, as often as lone reports at all hours of the year show. Silence of many
listeners then says more than silence of one, growing activity no longer looks like a better band, and a
lone report in the dead of winter counts for less than one in June.

No library at hand has this model, a mixture with false reports on top of occupancy, so it is written out here;
`plain` is its companion in statsmodels.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import expit, logit

from analysis.fit.assess import OPEN_SHARE_LIMIT, Verdict, all_false, always_open, assess, days_heard
from analysis.fit.model import mixture
from analysis.fit.model.counts import Counts, count
from analysis.fit.model.curves import Fit, curve
from analysis.fit.model.harmonics import HARMONICS, supported
from analysis.fit.model.openness import left_out, openness

__all__ = ["Fit", "curve", "fit_occupancy"]

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

    Examples
    --------
    >>> from analysis import fit_occupancy, half_hours, open_tables
    >>> season = open_tables(None)  # the demo; the folder of your own review's tables in its place
    >>> cells = half_hours(season.spots, season.listening, band="6m", mechanism="ES")
    >>> fit_occupancy(cells, tier="A").verdict.status
    'ok'
    """
    verdict = assess(cells, tier=tier)
    counts = count(cells)
    if verdict.status == "refuse":
        return Fit(verdict, counts, harmonics)
    orders = supported(harmonics, opening_days=days_heard(cells), seasons=len(counts.seasons))
    problem = occupancy_problem(counts, orders, smooth, false_reports, weak=weak if tier == "A" else 0.0)
    looks = counts.looks
    repeats = looks.loc[(looks["hits"] > 0) & (looks["slots"] > 1), "bins"].sum()
    plain = repeats < REPEATS_NEEDED
    method = "share of monitored half-hours (one slot each)" if plain else "occupancy-detection"
    whole, refits = _refitted(problem, counts, plain=plain)
    verdict = believed(verdict, problem, whole)
    if expit(whole[-2]) < LEAST_SLOT and verdict.status != "refuse":
        verdict = all_false(tier)
    if verdict.status == "refuse":
        return Fit(verdict, counts, orders)
    noticed, wrong = _seen_by(counts, whole), expit(_wrong(whole[-3], false_reports)[0])
    return Fit(verdict, counts, orders, whole, refits, method, float(wrong * _mean_slots(counts)), noticed)


def believed(verdict: Verdict, problem: mixture.Problem, beta: NDArray) -> Verdict:
    """The verdict once it is known how much of what was heard is no false report."""
    eta = (problem.x @ problem.split(beta)[0])[problem.row]
    if np.average(expit(eta), weights=problem.bins) > OPEN_SHARE_LIMIT:
        return always_open(verdict.tier)
    heard = mixture.posterior(beta, problem) * problem.heard
    return verdict if problem.bins @ heard >= REAL_NEEDED else all_false(verdict.tier)


def occupancy_problem(
    counts: Counts, harmonics: tuple, smooth: float, false_reports: float, *, weak: float = 0.0
) -> mixture.Problem:
    """The likelihood of the looks at every class.

    The last three coefficients: log odds of a false report over the usual ones, of a detection, its trend.
    """
    row, slots, hits, bins = counts.looks[["row", "slots", "hits", "bins"]].to_numpy().T
    trend = _years(counts)[counts.classes["season_index"].to_numpy()[row]]
    none, one = np.zeros(len(row)), np.ones(len(row))
    by_slot, by_wrong = np.column_stack([none, one, trend]), np.column_stack([one, none, none])
    x, ridge = openness(counts, harmonics=harmonics, smooth=smooth)

    def seen(detection: NDArray) -> tuple[mixture.Terms, mixture.Terms]:
        slot = expit(by_slot @ detection)
        wrong, by, bend = _wrong(detection[0], false_reports)
        chance = expit(wrong)
        excess = hits - slots * chance
        shut = (
            hits * wrong - slots * np.logaddexp(0, wrong),
            excess * by,
            excess * bend - slots * chance * (1 - chance) * by**2,
        )
        return mixture.Terms(*_noticed(slots, hits, slot, weak), by_slot), mixture.Terms(*shut, by_wrong)

    ridge = np.r_[ridge, WRONG_RIDGE, SLOT_RIDGE, SLOT_RIDGE]
    return mixture.Problem(x=x, row=row, bins=bins.astype(float), heard=hits > 0, ridge=ridge, seen=seen)


def _refitted(problem: mixture.Problem, counts: Counts, *, plain: bool) -> tuple[NDArray, NDArray]:
    """Coefficients of the whole, and of every part with some seasons left out."""
    solve = _plain if plain else mixture.solve
    whole = _plain(problem, None)
    if not plain:
        heard = counts.looks[counts.looks["hits"] > 0]
        hits, slots = (heard["bins"].to_numpy() @ heard[name].to_numpy() for name in ("hits", "slots"))
        whole = solve(problem, np.r_[whole[:-2], np.log((hits + 0.5) / (slots - hits + 0.5)), 0.0])
    parts = [problem.weighted(problem.bins * kept[problem.row]) for kept in left_out(counts)]
    return whole, np.array([solve(part, whole) for part in parts])


def _years(counts: Counts) -> NDArray:
    """Years of the seasons from their middle, along which detection may change; none with two or fewer."""
    few = len(counts.seasons) < 3
    return np.zeros(len(counts.seasons)) if few else counts.seasons - counts.seasons.mean()


def _mean_slots(counts: Counts) -> float:
    return counts.classes["slots"].sum() / counts.classes["bins"].sum()


def _seen_by(counts: Counts, beta: NDArray) -> NDArray:
    """Chance that an open half-hour of each class shows a detection."""
    slot = expit(beta[-2] + beta[-1] * _years(counts))[counts.classes["season_index"].to_numpy()]
    return 1 - (1 - slot) ** (counts.classes["slots"] / counts.classes["bins"]).to_numpy()


def _wrong(over: float, false_reports: float) -> tuple[float, float, float]:
    """Log odds of a false report in a slot, between a quarter and four times the usual, and its slopes."""
    bent = np.tanh(over / WRONG_REACH)
    slope = 1 - bent**2
    return float(logit(false_reports) + WRONG_REACH * bent), slope, -2 * bent * slope / WRONG_REACH


def _noticed(slots: NDArray, hits: NDArray, slot: NDArray, weak: float) -> tuple[NDArray, NDArray, NDArray]:
    """Log chance of the detections if a half-hour is open, with two slopes along the logit of `slot`.

    Without the weak ones a single detection among many slots would be laid to a false report.
    """
    slot = np.clip(slot, 1e-12, 1 - 1e-12)
    strong = hits * np.log(slot) + (slots - hits) * np.log1p(-slot)
    slope, bend = hits - slots * slot, -slots * slot * (1 - slot)
    if not weak:
        return strong, slope, bend
    faint = WEAK_SLOT * slot
    part = (1 - slot) / (1 - faint)
    excess = hits - slots * faint
    faint_bend = -slots * faint * (1 - slot) * part + excess * (1 - slot) * (faint - slot) / (1 - faint) ** 2
    lone = np.log(weak) + hits * np.log(faint) + (slots - hits) * np.log1p(-faint)
    both = np.logaddexp(np.log1p(-weak) + strong, lone)
    share = np.exp(lone - both)
    apart = slope - excess * part
    return (
        both,
        slope - share * apart,
        (1 - share) * bend + share * faint_bend + share * (1 - share) * apart**2,
    )


def _plain(problem: mixture.Problem, start: NDArray | None) -> NDArray:
    """The plain regression on the same rows; detection is taken as certain."""
    openness_start = None if start is None else problem.split(start)[0]
    return np.r_[mixture.as_if_seen(problem, start=openness_start), 0.0, CERTAIN, 0.0]

"""The main model where it is known who could have noticed: openness fitted, detection learnt by thinning.

A half-hour is open with a chance that follows smooth daily and yearly cycles and the season. With n
watched paths an open half-hour shows a report with a chance that is learnt beforehand, inside half-hours
known to be open (`thinning`); now and then a report is false. Fitted together, detection and openness
make up for one another, most of all where people come on because the band is open.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import expit

from analysis.fit.assess import Verdict, assess, days_heard, too_few_watched
from analysis.fit.model import mixture, thinning
from analysis.fit.model.counts import BLOCK_DAYS, FIRST_DAY, Counts, count
from analysis.fit.model.curves import Fit
from analysis.fit.model.harmonics import HARMONICS, supported
from analysis.fit.model.occupancy import believed
from analysis.fit.model.openness import left_out, openness

# Of the openings, below which a level rests more on what thinned listening misses than on what was heard: in
# the demo such a series came out at .9 (2 m sporadic E) and at 1.9 times the truth (2 m tropo over sea).
MOSTLY_NOTICED = 0.5
UNNOTICED = "{:.0%} of the openings would have gone unnoticed, so the level may be off by a factor of two"
METHOD = "occupancy-detection on watched paths (a lower bound: nobody watches all of the sky)"
MOST_FALSE = 0.02  # share of the half-hours with a false report, at most (judgement; the fit finds far less)
USUAL_FALSE = -4.0  # log odds within that, about which the share is
FALSE_RIDGE = 0.1  # weakly
ROUNDS = 2  # of learning detection, then openness, which says how likely a lone report was real
DETECTED_NEEDED = 60  # half-hours with a report on a watched path, to learn from by thinning


def fit_paths(
    cells: pd.DataFrame,
    thinned: pd.DataFrame,
    *,
    harmonics: tuple = HARMONICS,
    smooth: float = 10.0,
    tier: str = "A",
) -> Fit:
    """Fit the chance that a half-hour is open to watched paths.

    Parameters
    ----------
    cells : DataFrame
        Half-hours, columns `start season season_day hour n_listening n_detected`: watched paths, and those
        with a report.
    thinned : DataFrame
        `start share n_watched seen`, see `find.watched.thinned`.
    harmonics, smooth, tier
        As for `occupancy.fit_occupancy`.

    Returns
    -------
    Fit
        As from `fit_occupancy`; refused also where fewer than 60 half-hours show a report on a watched path.
        Every refit learns detection anew from its own seasons.
    """
    counts = count(cells)
    verdict = _verdict(cells, tier)
    if verdict.status == "refuse":
        return Fit(verdict, counts, harmonics)
    orders = supported(harmonics, opening_days=days_heard(cells), seasons=len(counts.seasons))
    x, ridge = openness(counts, harmonics=orders, smooth=smooth)
    tests = _tests(cells, thinned, counts)
    law = thinning.learn(tests)
    problem = _problem(counts, x, ridge, law)
    whole = mixture.solve(problem, np.r_[mixture.as_if_seen(problem), 0.0])
    for _ in range(ROUNDS):
        tests = tests.assign(weight=_real(whole, problem, tests, law))
        law = thinning.learn(tests, start=law)
        problem = _problem(counts, x, ridge, law)
        whole = mixture.solve(problem, whole)
    verdict = believed(verdict, problem, whole)
    if verdict.status == "refuse":
        return Fit(verdict, counts, orders)
    refits = [_refit(counts, problem, tests, kept, start=(whole, law)) for kept in left_out(counts)]
    noticed = _noticed(counts, law)
    fit = Fit(verdict, counts, orders, whole, np.array(refits), METHOD, _false(whole[-1])[0], noticed)
    if mostly_noticed(fit):
        return fit
    return replace(fit, verdict=verdict.but(UNNOTICED.format(1 - _noticed_share(fit))))


def mostly_noticed(fit: Fit) -> bool:
    """Whether most openings would have shown a report, so that the level rests on what was heard."""
    return not len(fit.noticed) or _noticed_share(fit) >= MOSTLY_NOTICED


def _noticed_share(fit: Fit) -> float:
    return float(np.average(fit.noticed, weights=fit.counts.classes["bins"]))


def _verdict(cells: pd.DataFrame, tier: str) -> Verdict:
    verdict = assess(cells, tier=tier)
    detected = int((cells["n_detected"] > 0).sum())
    if verdict.status != "refuse" and detected < DETECTED_NEEDED:
        return too_few_watched(tier, detected, DETECTED_NEEDED)
    return verdict


def _problem(counts: Counts, x: NDArray, ridge: NDArray, law: NDArray) -> mixture.Problem:
    """Openness where detection is known; the last coefficient is the rate of false reports."""
    looks = counts.looks
    heard = (looks["hits"] > 0).to_numpy()
    missed = 1 - thinning.detection(looks["slots"].to_numpy(), law)
    along, sign = np.ones((len(looks), 1)), np.where(heard, 1.0, -1.0)

    def terms(unseen: NDArray | float, false: tuple[float, float, float]) -> mixture.Terms:
        """Of looks that show nothing real with chance `unseen`."""
        share, slope, bend = false
        # Written as a sum so that a trial step with next to no false reports keeps its digits.
        shown = np.maximum((1 - unseen) + unseen * share, 1e-300)
        chance = np.where(heard, shown, np.maximum(unseen * (1 - share), 1e-300))
        first = sign * unseen * slope / chance
        return mixture.Terms(np.log(chance), first, sign * unseen * bend / chance - first**2, along)

    def seen(detection: NDArray) -> tuple[mixture.Terms, mixture.Terms]:
        false = _false(detection[0])
        return terms(missed, false), terms(1.0, false)

    return mixture.Problem(
        x=x,
        row=looks["row"].to_numpy(),
        bins=looks["bins"].to_numpy(dtype=float),
        heard=heard,
        ridge=np.r_[ridge, FALSE_RIDGE],
        seen=seen,
    )


def _refit(
    counts: Counts,
    problem: mixture.Problem,
    tests: pd.DataFrame,
    kept: NDArray,
    *,
    start: tuple[NDArray, NDArray],
) -> NDArray:
    """Coefficients from the classes kept, with the detection that they speak for."""
    whole, law = start
    own = thinning.learn(tests[kept[tests["row"]]], start=law)
    part = _problem(counts, problem.x, problem.ridge[:-1], own)
    return mixture.solve(part.weighted(part.bins * kept[part.row]), whole)


def _false(odds: float) -> tuple[float, float, float]:
    """Share of half-hours with a false report, and its two slopes along the coefficient."""
    part = expit(odds + USUAL_FALSE)
    slope = MOST_FALSE * part * (1 - part)
    return float(MOST_FALSE * part), float(slope), float(slope * (1 - 2 * part))


def _noticed(counts: Counts, law: NDArray) -> NDArray:
    """Chance that an open half-hour of each class shows a report."""
    looks = counts.looks
    chance = looks["bins"] * thinning.detection(looks["slots"].to_numpy(), law)
    return np.bincount(looks["row"], chance) / counts.classes["bins"].to_numpy()


def _tests(cells: pd.DataFrame, thinned: pd.DataFrame, counts: Counts) -> pd.DataFrame:
    """`row left whole seen several share weight` of thinned half-hours; `row` is that of their class."""
    table = thinned.merge(cells, on="start", validate="many_to_one")
    after = np.searchsorted(counts.seasons, table["season"].to_numpy())
    keys = pd.DataFrame(
        {
            "season_index": np.minimum(after, len(counts.seasons) - 1),
            "block": (table["season_day"].to_numpy() - FIRST_DAY) // BLOCK_DAYS,
            "half": np.floor(table["hour"].to_numpy() * 2).astype("int64") % 48,
        }
    )
    rows = counts.classes[list(keys)].assign(row=np.arange(len(counts.classes)))
    return pd.DataFrame(
        {
            "row": keys.merge(rows, how="left", validate="many_to_one")["row"].to_numpy(),
            "left": table["n_watched"].to_numpy(dtype=float),
            "whole": table["n_listening"].to_numpy(dtype=float),
            "seen": table["seen"].to_numpy(dtype=bool),
            "several": (table["n_detected"] > 1).to_numpy(),
            "share": table["share"].to_numpy(),
            "weight": 1.0,
        }
    )


def _real(beta: NDArray, problem: mixture.Problem, tests: pd.DataFrame, law: NDArray) -> NDArray:
    """Weight of every thinned half-hour: the chance that it was really open."""
    openness_, (odds,) = problem.split(beta)
    noticed = expit(problem.x @ openness_)[tests["row"]] * thinning.detection(tests["whole"], law)
    real = noticed / (noticed + (1 - noticed) * _false(odds)[0])
    return np.where(tests["several"], 1.0, real)

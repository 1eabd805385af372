"""Openness fitted to watched paths: what is learnt, what is refused, and that effort does not bend it."""

from functools import cache

import numpy as np
import pandas as pd
import pytest
from scipy.optimize import minimize
from scipy.special import logit

from analysis.find import watched
from analysis.fit.model import paths, thinning
from analysis.fit.model.counts import count
from analysis.fit.model.curves import curve
from analysis.fit.model.mixture import objective, solve
from analysis.fit.model.openness import openness
from analysis.fit.model.paths import fit_paths
from tests.fit import region


@cache
def world(effort, *, seasons=4, seed=71):
    """One world with its cells and thinned half-hours."""
    found = region.region(effort, seasons=seasons, seed=seed)
    return found, *region.as_seen(found)


def test_thinning_tells_the_law_of_detection():
    """Half-hours noticed by a known law, thinned: the law is found again."""
    rng = np.random.default_rng(1)
    law = np.array([np.log(0.08), logit(0.75)])
    whole = rng.integers(5, 200, 4000)
    frames = []
    for share in (0.6, 0.3, 0.1):
        left = np.maximum((whole * share).astype(int), 1)
        chance = thinning.detection(left, law) / thinning.detection(whole, law)
        seen = rng.random(len(whole)) < chance
        frames.append(
            pd.DataFrame({"left": left, "whole": whole, "seen": seen, "share": share, "weight": 1.0})
        )
    found = thinning.learn(pd.concat(frames))
    np.testing.assert_allclose(found, law, atol=0.15)


def test_slopes_and_curvature_equal_finite_differences():
    """Every partial derivative, first and second, agrees with a central difference."""
    _, cells, _ = world("evenings")
    counts = count(cells)
    problem = paths._problem(counts, *openness(counts, harmonics=(2, 2, 0, 0), smooth=10.0), thinning.PRIOR)
    beta = np.random.default_rng(2).normal(0, 0.3, len(problem.ridge))
    beta[0] -= 3
    _, gradient, observed, _ = objective(beta, problem)
    ends = [[objective(beta + s * e, problem)[:2] for s in (1e-5, -1e-5)] for e in np.eye(len(beta))]
    np.testing.assert_allclose(gradient, [(up[0] - down[0]) / 2e-5 for up, down in ends], rtol=1e-4)
    curved = np.array([(up[1] - down[1]) / 2e-5 for up, down in ends])
    np.testing.assert_allclose(observed, curved, rtol=1e-4, atol=1e-6 * np.abs(curved).max())
    slow = minimize(
        lambda b: objective(b, problem)[:2], beta, jac=True, method="BFGS", options={"gtol": 1e-7}
    )
    np.testing.assert_allclose(solve(problem, beta), slow.x, atol=1e-6)


def test_effort_that_swings_with_the_hour_does_not_bend_the_curve():
    """Nearly everybody on in the evening: the curve keeps its morning, the counts of reports do not."""
    found, cells, table = world("diurnal")
    truth = region.usual()[0]
    fitted = curve(fit_paths(cells, table))
    assert region.shape_error(fitted["chance"], truth) <= 0.33
    counted = np.bincount((cells["hour"] * 2).astype(int), found.reports, 48)
    assert region.shape_error(counted, truth) > 3 * region.shape_error(fitted["chance"], truth)


def test_fewer_people_in_the_evening_do_not_move_the_curve():
    """Seven tenths of the squares silenced in the evenings: much fewer reports, nearly the same curve."""
    found, cells, table = world("evenings", seasons=6)
    before = curve(fit_paths(cells, table))["chance"].to_numpy()
    evening = cells["hour"].between(17, 22).to_numpy()
    kept = np.random.default_rng(3).random(found.watch.receivers.shape) < np.where(evening, 0.3, 1.0)[:, None]
    silenced = region.silenced(found, kept)
    after = curve(fit_paths(*region.as_seen(silenced)[:2]))["chance"].to_numpy()
    both = np.isfinite(before) & np.isfinite(after)
    ratio = (after[both] / before[both]) / np.mean(after[both] / before[both])
    hours = np.arange(48)[both] / 2
    assert abs(np.log(ratio[(hours >= 17) & (hours < 22)].mean())) < 0.35
    lost = region.as_seen(silenced)[0]["n_detected"].sum() / cells["n_detected"].sum()
    assert lost < 0.7


def test_hours_in_which_hardly_anybody_could_notice_are_blank():
    """Without receivers that always run the night has no number."""
    _, cells, table = world("no monitors")
    fit = fit_paths(cells, table, tier="B")
    night = curve(fit)["chance"].to_numpy()[4:8]
    assert np.isnan(night).all()


def test_too_few_reports_are_refused_in_words():
    """Below sixty half-hours with a report on a watched path."""
    _, cells, table = world("evenings")
    first = cells["start"].to_numpy()[np.flatnonzero(cells["n_detected"])[50]]
    few = cells.assign(n_detected=cells["n_detected"].where(cells["start"] < first, 0))
    fit = fit_paths(few, table[table["start"].isin(few.loc[few["n_detected"] > 0, "start"])])
    assert fit.verdict.status == "refuse"
    assert "both known to be on the air" in fit.verdict.reason
    assert len(fit.coef) == 0


def test_refits_learn_detection_anew():
    """A refit equals the fit without its season, up to what lone reports are held for."""
    _, cells, table = world("evenings")
    whole = fit_paths(cells, table)
    kept = cells[cells["season"] < cells["season"].max()]
    without = fit_paths(kept, table[table["start"].isin(kept["start"])])
    n = whole.coef.shape[0] - 5
    np.testing.assert_allclose(whole.refits[-1][:n], without.coef[:n], atol=0.03)


@pytest.mark.parametrize("share", [0.999])
def test_detection_grows_with_paths_and_ends_at_one(share):
    """None watched, none noticed; more watched, more noticed; very many, all."""
    chance = thinning.detection([0, 1, 10, 100, 1e5], thinning.PRIOR)
    assert chance[0] < 1e-3
    assert (np.diff(chance) > 0).all()
    assert chance[-1] > share
    assert watched.SHARES[0] < 1

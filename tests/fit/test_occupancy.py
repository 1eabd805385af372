"""The main model: right gradient, right answer where it can be known, words where it cannot."""

import numpy as np
import pandas as pd
import pytest
from scipy.optimize import minimize

from analysis.fit.model.counts import count
from analysis.fit.model.mixture import objective, solve
from analysis.fit.model.occupancy import curve, fit_occupancy, occupancy_problem
from analysis.fit.model.plain import plain_curve
from tests.fit.make_series import found, series


def steady(*, chance, slot, slots=6, seasons=4, seed=1):
    """Seasons without any cycle: every half-hour open with one chance, every slot detected with another."""
    rng = np.random.default_rng(seed)
    day, half = (x.ravel() for x in np.meshgrid(np.arange(-150, 150), np.arange(48), indexing="ij"))
    frames = []
    for season in range(2020, 2020 + seasons):
        start = pd.Timestamp(season, 6, 21, tz="UTC") + pd.to_timedelta(day * 24 + half / 2, unit="h")
        opened = rng.random(len(day)) < chance
        frame = pd.DataFrame({"start": start, "season": season, "season_day": day, "hour": half / 2 + 0.25})
        frames.append(frame.assign(n_listening=slots, n_detected=rng.binomial(slots, slot * opened)))
    return pd.concat(frames, ignore_index=True)


def a_problem(weak):
    """The likelihood of eight simulated seasons, and coefficients somewhere."""
    problem = occupancy_problem(count(found("es6").cells), (3, 3, 1, 1), 10.0, 1e-4, weak=weak)
    beta = np.random.default_rng(2).normal(0, 0.3, problem.x.shape[1] + 3)
    beta[0] -= 3
    return problem, beta


@pytest.mark.parametrize("weak", [0.0, 0.1])
def test_slopes_and_curvature_equal_finite_differences(weak):
    """Every partial derivative, first and second, agrees with a central difference."""
    problem, beta = a_problem(weak)
    _, gradient, observed, _ = objective(beta, problem)
    step = 1e-5
    ends = [
        [objective(beta + sign * step * one, problem)[:2] for sign in (1, -1)] for one in np.eye(len(beta))
    ]
    ahead = [(up[0] - down[0]) / (2 * step) for up, down in ends]
    np.testing.assert_allclose(gradient, ahead, rtol=1e-4)
    curved = np.array([(up[1] - down[1]) / (2 * step) for up, down in ends])
    np.testing.assert_allclose(observed, curved, rtol=1e-4, atol=1e-6 * np.abs(curved).max())


def test_few_steps_find_what_many_do():
    """Newton's steps end where a general minimiser ends that is given all the time it wants."""
    problem, beta = a_problem(0.1)
    quick = solve(problem, beta)
    slow = minimize(
        lambda b: objective(b, problem)[:2],
        beta,
        jac=True,
        method="BFGS",
        options={"gtol": 1e-7, "maxiter": 5000},
    )
    np.testing.assert_allclose(quick, slow.x, atol=1e-6)


def test_missed_openings_are_made_good():
    """Where slots notice one time in five the share heard is far below the truth; the fit is not."""
    cells = steady(chance=0.10, slot=0.2)
    heard = (cells["n_detected"] > 0).mean()
    table = curve(fit_occupancy(cells, false_reports=1e-9, weak=0.0))
    # The chance the cells were drawn with; 57 600 half-hours leave an error of about 2 %.
    assert table["chance"].mean() == pytest.approx(0.10, rel=0.05)
    assert heard < 0.08
    # Here no half-hour is weak; where some are taken to be, the fit says a tenth too much at most.
    assert 0.10 < curve(fit_occupancy(cells))["chance"].mean() < 0.11


def test_faint_half_hours_are_not_laid_to_false_reports():
    """One open half-hour in ten is noticed by one slot in eight: the fit loses none of them."""
    cells = steady(chance=0.03, slot=0.6, slots=9)
    rng = np.random.default_rng(4)
    faint = (cells["n_detected"] > 0) & (rng.random(len(cells)) < 0.1)
    cells["n_detected"] = cells["n_detected"].where(~faint, rng.binomial(9, 0.12, len(cells)))
    truth = 0.03  # the chance the cells were drawn with
    assert curve(fit_occupancy(cells))["chance"].mean() == pytest.approx(truth, rel=0.05)
    assert curve(fit_occupancy(cells, weak=0.0))["chance"].mean() < 0.95 * truth


def test_people_make_up_for_faint_half_hours():
    """Without monitors no half-hour is taken for weak: listeners come on because it is open."""
    cells = found("es6").cells
    np.testing.assert_array_equal(
        fit_occupancy(cells, tier="B").coef, fit_occupancy(cells, tier="B", weak=0.0).coef
    )


def test_false_reports_do_not_open_the_band():
    """Lone reports at the assumed rate count for little where the band is nearly always shut."""
    cells = steady(chance=0.002, slot=0.6)
    rng = np.random.default_rng(3)
    shut = (cells["n_detected"] == 0) & (rng.random(len(cells)) < 6 * 1e-4)
    noisy = cells.assign(n_detected=cells["n_detected"].where(~shut, 1))
    believed = curve(fit_occupancy(noisy, false_reports=1e-9))["chance"].mean()
    doubted = curve(fit_occupancy(noisy, false_reports=1e-4))["chance"].mean()
    assert believed > 0.0024
    assert doubted == pytest.approx(0.002, rel=0.12)


def test_one_slot_in_each_half_hour_cannot_tell_open_from_noticed():
    """With a single look at each half-hour the plain share is given, and the method says so."""
    cells = steady(chance=0.1, slot=1.0, slots=1)
    fit = fit_occupancy(cells)
    assert "one slot" in fit.method
    assert curve(fit)["chance"].mean() == pytest.approx((cells["n_detected"] > 0).mean(), rel=0.02)


def test_a_perfect_receiver_does_no_harm():
    """Every slot detected: the detection chance stays finite and the answer is the share."""
    cells = steady(chance=0.05, slot=1.0)
    fit = fit_occupancy(cells, weak=0.0)
    assert np.isfinite(fit.coef).all()
    assert np.isfinite(fit_occupancy(cells).coef).all()
    assert curve(fit)["chance"].mean() == pytest.approx((cells["n_detected"] > 0).mean(), rel=0.02)


def test_refits_leave_one_season_out():
    """A refit equals the fit of the data without that season."""
    cells = found("es6").cells
    whole = series("es6").fit
    last = cells["season"].max()
    without = fit_occupancy(cells[cells["season"] < last])
    np.testing.assert_allclose(
        whole.refits[-1][:17], without.coef[:17], atol=0.05
    )  # the trend of detection is centred on other years, so not exactly


def test_refused_fit_has_words_and_no_numbers():
    """Contacts only: no coefficients, a blank curve, a reason."""
    fit = fit_occupancy(found("es6").cells, tier="C")
    assert fit.verdict.status == "refuse"
    assert len(fit.coef) == 0
    assert curve(fit)["chance"].isna().all()


def test_the_plain_companion_is_a_lower_bound():
    """Where slots notice one time in five, the plain share stays below; where they notice all, it agrees."""
    few = steady(chance=0.10, slot=0.2)
    plain = plain_curve(few)["chance"].mean()
    assert plain == pytest.approx((few["n_detected"] > 0).mean(), rel=0.02)
    assert plain < curve(fit_occupancy(few))["chance"].mean()
    assert plain_curve(few, tier="C")["verdict"].tolist() == ["refuse"]

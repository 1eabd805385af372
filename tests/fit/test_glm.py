"""The plain companion equals an independent implementation, and does not diverge."""

import numpy as np
import pytest
import statsmodels.api as sm

from analysis.fit.model.counts import block_centre, count
from analysis.fit.model.glm import irls
from analysis.fit.model.harmonics import design
from tests.fit.make_series import found


@pytest.fixture(scope="module")
def classes():
    """Design, openings and half-hours of a simulated series."""
    table = count(found("es6").cells).classes
    x = design(table["half"].to_numpy() / 2 + 0.25, block_centre(table["block"].to_numpy()))
    return x, table["open_bins"].to_numpy(float), table["bins"].to_numpy(float)


@pytest.mark.outside
def test_equals_statsmodels_without_a_penalty(classes):
    """Same coefficients as another implementation of the same model."""
    x, y, n = classes
    # statsmodels GLM, binomial family (Seabold and Perktold 2010)
    expected = sm.GLM(np.c_[y, n - y], x, family=sm.families.Binomial()).fit(tol=1e-12).params
    np.testing.assert_allclose(irls(x, successes=y, trials=n), expected, atol=1e-6, rtol=0)


def test_penalty_pulls_toward_zero(classes):
    """A ridge makes the slopes smaller; without data only the ridge speaks."""
    x, y, n = classes
    ridge = np.r_[0, np.full(x.shape[1] - 1, 500.0)]
    assert (
        np.abs(irls(x, successes=y, trials=n, penalty=ridge)[1:]).sum()
        < 0.7 * np.abs(irls(x, successes=y, trials=n)[1:]).sum()
    )


def test_gradient_is_zero_at_the_solution(classes):
    """The penalised score vanishes: the estimate is a maximum."""
    x, y, n = classes
    beta = irls(x, successes=y, trials=n, penalty=2.0)
    score = x.T @ (y - n / (1 + np.exp(-x @ beta))) - 2.0 * beta
    assert np.abs(score).max() < 1e-5


def test_a_bad_start_does_not_diverge(classes):
    """Steps are halved where a full one would overshoot: a far start ends at the same maximum."""
    x, y, n = classes
    far = np.zeros(x.shape[1])
    far[:3] = 4.0
    beta = irls(x, successes=y, trials=n, penalty=1.0, start=far)
    np.testing.assert_allclose(beta, irls(x, successes=y, trials=n, penalty=1.0), atol=1e-5)

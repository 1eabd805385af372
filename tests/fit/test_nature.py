"""What seasons are like as a rule: their spread, and the usual course of sporadic E."""

import numpy as np
import pytest

from analysis.fit.model.harmonics import DAYS, SEASON_DAYS, cycle
from analysis.fit.nature import DAYS_SPREAD, USUAL_SEASON, log_days_spread, log_odds_spread


def test_spread_is_so_many_times_binomial():
    """A hundred days of which half are open: 1.6 times the binomial sd of the logarithm and of the odds."""
    opened, days = np.full(5, 50), np.full(5, 100)
    log_days = log_days_spread(opened, days, mechanism="ES")
    assert log_days == pytest.approx(DAYS_SPREAD["ES"] * np.sqrt(0.25 * 100) / 50, rel=0.01)
    odds = log_odds_spread(opened, days, mechanism="ES")
    assert odds == pytest.approx(DAYS_SPREAD["ES"] * 0.2, rel=0.01)
    assert log_days_spread(np.zeros(3), days[:3], mechanism="TR") < np.inf


def test_rare_openings_spread_more():
    """Ten opening days a year vary more by luck than a hundred do."""
    rare, common = (log_days_spread(np.array([n]), np.array([365]), mechanism="ES") for n in (10, 100))
    assert rare > 3 * common


def test_usual_season_begins_in_late_october_in_the_south():
    """Asked without data, the usual season passes a quarter of its height around 28 October in the far south."""
    shape = np.exp(cycle(SEASON_DAYS, period=DAYS, order=8) @ USUAL_SEASON[0])
    before = SEASON_DAYS[(shape < 0.25 * shape.max()) & (SEASON_DAYS < 0)].max()
    # common practice, no source: in the far south sporadic E on 6 m begins in late October
    assert before == pytest.approx(-54, abs=14)  # days from the solstice, 21 December
    assert abs(SEASON_DAYS[shape.argmax()]) < 20

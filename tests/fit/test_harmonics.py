"""Cycles close on themselves, and their orders follow the number of opening days."""

import numpy as np
import pytest

from analysis.fit.model.harmonics import DAYS, design, penalty, supported


def test_midnight_and_new_year_are_no_edges():
    """Hour 24 is hour 0 and a year on is the same day."""
    there = design(np.array([0.0, 7.5]), np.array([-10.0, 40.0]))
    again = design(np.array([24.0, 31.5]), np.array([-10.0, 40.0]) + DAYS)
    np.testing.assert_allclose(there, again, atol=1e-12)


def test_columns_by_hand():
    """At six in the morning on the solstice: cos 0, sin 1; day terms cos 1, sin 0; their products."""
    row = design(np.array([6.0]), np.array([0.0]), harmonics=(1, 1, 1, 1))[0]
    np.testing.assert_allclose(row, [1, 0, 1, 1, 0, 0, 0, 1, 0], atol=1e-12)


def test_penalty_matches_the_columns():
    """One weight per column: none on the intercept, four times as much on the second order."""
    weights = penalty(harmonics=(3, 3, 1, 1), smooth=10.0)
    assert len(weights) == design(np.zeros(1), np.zeros(1), harmonics=(3, 3, 1, 1)).shape[1]
    np.testing.assert_allclose(weights[:7], 0.5 * np.array([0, 1, 1, 4, 4, 9, 9]))


@pytest.mark.parametrize(
    ("days", "seasons", "orders"),
    [(12, 8, (1, 1, 0, 0)), (25, 8, (2, 2, 0, 0)), (80, 4, (3, 3, 1, 1)), (80, 5, (3, 4, 1, 1))],
)
def test_few_opening_days_and_few_seasons_carry_few_orders(days, seasons, orders):
    """Twelve opening days carry one daily and one yearly wave, eighty three, in five seasons a fourth."""
    assert supported((3, 4, 1, 1), opening_days=days, seasons=seasons) == orders
    assert max(supported((1, 1, 0, 0), opening_days=days, seasons=seasons)) == 1

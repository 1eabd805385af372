"""Simulated series in the shape that the tables of the fitting room take."""

from functools import cache

from analysis.fit.estimate import Series
from tests.fit.simulate import AXIS, simulate

NAMES = {
    "es6": ("6m", "ES", "all"),
    "es2": ("2m", "ES", "all"),
    "land2": ("2m", "TR", "land"),
    "sea2": ("2m", "TR", "sea"),
}


@cache
def found(kind, *, seasons=4, monitors=True, seed=5):
    """One simulated data set, made once for all tests."""
    return simulate(kind, seasons=seasons, monitors=monitors, seed=seed)


@cache
def series(kind, *, seasons=4, monitors=True, seed=5):
    """The same as a series; its fit is worked out once for all tests."""
    cells = found(kind, seasons=seasons, monitors=monitors, seed=seed).cells
    return Series(*NAMES[kind], AXIS[kind], "A" if monitors else "B", cells)

"""Half-hours that are open or shut, seen through reports: one likelihood, solved by Newton's steps.

Every look at a half-hour has a log chance if it is open and one if it is shut, each a function of a few
numbers about detection; openness is a logistic regression. The curvature is known, so a few steps do.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from analysis.fit.model.glm import irls

STEPS = 200  # a guard against endless steps
HALVINGS = 40  # numerical
TOLERANCE = 1e-11  # of the likelihood that a further step would gain


@dataclass(frozen=True)
class Terms:
    """Log chance of every look (`value`) with its first and second slope along one number per look.

    That number is `along` (looks, detection coefficients) times the detection coefficients.
    """

    value: NDArray
    slope: NDArray
    bend: NDArray
    along: NDArray


@dataclass(frozen=True)
class Problem:
    """Design rows, and weighted looks at them.

    `x` (rows, columns) is the design of openness, `row` of every look, `bins` how many half-hours it
    stands for and whether anything was `heard`, `ridge` of all coefficients, those of detection last;
    `seen` gives the terms of the looks if open and if shut for these.
    """

    x: NDArray
    row: NDArray
    bins: NDArray
    heard: NDArray
    ridge: NDArray
    seen: Callable[[NDArray], tuple[Terms, Terms]]

    def weighted(self, bins: NDArray) -> Problem:
        """The same problem with other numbers of half-hours."""
        return replace(self, bins=bins)

    def split(self, beta: NDArray) -> tuple[NDArray, NDArray]:
        """Coefficients of openness and of detection."""
        parted = self.x.shape[1]
        return beta[:parted], beta[parted:]


def objective(beta: NDArray, problem: Problem) -> tuple[float, NDArray, NDArray, NDArray]:
    """Penalised negative log likelihood, its gradient, its curvature, and a curvature surely positive.

    The last one is that of the likelihood as if openness were seen.
    """
    openness, detection = problem.split(beta)
    by_row = problem.x @ openness
    eta, bins = by_row[problem.row], problem.bins
    opened, shut = problem.seen(detection)
    value = bins @ (np.logaddexp(eta + opened.value, shut.value) - np.logaddexp(0, eta))
    posterior = expit(eta + opened.value - shut.value)
    prior = expit(eta)
    mixed = bins * posterior * (1 - posterior)
    certain = bins * prior * (1 - prior)
    slopes = opened.along * (bins * posterior * opened.slope)[:, None]
    slopes += shut.along * (bins * (1 - posterior) * shut.slope)[:, None]
    gradient = np.r_[problem.x.T @ _sum(problem, bins * (posterior - prior)), slopes.sum(axis=0)]
    turn = opened.along * opened.slope[:, None] - shut.along * shut.slope[:, None]
    bends = _square(opened.along, bins * posterior * opened.bend) + _square(
        shut.along, bins * (1 - posterior) * shut.bend
    )
    cross = problem.x.T @ np.column_stack([_sum(problem, mixed * column) for column in turn.T])
    observed = np.block(
        [
            [_square(problem.x, _sum(problem, certain - mixed)), -cross],
            [-cross.T, -bends - _square(turn, mixed)],
        ]
    )
    known = np.zeros_like(observed)
    n = problem.x.shape[1]
    known[:n, :n] = _square(problem.x, _sum(problem, certain))
    known[n:, n:] = _positive(-bends)
    stiff = np.diag(problem.ridge + 1e-10)
    penalty = 0.5 * float(problem.ridge @ beta**2)
    return penalty - float(value), problem.ridge * beta - gradient, observed + stiff, known + stiff


def solve(problem: Problem, start: NDArray) -> NDArray:
    """Coefficients that minimise `objective`, from `start`.

    Newton's step where the curvature is positive, else that as if openness were seen; halved until the
    value does not rise.
    """
    beta = np.array(start, dtype=float)
    value, gradient, observed, known = objective(beta, problem)
    for _ in range(STEPS):
        step = _step(observed, known, gradient)
        gain = -float(gradient @ step)
        for halving in range(HALVINGS):
            tried = beta + 0.5**halving * step
            found = objective(tried, problem)
            if found[0] <= value - 1e-4 * 0.5**halving * gain or gain < TOLERANCE:
                break
        beta, (value, gradient, observed, known) = tried, found
        if gain < TOLERANCE * (1 + abs(value)):
            break
    return beta


def as_if_seen(problem: Problem, *, start: NDArray | None = None) -> NDArray:
    """Coefficients of openness if a half-hour was open exactly where something was heard."""
    opened, bins = (_sum(problem, weight) for weight in (problem.bins * problem.heard, problem.bins))
    ridge = problem.ridge[: problem.x.shape[1]]
    return irls(problem.x, successes=opened, trials=bins, penalty=ridge, start=start)


def posterior(beta: NDArray, problem: Problem) -> NDArray:
    """Chance that the half-hours of every look were open, given what was heard."""
    openness, detection = problem.split(beta)
    opened, shut = problem.seen(detection)
    return expit((problem.x @ openness)[problem.row] + opened.value - shut.value)


def _step(observed: NDArray, known: NDArray, gradient: NDArray) -> NDArray:
    try:
        np.linalg.cholesky(observed)
        return -np.linalg.solve(observed, gradient)
    except np.linalg.LinAlgError:
        return -np.linalg.solve(known, gradient)


def _sum(problem: Problem, values: NDArray) -> NDArray:
    return np.bincount(problem.row, values, len(problem.x))


def _square(columns: NDArray, weight: NDArray) -> NDArray:
    return columns.T @ (columns * weight[:, None])


def _positive(matrix: NDArray) -> NDArray:
    """The nearest positive matrix, with a little to spare."""
    values, vectors = np.linalg.eigh(matrix)
    return (vectors * np.maximum(np.abs(values), 1e-3)) @ vectors.T

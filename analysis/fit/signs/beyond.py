"""Does a number of the day tell more than the calendar and the days before? A test that no shared season can pass.

What remains of the days when calendar and persistence are taken away is held against what remains of the
number, and that against the same number moved along the season: a number that wanders as slowly, but has
nothing to do with the days, does as well in any other place.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import expit

from analysis.fit.model.glm import irls
from analysis.fit.model.harmonics import DAYS, cycle

SHIFTS, SEED = 1999, 20250623  # speed; any
WAVES = 2  # of the season's course: spring, summer, autumn, and the small winter season (judgement)
MEMORY_DAYS = 7  # how long good weather lasts (judgement; 3 or 14 moved no verdict of the demo)
RIDGE = 0.5  # keeps a coefficient finite where few days opened: half an observation (judgement)
CALENDAR = 1 + 2 * WAVES  # columns of `design` that know the date alone


@dataclass(frozen=True)
class Found:
    """Strength of the link in standard deviations, upward or downward, and its chances by luck."""

    z: float
    p_more: float
    p_any: float


def design(states: pd.DataFrame, *, lag: int = 1) -> NDArray:
    """What was known without the number: calendar, the state `lag` days before, the share of a week before.

    Parameters
    ----------
    states : DataFrame
        `day season season_day open`, a row for every day in order.
    lag : int
        Days from what was known last to the day that is told.

    Returns
    -------
    array (days, 8)
        Constant, the season's waves, the last known state (a half where it is unknown), whether it is
        unknown, and the share of the week up to it that was open.
    """
    by_day = states.set_index("day")["open"].asfreq("D")
    last, week = by_day.shift(lag), by_day.rolling(MEMORY_DAYS, min_periods=1).mean().shift(lag)
    usual = by_day.mean()
    told = pd.DataFrame(
        {"last": last.fillna(usual), "unknown": last.isna().astype(float), "week": week.fillna(usual)}
    ).reindex(states["day"])
    waves = cycle(states["season_day"].to_numpy(float), period=DAYS, order=WAVES)
    return np.column_stack([np.ones(len(states)), waves, told.to_numpy()])


def chances(x: NDArray, opened: NDArray, *, train: NDArray) -> NDArray:
    """Chance of each row from a logistic regression on the rows of `train`."""
    scale = np.where(x[train].std(axis=0) > 0, x[train].std(axis=0), 1.0)
    beta = irls(
        x[train] / scale,
        successes=opened[train],
        trials=np.ones(int(train.sum())),
        penalty=np.r_[0.0, np.full(x.shape[1] - 1, RIDGE)],
    )
    return expit(x / scale @ beta)


def link(states: pd.DataFrame, number: NDArray, *, lag: int = 1, value: NDArray | None = None) -> Found:
    """Whether a number of each day goes with the day's state beyond calendar and persistence.

    Parameters
    ----------
    states : DataFrame
        `day season season_day open`, every day in order; unknown ones are NaN.
    number : array (days,)
        NaN where it is unknown.
    lag : int
        As in `design`.
    value : array (days,), optional
        A quantity to be told in place of the state, such as the spread of SNR; by least squares.

    Returns
    -------
    Found
        Against the number moved along each season by a random number of days, 1 999 times, each
        statistic in units of its own spread, so that calm and lively months may differ.
    """
    told = states["open"].to_numpy(float) if value is None else np.asarray(value, float)
    number = np.asarray(number, float)
    known = np.isfinite(told) & np.isfinite(number)
    x = design(states if value is None else states.assign(open=value), lag=lag)
    if known.sum() <= x.shape[1] or np.ptp(number[known]) == 0 or np.ptp(told[known]) == 0:
        return Found(np.nan, np.nan, np.nan)
    if value is None:
        chance = chances(x, told, train=known)
        weight = chance * (1 - chance)
    else:
        chance = x @ np.linalg.lstsq(x[known], told[known], rcond=None)[0]
        weight = np.ones(len(x))
    left = np.where(np.isfinite(told), told - chance, 0.0)
    root = np.sqrt(weight[known])
    own = np.linalg.lstsq(x[known] * root[:, None], number[known] * root, rcond=None)[0]
    anomaly = np.where(known, number - x @ own, 0.0)
    return _against_shifts(anomaly, left, states["season"].to_numpy())


def _against_shifts(anomaly: NDArray, left: NDArray, season: NDArray) -> Found:
    """The product of two series, and of the first moved along each season."""
    rng = np.random.default_rng(SEED)
    total, square = np.zeros(SHIFTS + 1), np.zeros(SHIFTS + 1)
    for one in np.unique(season):
        own = season == one
        steps = np.r_[0, rng.integers(1, max(own.sum(), 2), SHIFTS)] % own.sum()
        total += _moved(anomaly[own], left[own])[steps]
        square += _moved(anomaly[own] ** 2, left[own] ** 2)[steps]
    z = np.where(square > 0, total / np.sqrt(np.maximum(square, 1e-300)), 0.0)
    others = z[1:]
    more = (1 + (others >= z[0]).sum()) / (1 + SHIFTS)
    either = (1 + (np.abs(others) >= abs(z[0])).sum()) / (1 + SHIFTS)
    return Found(float(z[0] / others.std()) if others.std() > 0 else np.nan, float(more), float(either))


def _moved(one: NDArray, other: NDArray) -> NDArray:
    """Sum of products of two series with the first moved by 0, 1, 2 ... places around."""
    return np.fft.irfft(np.fft.rfft(one) * np.conj(np.fft.rfft(other)), len(one))

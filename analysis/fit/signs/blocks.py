"""Intervals and tests that come from whole seasons left out in turn; many tests told as one family."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray
from scipy.stats import t
from statsmodels.stats.multitest import multipletests

LEVEL = 0.9  # the level of every interval of a review
SEASONS_AS_BLOCKS = 3  # with fewer, ten-day blocks are left out: days within them hang together
BLOCK_DAYS = 10  # judgement: weather and ionisation hang together over some ten days
LEAST_BLOCKS = 3  # fewer have no spread
METHOD = f"seasons left out in turn (ten-day blocks below {SEASONS_AS_BLOCKS} seasons), 90 % interval"


@dataclass(frozen=True)
class Known:
    """A number, its 90 % interval, and the one-sided chance of it being above zero by luck."""

    value: float
    low: float
    high: float
    p: float


UNKNOWN = Known(np.nan, np.nan, np.nan, np.nan)


def blocks(times: pd.Series, season: pd.Series) -> NDArray:
    """Label of the block that each row belongs to: its season, or its ten days where seasons are few."""
    if season.nunique() >= SEASONS_AS_BLOCKS:
        return season.to_numpy()
    day = (times - pd.Timestamp("1970-01-01", tz="UTC")).dt.days
    return (day // BLOCK_DAYS).to_numpy()


def left_out(parts: pd.DataFrame, block: ArrayLike, statistic: Callable[[pd.DataFrame], ArrayLike]) -> Known:
    """A statistic of sums with its interval, one block left out at a time.

    Parameters
    ----------
    parts : DataFrame
        Columns whose sums the statistic is made of.
    block : array_like
        Block of each row.
    statistic : callable
        From a table of sums (one row or many) to a number for each row.

    Returns
    -------
    Known
        `UNKNOWN` with fewer than three blocks, or where it stays undefined with one left out.
    """
    sums = parts.groupby(np.asarray(block)).sum()
    n = len(sums)
    if n < LEAST_BLOCKS:
        return UNKNOWN
    total = sums.sum().to_frame().T
    with np.errstate(divide="ignore", invalid="ignore"):
        whole = float(np.asarray(statistic(total), float)[0])
        left = np.asarray(statistic(sums.rsub(sums.sum(), axis=1)), float)
    if not np.isfinite(whole) or not np.isfinite(left).all():
        return UNKNOWN
    error = float(np.sqrt((n - 1) / n * ((left - left.mean()) ** 2).sum()))
    half = float(t.ppf((1 + LEVEL) / 2, n - 1)) * error
    p = float(t.sf(whole / error, n - 1)) if error > 0 else float(whole <= 0)
    return Known(whole, whole - half, whole + half, p)


def jackknife(
    rows: pd.DataFrame, block: NDArray, statistic: Callable[[pd.DataFrame], NDArray]
) -> tuple[NDArray, NDArray, NDArray]:
    """Statistics of a table that are no function of sums, with the ends of their 90 % intervals.

    Parameters
    ----------
    rows : DataFrame
        What the statistics are made of.
    block : ndarray
        Block of each row.
    statistic : callable
        From rows to an array of numbers.
    """
    labels = np.unique(block)
    n, value = len(labels), statistic(rows)
    if n < LEAST_BLOCKS:
        return value * np.nan, value * np.nan, value * np.nan
    left = np.array([statistic(rows[block != label]) for label in labels])
    error = np.sqrt((n - 1) / n * ((left - left.mean(axis=0)) ** 2).sum(axis=0))
    half = float(t.ppf((1 + LEVEL) / 2, n - 1)) * error
    return value, value - half, value + half


def mean(values: pd.Series, block: ArrayLike) -> Known:
    """Mean over rows, with its interval from blocks left out."""
    parts = pd.DataFrame({"sum": values.to_numpy(dtype=float), "n": 1.0})
    return left_out(parts, block, lambda sums: sums["sum"] / sums["n"])


def holm(p: ArrayLike) -> NDArray:
    """Chances after Holm's correction for having looked so many times; NaN where there was no test."""
    p = np.asarray(p, float)
    known = np.isfinite(p)
    adjusted = np.full(p.shape, np.nan)
    if known.any():
        adjusted[known] = multipletests(p[known], method="holm")[1]
    return adjusted

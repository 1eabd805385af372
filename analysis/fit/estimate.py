"""What every estimate carries: a value with its interval, and in words how far to trust it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Estimate:
    """One number of a review.

    `value`, `low` and `high` (90 % interval) are in `unit` and NaN where the data cannot carry a
    number; `n` counts the seasons or half-hours behind it; `verdict` is ok, provisional, refuse or
    the verdict of a test; `reason` says why in words.
    """

    value: float
    low: float
    high: float
    unit: str
    n: int
    method: str
    verdict: str
    reason: str


def refused(reason: str, *, unit: str = "", n: int = 0, method: str = "", verdict: str = "refuse") -> Estimate:
    """An estimate without a number, and why."""
    return Estimate(np.nan, np.nan, np.nan, unit, n, method, verdict, reason)

"""What goes into a fit and what comes out: one series of half-hours, one estimate with its interval."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from analysis.fit.model.curves import Fit
from analysis.fit.model.occupancy import fit_occupancy


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


@dataclass(frozen=True)
class Series:
    """Half-hour cells of one band, mechanism and path type, their axis (solar or sun) and evidence tier.

    `steady` holds the cells of the receivers that ran in every season, None where they are all;
    `senders` counts the stations heard to transmit on the band by season, None where unknown. Both serve
    the comparison of seasons only.
    """

    band: str
    mechanism: str
    path_type: str
    axis: str
    tier: str
    cells: pd.DataFrame
    steady: pd.DataFrame | None = None
    senders: pd.Series | None = None

    @cached_property
    def fit(self) -> Fit:
        """The fitted series; worked out on first use, because four tables are made from one fit."""
        return fit_occupancy(self.cells, tier=self.tier)

    @cached_property
    def steady_fit(self) -> Fit:
        """The fit by which seasons are compared: of `steady` where there is one."""
        return self.fit if self.steady is None else fit_occupancy(self.steady, tier=self.tier)

    def keys(self) -> dict[str, str]:
        """What names the series in every table."""
        return {"band": self.band, "mechanism": self.mechanism, "path_type": self.path_type}


def refused(
    reason: str, *, unit: str = "", n: int = 0, method: str = "", verdict: str = "refuse"
) -> Estimate:
    """An estimate without a number, and why."""
    return Estimate(np.nan, np.nan, np.nan, unit, n, method, verdict, reason)

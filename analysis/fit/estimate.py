"""What goes into a fit and what comes out: one series of half-hours, one estimate with its interval."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import pandas as pd

from analysis.find.days import cell_days
from analysis.find.reach import REGION
from analysis.fit.assess import assess
from analysis.fit.model.counts import count
from analysis.fit.model.curves import Fit
from analysis.fit.model.harmonics import HARMONICS
from analysis.fit.model.occupancy import fit_occupancy
from analysis.fit.model.paths import fit_paths


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

    Where it is known who sent, `cells` count watched paths and `thinned` says what fewer would have noticed
    (`find.watched`); else they count listening and `thinned` is None, `unproven` says why in words.
    `scope` tells whose paths they are (here, neighbours, region).
    `steady` and `steady_thinned` hold the same of what was watched in every season, None where that is all;
    `senders` has columns by season whose growth is that of effort, None where unknown: they serve the
    comparison of seasons only. `even` holds the cells of receivers that always run, for tests that pair the
    hours of a day; None where `cells` are these.
    `by_day` holds the rows of `find.days.days_table`, None where only half-hours are known, `heard` when
    somebody of the scope listened (`start end`), `ears` who listened where (`find.hearers.ears`), by which
    other places are judged; `lon lat` is home.
    """

    band: str
    mechanism: str
    path_type: str
    axis: str
    tier: str
    cells: pd.DataFrame
    thinned: pd.DataFrame | None = None
    unproven: str = ""
    scope: str = REGION
    steady: pd.DataFrame | None = None
    steady_thinned: pd.DataFrame | None = None
    even: pd.DataFrame | None = None
    senders: pd.DataFrame | None = None
    by_day: pd.DataFrame | None = None
    heard: pd.DataFrame | None = None
    ears: pd.DataFrame | None = None
    lon: float = np.nan
    lat: float = np.nan

    @cached_property
    def days(self) -> pd.DataFrame:
        """Every day of the series: listened to, open or not, by the one definition of `find.days`."""
        return cell_days(self.cells) if self.by_day is None else self.by_day

    @cached_property
    def fit(self) -> Fit:
        """The fitted series; worked out on first use, because four tables are made from one fit."""
        return self._fitted(self.cells, self.thinned)

    @cached_property
    def steady_fit(self) -> Fit:
        """The fit by which seasons are compared: of `steady` where there is one."""
        return self.fit if self.steady is None else self._fitted(self.steady, self.steady_thinned)

    def _fitted(self, cells: pd.DataFrame, thinned: pd.DataFrame | None) -> Fit:
        if thinned is not None:
            return fit_paths(cells, thinned, tier=self.tier)
        if not self.unproven:
            return fit_occupancy(cells, tier=self.tier)
        if self.tier == "A":
            fit = fit_occupancy(cells, tier=self.tier)
            return replace(fit, verdict=fit.verdict.but(self.unproven))
        return Fit(assess(cells, tier=self.tier).against(self.unproven), count(cells), HARMONICS)

    def keys(self) -> dict[str, str]:
        """What names the series in every table."""
        return {"band": self.band, "mechanism": self.mechanism, "path_type": self.path_type}


def refused(
    reason: str, *, unit: str = "", n: int = 0, method: str = "", verdict: str = "refuse"
) -> Estimate:
    """An estimate without a number, and why."""
    return Estimate(np.nan, np.nan, np.nan, unit, n, method, verdict, reason)

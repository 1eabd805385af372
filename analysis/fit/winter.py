"""The minor season of sporadic E around the winter solstice: is it there, and how large?"""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from scipy.stats import t

from analysis.fit.assess import assess
from analysis.fit.estimate import Estimate, Series, refused
from analysis.fit.model.curves import LEVEL

WINTER = 153  # season days beyond this, either side: the month around the winter solstice
LATE_WINTER = (-133, -98)  # northern 8 February to 15 March, when sporadic E is rarest
DAYS_NEEDED = 60  # judgement: two months of listening in each part
OPENINGS_NEEDED = 5  # judgement: fewer opening days are luck
METHOD = "share of opening days around the winter solstice over that of late winter, seasons left out in turn"


def winter_rise(one: Series) -> Estimate:
    """Share of opening days in the month around the winter solstice over that in late winter.

    It is counted, not read off the fitted curve: a few harmonics that follow a sharp summer peak ring
    in winter and would show a rise that is not there.
    """
    days = one.days[one.days["listened"]]
    winter = days["season_day"].abs() >= WINTER
    late = days["season_day"].between(*LATE_WINTER)
    about: dict[str, Any] = {"unit": "times", "n": int(days["season"].nunique()), "method": METHOD}
    if min(winter.sum(), late.sum()) < DAYS_NEEDED:
        return refused("too few winter days were listened to", **about)
    if (days["open"] & (winter | late)).sum() < OPENINGS_NEEDED:
        return refused("too few winter openings to tell", **about)
    sums = days.assign(winter=winter & days["open"], late=late & days["open"], n_winter=winter, n_late=late)
    sums = sums.groupby("season")[["winter", "late", "n_winter", "n_late"]].sum()
    if len(sums) < 2:
        return refused("one winter cannot tell a winter season from a good week", **about)
    whole, left = _log_ratio(sums.sum()), _log_ratio(sums.sum() - sums)
    error = np.sqrt((len(sums) - 1) / len(sums) * ((left - whole) ** 2).sum())
    half = t.ppf((1 + LEVEL) / 2, len(sums) - 1) * error
    value, low, high = (float(np.exp(x)) for x in (whole, whole - half, whole + half))
    verdict = "found" if low > 1 else "not found" if high < 1 else "cannot tell"
    return Estimate(
        value, low, high, verdict=verdict, reason=assess(one.cells, tier=one.tier).reason, **about
    )


def _log_ratio(sums: pd.Series | pd.DataFrame):
    return np.log(
        (sums["winter"] + 0.5) / (sums["n_winter"] + 1) / ((sums["late"] + 0.5) / (sums["n_late"] + 1))
    )

"""One share with its range, for a question of one's own: how many of the half-hours listened to were open?"""

from __future__ import annotations

import numpy as np
import pandas as pd
from statsmodels.stats.proportion import proportion_confint

from analysis.fit.estimate import Estimate, refused
from analysis.fit.model.curves import LEVEL

METHOD = "share of watched half-hours, Jeffreys' interval on as many as they are worth by days"
DAYS_NEEDED = 5  # judgement: of fewer days the range is shown, and called provisional


def share_open(half_hours: pd.DataFrame) -> Estimate:
    """Share of the half-hours listened to in which the path was reported.

    Parameters
    ----------
    half_hours : DataFrame
        `start watched seen`, from `path_half_hours`: those asked about.

    Returns
    -------
    Estimate
        Share with its 90 % interval; `n` counts the half-hours watched, and `reason` says it in one
        sentence. Refused where nobody is known to have listened.

    Notes
    -----
    Half-hours of one day (noon to noon, so that a night is not cut) hang together. They count for as many as
    the spread between days allows; where all or none were open, each day counts once.

    References
    ----------
    Brown, Cai and DasGupta, Statistical Science 16, 101 (2001); design effect: Kish, Survey Sampling, 1965.

    Examples
    --------
    >>> import pandas as pd
    >>> from analysis import share_open
    >>> start = pd.date_range("2025-09-01T18:00Z", periods=200, freq="30min")
    >>> asked = pd.DataFrame({"start": start, "watched": 1, "seen": [1] * 10 + [0] * 190})
    >>> print(share_open(asked).reason)
    10 of 200 half-hours watched on 5 days or nights were open: 5.0%, 90 % range 0.8% to 19.0%
    """
    watched = half_hours[half_hours["watched"] > 0]
    if watched.empty:
        why = "nobody is known to have listened at one end while somebody sent at the other"
        return refused(f"{why}, in {len(half_hours)} half-hours", unit="share", method=METHOD)
    opened = watched["seen"].to_numpy() > 0
    day = (watched["start"] - pd.Timedelta(hours=12)).dt.floor("D").to_numpy()
    n, days, share = len(opened), len(np.unique(day)), float(opened.mean())
    worth = _worth(opened, day)
    low, high = proportion_confint(share * worth, worth, alpha=1 - LEVEL, method="jeffreys")
    said = f"{opened.sum()} of {n} half-hours watched on {days} days or nights were open"
    said += f": {share:.1%}, 90 % range {low:.1%} to {high:.1%}"
    verdict = "ok" if days >= DAYS_NEEDED else "provisional"
    return Estimate(share, float(low), float(high), "share", n, METHOD, verdict, said)


def _worth(opened: np.ndarray, day: np.ndarray) -> float:
    """How many independent half-hours these are worth: no more than there are, no fewer than days."""
    n, days, share = len(opened), len(np.unique(day)), opened.mean()
    if days < 2 or share in (0.0, 1.0):
        return float(days)
    by_day = pd.Series(opened - share).groupby(day).sum()
    variance = days / (days - 1) * (by_day**2).sum() / n**2
    return float(np.clip(share * (1 - share) / variance, days, n)) if variance else float(n)

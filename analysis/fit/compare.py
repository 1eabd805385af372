"""Seasons beside each other: how many opening days to expect, more or less than binomial, month against month."""

from __future__ import annotations

import numpy as np
import pandas as pd
from scipy.special import expit
from scipy.stats import chi2, t, ttest_ind
from statsmodels.stats.multitest import multipletests

from analysis.fit.assess import monitored
from analysis.fit.estimate import Estimate, refused
from analysis.fit.model.curves import LEVEL
from analysis.fit.nature import PRIOR_SEASONS, log_odds_spread

SEASONS_TO_COMPARE = 4  # judgement: fewer do not tell what is usual


def predictive_range(
    opening_days: np.ndarray,
    monitored_days: np.ndarray,
    *,
    of_days: float,
    level: float = LEVEL,
    mechanism: str = "ES",
) -> tuple[float, float]:
    """Range for the opening days of a season not seen, out of `of_days`, from those of other seasons.

    On the scale of log odds, so that a season never has more opening days than days; the spread seen
    is mixed with the usual one of the mechanism (`fit.nature`), which counts as much as two seasons.

    Parameters
    ----------
    opening_days, monitored_days : array (seasons,)
    of_days : float
        Days listened to in the season to be foretold.
    level : float
        Share of seasons that fall inside.
    mechanism : str
        ES or TR: how far its seasons differ as a rule.
    """
    opened = np.asarray(opening_days, float)
    odds = np.log((opened + 0.5) / (np.asarray(monitored_days, float) - opened + 0.5))
    middle, sd = predictive(odds, log_odds_spread(opened, monitored_days, mechanism=mechanism))
    half = t.ppf((1 + level) / 2, len(odds) + 1) * sd
    low, high = np.round(of_days * expit([middle - half, middle + half]))  # days are whole
    return float(low), float(high)


def spread_ratio(opening_days: np.ndarray, monitored_days: np.ndarray) -> Estimate:
    """Spread of yearly opening days over what independent days would give (binomial), a ratio of sds."""
    opened, days = np.asarray(opening_days, float), np.asarray(monitored_days, float)
    share = opened.sum() / days.sum() if len(opened) else np.nan
    if len(opened) < 3 or not 0 < share < 1:
        return refused("fewer than three seasons with opening days", unit="times", n=len(opened))
    squared = (
        np.mean((opened - days * share) ** 2 / (days * share * (1 - share))) * len(opened) / (len(opened) - 1)
    )
    ends = (len(opened) - 1) * squared / chi2.ppf([(1 + LEVEL) / 2, (1 - LEVEL) / 2], len(opened) - 1)
    low, high = np.sqrt(ends)
    reason = "good and bad seasons differ more than chance would make them" if low > 1 else ""
    return Estimate(
        float(np.sqrt(squared)),
        float(low),
        float(high),
        "times",
        len(opened),
        "sd over binomial sd",
        "ok",
        reason,
    )


def compare_seasons(cells: pd.DataFrame, *, first: int, second: int) -> pd.DataFrame:
    """Two seasons month by month, without being fooled by openings that come in runs.

    Half-hours of one fine week are not independent, so five-day blocks are compared (Welch's t), and
    the months together are held to one error rate (Holm).

    Returns
    -------
    DataFrame
        `season_day` (first of the 30 days) `share_first share_second n_blocks p p_holm verdict`,
        verdict more, fewer or cannot tell for the second season against the first.
    """
    listened = cells[monitored(cells) & cells["season"].isin([first, second])]
    listened = listened.assign(part=(listened["season_day"] + 183) // 30, heard=listened["n_detected"] > 0)
    blocks = listened.groupby(["part", "season", "block"])["heard"].mean()
    rows = []
    for part in blocks.index.unique("part"):
        share = blocks.loc[part]
        a, b = (
            share[share.index.get_level_values("season") == season].to_numpy() for season in (first, second)
        )
        if min(len(a), len(b)) >= 2 and np.ptp(np.r_[a, b]) > 0:
            p = 1.0 if np.ptp(a) == np.ptp(b) == 0 else ttest_ind(a, b, equal_var=False).pvalue
            rows.append((int(part) * 30 - 183, a.mean(), b.mean(), len(a) + len(b), p))
    table = pd.DataFrame(rows, columns=["season_day", "share_first", "share_second", "n_blocks", "p"])
    table["p_holm"] = multipletests(table["p"], method="holm")[1]
    more = np.where(table["share_second"] > table["share_first"], "more", "fewer")
    return table.assign(verdict=np.where(table["p_holm"] <= 0.05, more, "cannot tell"))


def predictive(values: np.ndarray, season_sd: float) -> tuple[float, float]:
    """Mean and standard deviation of a further value like these."""
    n = len(values)
    seen = values.var(ddof=1) if n > 1 else 0.0
    variance = (PRIOR_SEASONS * season_sd**2 + (n - 1) * seen) / (n - 1 + PRIOR_SEASONS)
    return float(values.mean()), float(np.sqrt(variance * (1 + 1 / n)))

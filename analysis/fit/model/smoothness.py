"""How many harmonics, and how stiff? Decided by seasons left out, in the open.

Information criteria on half-hours always ask for the most harmonics on offer, because neighbouring
half-hours are not independent; a season that was left out is.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from analysis.fit.model.counts import Counts, block_centre, count
from analysis.fit.model.glm import irls
from analysis.fit.model.harmonics import HARMONICS, design, penalty

CANDIDATES = ((1, 1, 0, 0), (2, 2, 0, 0), (3, 3, 1, 1), HARMONICS, (4, 4, 2, 1))
SMOOTHS = (1.0, 10.0, 100.0)
SEASON_RIDGE = 2.0


def choose_harmonics(
    cells: pd.DataFrame, *, candidates: Sequence[tuple] = CANDIDATES, smooths: Sequence[float] = SMOOTHS
) -> pd.DataFrame:
    """Score choices of smoothness by how well they foretell a season that was left out.

    Parameters
    ----------
    cells : DataFrame
        Half-hours of one series, two seasons or more.
    candidates : sequence of tuple
        Orders as in `harmonics.design`, from few to many.
    smooths : sequence of float
        Ridges on the harmonics.

    Returns
    -------
    DataFrame
        `harmonics smooth score behind error chosen`: mean log score per monitored half-hour of the
        seasons left out, how far behind the best and the standard error of that difference over
        seasons (paired). Chosen is the smoothest within one error of the best. Empty with one season.
    """
    counts = count(cells)
    if len(counts.seasons) < 2:
        return pd.DataFrame(columns=["harmonics", "smooth", "score", "behind", "error", "chosen"])
    choices = [(orders, smooth) for orders in candidates for smooth in sorted(smooths, reverse=True)]
    scores = np.array([_scores(counts, orders, smooth) for orders, smooth in choices])
    best = scores[scores.mean(axis=1).argmax()]
    table = pd.DataFrame(choices, columns=["harmonics", "smooth"])
    table["score"] = scores.mean(axis=1)
    table["behind"] = (best - scores).mean(axis=1)
    table["error"] = (best - scores).std(axis=1, ddof=1) / np.sqrt(scores.shape[1])
    good = (table["behind"] <= table["error"]).to_numpy()
    return table.assign(chosen=np.arange(len(table)) == good.argmax())


def _scores(counts: Counts, orders: tuple, smooth: float) -> np.ndarray:
    """Mean log score of each season under the fit of the others."""
    classes = counts.classes
    season = classes["season_index"].to_numpy()
    opened, bins = classes["open_bins"].to_numpy(float), classes["bins"].to_numpy(float)
    hour, day = classes["half"].to_numpy() / 2 + 0.25, block_centre(classes["block"].to_numpy())
    x = design(hour, day, harmonics=orders)
    whole = np.column_stack([x, np.eye(len(counts.seasons))[season]])
    ridge = np.r_[penalty(harmonics=orders, smooth=smooth), np.full(len(counts.seasons), SEASON_RIDGE)]
    scores, beta = [], None
    for left in range(len(counts.seasons)):
        kept = season != left
        beta = irls(whole[kept], successes=opened[kept], trials=bins[kept], penalty=ridge, start=beta)
        eta = x[~kept] @ beta[: x.shape[1]]  # the season left out is taken for an average one
        scores.append((opened[~kept] @ eta - bins[~kept] @ np.logaddexp(0, eta)) / bins[~kept].sum())
    return np.array(scores)

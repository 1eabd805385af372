"""What every model of openness shares: the design of its cycles and seasons, and which parts are left out."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from analysis.fit.model.counts import Counts, block_centre
from analysis.fit.model.curves import refit_groups
from analysis.fit.model.harmonics import design, penalty

SEASON_RIDGE = 2.0  # judgement: seasons differ by some .7 in log odds before data say more
LEVEL_RIDGE = 0.02  # keeps the chance off 0 where false reports explain all that was heard
WITHIN_GROUPS = 8  # parts of a lone season that are left out in turn


def openness(counts: Counts, *, harmonics: tuple, smooth: float) -> tuple[NDArray, NDArray]:
    """Design rows of all classes (cycles, then one column per season), and the ridge of its columns."""
    classes, n_seasons = counts.classes, len(counts.seasons)
    hour, day = classes["half"].to_numpy() / 2 + 0.25, block_centre(classes["block"].to_numpy())
    season = np.eye(n_seasons)[classes["season_index"].to_numpy()]
    ridge = penalty(harmonics=harmonics, smooth=smooth)
    return (
        np.column_stack([design(hour, day, harmonics=harmonics), season]),
        np.r_[LEVEL_RIDGE, ridge[1:], [SEASON_RIDGE] * n_seasons],
    )


def left_out(counts: Counts) -> Iterator[NDArray]:
    """For each refit, which classes stay: all but a season in turn, or but an eighth of a lone season."""
    if len(counts.seasons) > 1:
        n_groups = refit_groups(len(counts.seasons))
        group = counts.classes["season_index"].to_numpy() % n_groups
    else:  # pairs of five-day blocks are dealt out, so that every part spans the season
        pairs = np.unique(counts.classes["block"].to_numpy() // 2, return_inverse=True)[1]
        n_groups = min(WITHIN_GROUPS, pairs.max() + 1)
        group = pairs % n_groups
    for left in range(n_groups):
        yield group != left

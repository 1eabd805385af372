"""How long a silence must be before an opening is over, told by the silences themselves.

Reports come in bouts: short gaps inside an opening, long ones between openings. Two log-normal
populations are fitted to the gaps; where they cross lies the bout criterion.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

CLIP_MIN = (20.0, 120.0)  # judgement: shorter parts single overs, longer joins morning and evening
SURELY_OVER_MIN = 240.0  # a silence that no opening has inside
ENOUGH_GAPS = 200  # judgement: below, two populations cannot be told apart
NARROWEST = (
    0.3  # least spread of a population [natural log]: report times are whole minutes or periods of a mode
)
FALLBACK = ((10.0, 30.0), (3.0, 60.0), (0.0, 120.0))  # reports an hour while open: gap [min]


def bout_gap(silences: ArrayLike) -> float:
    """The silence that ends an opening.

    Parameters
    ----------
    silences : array_like
        Minutes between reports of one band, mechanism and path type that follow one another at one place
        (`clusters.next_near`).

    Returns
    -------
    float
        Minutes, from 20 to 120. With fewer than 200 silences it follows from how dense the reports are
        while the band is open: 30 at 10 an hour or more, 60 at 3 or more, else 120.

    Notes
    -----
    The mixture is fitted by EM to the logarithms of the silences; those below 20 minutes
    count as inside an opening and those above four hours as between two.

    References
    ----------
    Sibly, R. M., Nott, H. M. R. and Fletcher, D. J. (1990), Splitting behaviour into bouts, Animal
    Behaviour 39, 63-69: the idea of a criterion from the gaps.
    """
    gaps = np.asarray(silences, dtype=float)
    gaps = gaps[gaps > 0]
    if len(gaps) < ENOUGH_GAPS:
        return _by_density(gaps)
    crossing = _crossing(*_two_populations(np.log(gaps)))
    return float(np.clip(np.exp(crossing), *CLIP_MIN)) if np.isfinite(crossing) else _by_density(gaps)


def _by_density(gaps: np.ndarray) -> float:
    """The gap for few reports, by their rate within two hours of one another."""
    close = gaps[gaps <= CLIP_MIN[1]]
    rate = 60 / close.mean() if len(close) else 0.0
    return next(gap for least, gap in FALLBACK if rate >= least)


def _two_populations(x: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Weights, means and spreads of two normal populations, the one of short gaps first."""
    x, repeats = np.unique(x, return_counts=True)  # whole minutes: few distinct gaps, however many reports
    low, high = np.log(CLIP_MIN[0]), np.log(SURELY_OVER_MIN)
    if x[0] >= low or x[-1] <= high:
        return np.full(2, np.nan), np.full(2, np.nan), np.full(2, np.nan)
    # Only what lies in between is in doubt. Left free, the two would share out the gaps within
    # openings where reports come thick and fast.
    known = np.array([x < low, x > high])
    share = np.where(known.any(axis=0), known, 0.5)
    for _ in range(500):
        weight = share * repeats
        total = weight.sum(axis=1)
        centre = weight @ x / total
        spread = np.sqrt((weight * (x - centre[:, None]) ** 2).sum(axis=1) / total)
        spread = np.maximum(spread, NARROWEST)
        density = (
            total[:, None] / spread[:, None] * np.exp(-0.5 * ((x - centre[:, None]) / spread[:, None]) ** 2)
        )
        density = np.maximum(density, 1e-300)
        new = np.where(known.any(axis=0), known, density / density.sum(axis=0))
        if np.abs(new - share).max() < 1e-7:
            break
        share = new
    return total / total.sum(), centre, spread


def _crossing(weight: np.ndarray, centre: np.ndarray, spread: np.ndarray) -> float:
    """Where the two weighted densities are equal between their means; NaN if nowhere."""
    if not np.isfinite(centre).all() or centre[0] >= centre[1]:
        return np.nan
    height = np.log(weight / spread)
    a = 1 / spread[1] ** 2 - 1 / spread[0] ** 2
    b = 2 * (centre[0] / spread[0] ** 2 - centre[1] / spread[1] ** 2)
    c = (centre[1] / spread[1]) ** 2 - (centre[0] / spread[0]) ** 2 + 2 * (height[0] - height[1])
    roots = np.roots([a, b, c])
    between = roots[np.isreal(roots)].real
    between = between[(between > centre[0]) & (between < centre[1])]
    return float(between[0]) if len(between) else np.nan

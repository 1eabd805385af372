"""How long a station may hear nothing and still be taken to listen, told by its own receptions.

A station that is on hears signals now and then; between its sessions it hears none. If it hears at a
steady rate while on, and switches on and off at random, its silences are a mixture of two exponential
populations, and the mixture tells how likely it was on at any moment of a silence. One that hears forty
signals an hour and then none for an hour has gone; one that hears one an hour has not.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.find import intervals

BELIEVED = 0.7  # chance of being on from which a moment counts as listened to
ENOUGH_SILENCES = 30  # judgement: below, the two populations cannot be told apart
LONGEST_GAP_MIN, LONGEST_PAD_MIN = 180.0, 30.0  # judgement: beyond, no silence is proof of listening
GAP_STEP, PAD_STEP = 10.0, 5.0  # speed: steps in which both are looked for
EDGES = np.r_[0.0, np.geomspace(1.5, 1440.0, 60)]  # a silence of a day and one of a week are the same
ROUNDS = 100  # a guard against endless steps


def allowed(points: pd.DataFrame, *, gap_min: float, pad_min: float) -> tuple[NDArray, NDArray]:
    """Longest silence listened through, and how long a station listens before and after, for every reception.

    Parameters
    ----------
    points : DataFrame
        `station band time`.
    gap_min, pad_min : float
        The least of both [min]; they hold for stations with fewer than 30 silences.

    Returns
    -------
    gap_min, pad_min : ndarray
        [min], the same for all receptions of a station on a band; at most three hours and half an hour.

    References
    ----------
    Kuczura, A. (1973), The interrupted Poisson process as an overflow process, Bell System Technical
    Journal 52, 437-448: such a stream is a renewal process whose gaps are two exponentials mixed (from
    memory).
    """
    owner = points.groupby(intervals.KEYS, observed=True).ngroup().to_numpy()
    counts = _silences(owner, intervals.minutes(points["time"]))
    known = counts.sum(axis=1) >= ENOUGH_SILENCES
    gap, pad = np.full(len(counts), gap_min), np.full(len(counts), pad_min)
    weight, rates = _two_rates(counts[known])
    # Each grid starts at the least value, which is granted whatever the silences say.
    gaps, pads = (
        np.arange(gap_min, LONGEST_GAP_MIN + 1, GAP_STEP),
        np.arange(pad_min, LONGEST_PAD_MIN + 1, PAD_STEP),
    )
    amid = _still_on(weight, rates, gaps / 2) ** 2 / _still_on(weight, rates, gaps)
    after = _still_on(weight, rates, pads) * np.exp(rates[1][:, None] * pads)
    gap[known], pad[known] = _last(gaps, amid), _last(pads, after)
    return gap[owner], pad[owner]


def _silences(owner: NDArray, minute: NDArray) -> NDArray:
    """How many silences of each length class (columns) every owner (rows) has."""
    order = np.lexsort((minute, owner))
    silence, who = np.diff(minute[order]), owner[order][1:]
    within = (np.diff(owner[order]) == 0) & (silence >= 1)  # several signals at a time are one
    place = np.clip(np.searchsorted(EDGES, silence[within], side="right") - 1, 0, len(EDGES) - 1)
    n_owners = int(owner.max(initial=-1)) + 1
    code = who[within] * len(EDGES) + place
    return np.bincount(code, minlength=n_owners * len(EDGES)).reshape(n_owners, len(EDGES))


def _two_rates(counts: NDArray) -> tuple[NDArray, NDArray]:
    """Share of the quick population and rates [1/min] of the quick and the slow one, by EM for all owners at once."""
    length = np.append((EDGES[:-1] + EDGES[1:]) / 2, EDGES[-1])
    number = counts.sum(axis=1)
    mean = counts @ length / np.maximum(number, 1)
    weight, rates = np.full(len(counts), 0.8), np.stack([2 / mean, 0.2 / mean])
    for _ in range(ROUNDS):
        quick, slow = (
            (share * rate)[:, None] * np.exp(-rate[:, None] * length)
            for share, rate in zip((weight, 1 - weight), rates, strict=True)
        )
        share = counts * quick / np.maximum(quick + slow, 1e-300)
        weight = np.clip(share.sum(axis=1) / number, 0.01, 0.9999)
        rates = np.stack(
            [
                part.sum(axis=1) / np.maximum(part @ length, 1e-9)
                for part in (share, np.maximum(counts - share, 1e-12))
            ]
        )
    return weight, rates


def _still_on(weight: NDArray, rates: NDArray, minutes: NDArray) -> NDArray:
    """Density that a station on now is on and hears again after so many minutes, relative to at once."""
    parts = [(share * rate)[:, None] for share, rate in zip((weight, 1 - weight), rates, strict=True)]
    fall = [np.exp(-rate[:, None] * minutes) for rate in rates]
    return (parts[0] * fall[0] + parts[1] * fall[1]) / (parts[0] + parts[1])


def _last(grid: NDArray, chance: NDArray) -> NDArray:
    """The largest value of the grid up to which the chance is believed, at least the first."""
    return grid[np.maximum(np.cumprod(chance >= BELIEVED, axis=1).sum(axis=1) - 1, 0).astype(int)]

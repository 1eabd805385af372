"""Opening days come in spells: exact chances of none, or of so many, in a run of days.

The chain's state before a day is the number of days since the last opening day, 1 .. 7 and "8 or
more"; a coming season's own level is integrated over by Gauss-Hermite points.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from scipy.special import expit

from analysis.fit.ahead.daymodel import AGE, MEMORY, ORDER, DayModel, yearly_design
from analysis.fit.model.harmonics import SEASON_DAYS

LENGTH = 10  # days of a window, unless asked otherwise
NODES = 5  # Gauss-Hermite points over a coming season's effect


def window_chances(
    coefs: np.ndarray,
    spreads: np.ndarray,
    *,
    length: int,
    at_least: int = 1,
    usable: np.ndarray | None = None,
) -> tuple[np.ndarray, np.ndarray]:
    """Chance of enough opening days in every window of a coming season, and of every day.

    Parameters
    ----------
    coefs : array (sets, columns)
        Sets of coefficients, such as `daymodel.draw_coefficients` draws.
    spreads : array (sets,)
        Spread of the coming season's effect under each set.
    length : int
        Days in a window; past the end of the season it goes on at its beginning.
    at_least : int
        Opening days that make a window good.
    usable : array (season days,) of bool, optional
        Days on which an opening could be worked; all by default.

    Returns
    -------
    array (sets, season days), array (sets, season days)
        Chance that the window which begins on a day is good; chance that the day is an opening day.
    """
    logits = _logits(coefs, spreads[:, None] * np.polynomial.hermite_e.hermegauss(NODES)[0])
    state = _spells(logits)
    day = np.einsum("snda,snda,n->sd", state, expit(logits)[..., AGE], _weights())
    short = _short(logits, state, length, at_least, usable)
    return np.clip(1 - np.einsum("snd,n->sd", short, _weights()), 0, 1), day


def rest_chances(
    coefs: np.ndarray,
    effects: np.ndarray,
    *,
    state: np.ndarray,
    first: int,
    length: int,
    at_least: int = 1,
    usable: np.ndarray | None = None,
) -> tuple[np.ndarray, np.ndarray]:
    """Chance of enough opening days in windows of a season that has begun, and of every day that is left.

    Parameters
    ----------
    coefs : array (sets, columns)
        Sets of coefficients.
    effects : array (sets,)
        The season's own effect under each set.
    state : array (8,)
        Chance of each number of days since the last opening day (1 .. 7, 8 or more), before day `first`.
    first : int
        Number of the day (from 0, `SEASON_DAYS`) from which windows may begin.
    length, at_least, usable
        As for `window_chances`.

    Returns
    -------
    array (sets, windows), array (sets, days)
        For each first day from `first` on whose window ends within the season; for each day from `first` on.
    """
    logits = _logits(coefs, effects[:, None])[:, :, first:]
    now = np.broadcast_to(state, (*logits.shape[:2], len(AGE)))
    states = np.empty((*logits.shape[:3], len(AGE)))
    for day in range(logits.shape[2]):
        states[:, :, day] = now
        now = step(now, expit(logits[:, :, day]))
    short = _short(logits, states, length, at_least, None if usable is None else usable[first:])[:, 0]
    windows = np.clip(1 - short[:, : max(logits.shape[2] - length + 1, 0)], 0, 1)
    return windows, (states * expit(logits)[..., AGE]).sum(axis=-1)[:, 0]


def state_after(model: DayModel, days: pd.DataFrame) -> np.ndarray:
    """Chance of each number of days since the last opening day, after the last of some days of one season."""
    days = days.sort_values("date")
    effect = model.coef[[model.effect_column(int(days["season"].iloc[0]))]]
    chance = expit(_logits(model.coef[None], effect[:, None])[0, 0])
    now = np.zeros(len(AGE))
    now[-1] = 1.0
    for day in days.itertuples():
        known = bool(day.open) if day.monitored else None
        now = step(now, chance[min(max(day.season_day - SEASON_DAYS[0], 0), len(chance) - 1)], opened=known)
    return now


def step(now: np.ndarray, chance: np.ndarray, *, opened: bool | None = None) -> np.ndarray:
    """One day on: the state after a day with these chances, array (..., 8).

    Parameters
    ----------
    now : array (..., 8)
        Chance of each number of days since the last opening day.
    chance : array (..., 4)
        Chance of an opening day by memory class.
    opened : bool, optional
        What is known of the day; nothing by default.
    """
    opening = now * chance[..., AGE]
    if opened is not None:
        opening = now * float(opened)
    shut = now - opening
    after = np.concatenate([opening.sum(axis=-1, keepdims=True), shut[..., :-1]], axis=-1)
    after[..., -1] += shut[..., -1]
    return after


def count_chances(model: DayModel, *, length: int) -> np.ndarray:
    """Chance of exactly 0 .. `length` opening days in each window, array (season days, length + 1)."""
    logits = _logits(model.coef[None], model.season_sd * np.polynomial.hermite_e.hermegauss(NODES)[0][None])
    counts = _counts(logits[0], _spells(logits)[0], length, length + 1)
    return np.einsum("ndk,n->dk", counts, _weights())


def _short(logits, state, length: int, at_least: int, usable) -> np.ndarray:
    """Chance of a window with too few opening days, array (sets, nodes, days); the last ones go round."""
    if at_least == 1 and usable is None:
        return _none(logits, state, length)
    return _fewer(logits, state, length, at_least, usable)


def _none(logits: np.ndarray, state: np.ndarray, length: int) -> np.ndarray:
    """Chance of a window without an opening day, array (sets, nodes, season days)."""
    shut = -np.logaddexp(0, logits)  # log of the chance that a day stays shut
    quiet = np.zeros(state.shape)
    for ahead in range(length):
        # With no opening in the window, the last opening day only falls further back.
        age = AGE[np.minimum(np.arange(len(AGE)) + ahead, len(AGE) - 1)]
        quiet += np.roll(shut, -ahead, axis=2)[..., age]
    return np.einsum("snda,snda->snd", state, np.exp(quiet))


def _fewer(logits, state, length: int, at_least: int, usable: np.ndarray | None) -> np.ndarray:
    """Chance of a window with fewer than `at_least` opening days, array (sets, nodes, season days)."""
    # One set at a time stays in the processor's cache, which is three times faster.
    sets = zip(logits, state, strict=True)
    return np.stack([_counts(one, before, length, at_least, usable).sum(axis=2) for one, before in sets])


def _counts(logits, state, length: int, most: int, usable: np.ndarray | None = None) -> np.ndarray:
    """Chance of 0 .. `most` - 1 opening days in each window, array (nodes, season days, most)."""
    chance = expit(logits)[..., AGE]
    counted = np.ones(state.shape[1], bool) if usable is None else usable
    now = np.zeros((*state.shape, most))  # by days since the last opening day, and opening days so far
    now[..., 0] = state
    for ahead in range(length):
        opening = now * np.roll(chance, -ahead, axis=1)[..., None]
        now -= opening
        now[..., -1, :] += now[..., -2, :]
        now[..., 1:-1, :] = now[..., :-2, :].copy()
        opened = opening.sum(axis=2)
        counts = np.roll(counted, -ahead)[:, None]
        now[..., 0, :] = np.where(counts, 0, opened)
        now[..., 0, 1:] += np.where(counts, opened[..., :-1], 0)
    return now.sum(axis=2)


def _logits(coefs: np.ndarray, effects: np.ndarray) -> np.ndarray:
    """Logit of an opening day, array (sets, nodes, season days, memory classes); effects (sets, nodes)."""
    width = 2 * ORDER + 1
    yearly = coefs[:, :width] @ yearly_design(SEASON_DAYS).T
    memory = np.column_stack([coefs[:, width : width + len(MEMORY)], np.zeros(len(coefs))])
    return yearly[:, None, :, None] + memory[:, None, None, :] + effects[:, :, None, None]


def _weights() -> np.ndarray:
    weights = np.polynomial.hermite_e.hermegauss(NODES)[1]
    return weights / weights.sum()


def _spells(logits: np.ndarray) -> np.ndarray:
    """Chance of each number of days since the last opening day (1 .. 7, 8 or more), before each day."""
    chance = expit(logits)
    state = np.zeros((*logits.shape[:3], len(AGE)))
    now = np.zeros((*logits.shape[:2], len(AGE)))
    now[..., -1] = 1.0
    n_days = logits.shape[2]
    # A month is ample for the start to be forgotten, since the memory is a week long.
    for number in range(-30, n_days):
        day = number % n_days
        state[:, :, day] = now
        now = step(now, chance[:, :, day])
    return state

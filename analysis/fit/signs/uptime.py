"""Was the beacon on although nobody heard it? Days on and off, told by the stations that hear it regularly.

A hidden chain of days: a beacon that is on stays on, one that is off stays off, each with a chance of its
own; a regular that is on the band hears a beacon that is on with a chance of its own, one that is off never.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

DRAWS, SWEEPS, SETTLE, SEED = 40, 24, 8, 20250621  # speed, any
STAY = ((40.0, 2.0), (6.0, 2.0))  # prior days: on for weeks, off for days (judgement; a season outweighs it)
FALSE = 1e-4  # a day's chance that a beacon that is off is reported by mistake (judgement)
LEAST_DAYS = 60  # judgement: two months tell a beacon's habits
LEVEL = 0.9  # the level of every interval of a review


@dataclass(frozen=True)
class Uptime:
    """Chance that the beacon was on, day by day, and the share of watched days it was, with its 90 % interval."""

    on: pd.Series
    share: float
    low: float
    high: float
    reason: str = ""


def uptime(days: pd.DataFrame, *, seed: int = SEED) -> Uptime:
    """Days on the air of a beacon, from who heard it and who could have.

    Parameters
    ----------
    days : DataFrame
        As `find.signs.heard.listening_days` makes it: 1 heard, 0 on the band but not heard, NaN not there.
    seed : int
        For the draws.

    Returns
    -------
    Uptime
        The share is of the days on which a regular was on the band. Without regulars, or over fewer than 60 days, it is NaN and
        the reason says so.

    Notes
    -----
    Gibbs draws of days and chances in turn, forty chains side by side: states by filtering forward and
    sampling backward, the chances from their Beta distributions.
    """
    if days.shape[1] == 0:
        return _unknown(days, "nobody hears it regularly, so days without a report say nothing about it")
    if len(days) < LEAST_DAYS:
        return _unknown(days, f"known over {len(days)} days only, of {LEAST_DAYS} needed")
    heard, there = (days == 1).to_numpy(float), days.notna().to_numpy(float)
    kept = _draws(heard, there, np.random.default_rng(seed))
    share = kept[there.any(axis=1)].mean(axis=0)
    low, high = np.quantile(share, [(1 - LEVEL) / 2, (1 + LEVEL) / 2])
    return Uptime(
        pd.Series(kept.mean(axis=1), index=days.index), float(share.mean()), float(low), float(high)
    )


def spells_off(on: pd.Series, *, least: float = 0.5) -> pd.DataFrame:
    """Runs of days on which the beacon was more likely off than on: `first last days chance_off`."""
    off = on < least
    run = (off != off.shift()).cumsum()[off]
    found = [
        (own.index[0], own.index[-1], len(own), float(1 - own.mean())) for _, own in on[off].groupby(run)
    ]
    return pd.DataFrame(found, columns=["first", "last", "days", "chance_off"])


def _draws(heard: NDArray, there: NDArray, rng: np.random.Generator) -> NDArray:
    """States drawn (days, draws): 1 on, 0 off."""
    hear = np.full(
        (heard.shape[1], DRAWS), heard.sum(axis=0)[:, None] / np.maximum(there.sum(axis=0), 1)[:, None]
    )
    hear = np.clip(hear + 0.1, 0.05, 0.95)
    stay_on, stay_off = np.full(DRAWS, 0.95), np.full(DRAWS, 0.8)
    kept = []
    for sweep in range(SWEEPS):
        on = _states(heard, there, hear, stay_on, stay_off, rng)
        hits, misses = heard.T @ on, (there - heard).T @ on
        hear = rng.beta(1 + hits, 1 + misses)
        stay_on, stay_off = _stays(on, rng)
        if sweep >= SETTLE:
            kept.append(on)
    return np.concatenate(kept, axis=1)


def _states(heard, there, hear, stay_on, stay_off, rng) -> NDArray:
    """Days on and off drawn given the chances: filtered forward, sampled backward, all chains at once."""
    when_on = heard @ np.log(hear) + (there - heard) @ np.log1p(-hear)
    when_off = np.broadcast_to((heard.sum(axis=1) * np.log(FALSE))[:, None], when_on.shape)
    odds = np.exp(np.clip(when_on - when_off, -500, 500))
    filtered = np.empty_like(odds)
    on, starts, weight, sum_of = (
        (1 - stay_off) / (2 - stay_on - stay_off),
        1 - stay_off,
        *np.empty((2, DRAWS)),
    )
    for day, today in enumerate(filtered):  # few operations, in place: the days are many and the chains few
        np.multiply(on, odds[day], out=weight)
        np.subtract(np.add(weight, 1, out=sum_of), on, out=sum_of)
        np.divide(weight, sum_of, out=today)
        np.multiply(today, stay_on, out=on)
        on += np.multiply(np.subtract(1, today, out=sum_of), starts, out=sum_of)
    return _backward(filtered, rng.random(filtered.shape), stay_on, stay_off)


def _backward(filtered: NDArray, luck: NDArray, stay_on: NDArray, stay_off: NDArray) -> NDArray:
    """States drawn from the last day back, all days at once.

    What a day becomes if the next is on, and if it is off, does not depend on any other day. Where both agree,
    the day is settled; else it is as the next, or the opposite, which is followed back from the settled ones.
    """
    off = 1 - filtered
    if_on = luck < stay_on * filtered / (stay_on * filtered + (1 - stay_off) * off)
    if_off = luck < (1 - stay_on) * filtered / ((1 - stay_on) * filtered + stay_off * off)
    if_on[-1] = if_off[-1] = luck[-1] < filtered[-1]
    if_on, if_off = if_on[::-1], if_off[::-1]
    days = np.arange(len(filtered))[:, None]
    settled = np.maximum.accumulate(np.where(if_on == if_off, days, 0), axis=0)
    turns = np.cumsum(if_off & ~if_on, axis=0)
    turned = (turns - np.take_along_axis(turns, settled, axis=0)) % 2 == 1
    return (np.take_along_axis(if_on, settled, axis=0) ^ turned)[::-1].astype(float)


def _stays(on: NDArray, rng: np.random.Generator) -> tuple[NDArray, NDArray]:
    """Chances to stay on and to stay off, drawn from the days that did."""
    before, after = on[:-1], on[1:]
    stays = rng.beta(STAY[0][0] + (before * after).sum(0), STAY[0][1] + (before * (1 - after)).sum(0))
    rests = rng.beta(
        STAY[1][0] + ((1 - before) * (1 - after)).sum(0), STAY[1][1] + ((1 - before) * after).sum(0)
    )
    return stays, rests


def _unknown(days: pd.DataFrame, reason: str) -> Uptime:
    return Uptime(pd.Series(np.nan, index=days.index), np.nan, np.nan, np.nan, reason)

"""Stations that listen round the clock, told by what they do through the night.

A receiver that is always on hears little at night, and what it hears comes evenly; somebody who is on for
half an hour now and then hears a lot, and then nothing. So the half-hours with receptions are held
against how many ten-minute slots of them have one: from both follows the share of the time that the
station was on, whether it hears one signal an hour or a hundred.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.find import intervals

DAYS = 60  # a stretch that is judged as a whole
DAYS_SHARE = 0.7  # of its days, heard in half of their parts or more
ON_SHARE = 0.6  # of the time, taken over the whole day
LEAST_SHARE = 0.3  # in any three hours of the day
BLOCKS = 8  # of three hours
HALF_HOURS = 6  # in a block
FEWEST = 12  # half-hours with receptions in every block of a stretch: less is no knowledge of the night
SURELY_OFF = 5.0  # receptions that should have come in a silence; none come by chance once in 150 times
LONGEST_H = 12.0  # judgement: whoever is silent for half a day is off
SHARES = np.linspace(0.01, 0.999, 200)  # speed: grid on which the chance of a slot is looked for


def runs(points: pd.DataFrame) -> pd.DataFrame:
    """From when to when each station listened round the clock.

    A day belongs to a run when it lies in some stretch of sixty days with receptions on 70 % of them, over
    which the station was on for 60 % of the time, and for 30 % in any three hours of the day. Days are counted on which anybody was heard at
    all, so a feed that rests in autumn does not end a run.

    Parameters
    ----------
    points : DataFrame
        `station band time` of receptions that prove listening.

    Returns
    -------
    DataFrame
        `station band start end`, whole UTC days.

    Notes
    -----
    Of K half-hours with a reception, those of an always-on receiver have M = 3 p / (1 − (1 − p)³) used slots
    each on average, p the chance that a slot has one. With p solved from M / K, K / (1 − (1 − p)³)
    half-hours were listened to. Receptions that come in bursts make the share smaller, never larger.
    """
    if points.empty:
        return intervals.empty()
    slot = pd.DataFrame(
        {
            "station": points["station"].astype("str").to_numpy(),
            "band": points["band"].astype("str").to_numpy(),
            "slot": np.floor(intervals.minutes(points["time"]) / 10).astype("int64"),
        }
    ).drop_duplicates()
    slot["day"] = slot["slot"] // 144
    days = np.sort(slot["day"].unique())
    found = [
        (*key, days[first] * 1440.0, (days[last] + 1) * 1440.0)
        for key, own in slot.groupby(intervals.KEYS)
        for first, last in _stretches(own["slot"].to_numpy(), days)
    ]
    if not found:
        return intervals.empty()
    table = pd.DataFrame(found, columns=intervals.COLUMNS)
    return table.assign(start=intervals.times(table["start"]), end=intervals.times(table["end"]))


def silences_listened_through(points: pd.DataFrame, always: pd.DataFrame) -> NDArray:
    """For every reception of a monitor, how long a silence before it proves nothing [min]; 0 for others.

    A silence is listened through when the station's own rate at these hours lets fewer than five
    receptions be expected in it, up to twelve hours.
    """
    minute = intervals.minutes(points["time"])
    allowed = np.zeros(len(points))
    owners = points[intervals.KEYS].astype("str").groupby(intervals.KEYS).indices
    opens, closes = (intervals.minutes(always[side]) for side in ("start", "end"))
    for place, key in enumerate(
        zip(always["station"].astype("str"), always["band"].astype("str"), strict=True)
    ):
        own = owners.get(key, np.empty(0, dtype=int))
        own = own[(minute[own] >= opens[place]) & (minute[own] < closes[place])]
        own = own[np.argsort(minute[own], kind="stable")]
        silence = np.diff(minute[own])
        due = _expected(minute[own], days=(closes[place] - opens[place]) / 1440)
        allowed[own[1:]] = np.where((due < SURELY_OFF) & (silence <= LONGEST_H * 60), silence + 1, 0.0)
    return allowed


def _expected(minute: NDArray, *, days: float) -> NDArray:
    """Used slots to be expected in each silence of a station, by its own rate at that hour of the day."""
    slots = np.unique(np.floor(minute / 10).astype("int64"))
    in_hour = np.bincount(slots % 144 // 6, minlength=24) / days
    total = np.concatenate([[0.0], np.cumsum(np.tile(in_hour, 2))])
    begin, hours = minute[:-1] % 1440 / 60, np.minimum(np.diff(minute) / 60, LONGEST_H)
    return np.interp(begin + hours, np.arange(49), total) - np.interp(begin, np.arange(49), total)


def _stretches(slots: NDArray, days: NDArray) -> list[tuple[int, int]]:
    """First and last index in `days` of each run of one station."""
    if len(days) < DAYS:
        return []
    half_hours = np.unique(slots // 3)
    used, busy = _per_day(slots, 18, days), _per_day(half_hours, HALF_HOURS, days)
    heard = (busy > 0).sum(axis=1) >= BLOCKS // 2
    used, busy, present = (_in_stretches(part) for part in (used, busy, heard[:, None]))
    share = np.minimum(busy / (1 - (1 - _chance(used / np.maximum(busy, 1))) ** 3) / (DAYS * HALF_HOURS), 1.0)
    enough = (share.mean(axis=1) >= ON_SHARE) & (share.min(axis=1) >= LEAST_SHARE)
    enough &= (busy.min(axis=1) >= FEWEST) & (present[:, 0] >= DAYS_SHARE * DAYS)
    inside = np.convolve(enough, np.ones(DAYS)) > 0.5
    # A stretch reaches past the day on which a monitor was switched on; a run begins and ends where it is heard.
    edges = np.flatnonzero(np.diff(np.concatenate([[0], inside.astype(int), [0]]))).reshape(-1, 2)
    good = [np.flatnonzero(heard[first:past]) + first for first, past in edges]
    return [(int(part[0]), int(part[-1])) for part in good if len(part)]


def _in_stretches(per_day: NDArray) -> NDArray:
    """Sums over each stretch of sixty days."""
    total = np.cumsum(np.vstack([np.zeros(per_day.shape[1]), per_day]), axis=0)
    return total[DAYS:] - total[:-DAYS]


def _per_day(places: NDArray, in_block: int, days: NDArray) -> NDArray:
    """How many of the numbered slots or half-hours lie in each block of each day."""
    block = places // in_block
    row = np.searchsorted(days, block // BLOCKS)
    return np.bincount(row * BLOCKS + block % BLOCKS, minlength=len(days) * BLOCKS).reshape(-1, BLOCKS)


def _chance(mean: NDArray) -> NDArray:
    """Chance that a slot is used, from the mean number of used slots in half-hours with any."""
    return np.interp(mean, 3 * SHARES / (1 - (1 - SHARES) ** 3), SHARES)

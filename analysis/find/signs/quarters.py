"""Quarters of an hour in which a sign could be noticed and what it announces could follow, beside chance.

A warning is a sign heard after an hour of silence while its receiver was on. Whether the announced opening
follows within 15 to 120 minutes is held against how often it follows a quarter of an hour at that hour of
that part of the season, in that very season, while the same receiver was on: a sign that shares no more
than the hour with the opening is followed as often as chance would have it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.find import intervals
from analysis.tag import sun

QUARTER_MIN = 15.0  # judgement: finer than any reaction, coarser than a beacon's cycle
AHEAD_MIN = (15.0, 120.0)  # time enough to turn the antenna; later nobody would call it a warning (judgement)
QUIET = 4  # quarters without the sign before it is news again (judgement)
WATCHED = 0.75  # of the time ahead, for an opening in it to have been noticed (judgement)
PART_DAYS = 20  # of one part of the season (judgement: the season's curve changes little in it)
PRIOR = 40.0  # quarters for which the product of hour and season counts in a thin class (judgement)
MOST_RATIO = 5.0  # a season is so many times better or worse than the mean at most
BLOCK_DAYS = 10  # judgement: openings within them hang together
COLUMNS = ["quarter", "season", "block", "what", "hit", "expected", "minutes"]
WARNING, ONSET, AT_ONCE = "warning", "onset", "at once"


@dataclass(frozen=True)
class Calendar:
    """Quarters from one day to another: first minute since 1970, number, and classes of each one."""

    first: float
    n: int
    hour: NDArray
    part: NDArray
    season: NDArray
    block: NDArray

    def number(self, minutes: NDArray) -> NDArray:
        """Quarter in which each minute lies."""
        return np.floor((minutes - self.first) / QUARTER_MIN).astype(int)

    @property
    def middle(self) -> NDArray:
        """Minute in the middle of each quarter."""
        return self.first + QUARTER_MIN * (np.arange(self.n) + 0.5)


@dataclass(frozen=True)
class Target:
    """What may be announced: its onsets [minutes since 1970], and of each quarter whether one may follow.

    `ready`: nothing is open or about to be, and enough of the time ahead was watched; `follows`: an onset
    comes within `AHEAD_MIN` of its middle; `at_once`: one comes before that.
    """

    onsets: NDArray
    ready: NDArray
    follows: NDArray
    at_once: NDArray


def calendar(start: pd.Timestamp, end: pd.Timestamp, *, lon: float, lat: float) -> Calendar:
    """Whole days from `start` to `end`, hours and seasons as at a place [degrees east, north]."""
    first, last = start.floor("D"), end.ceil("D") + pd.Timedelta("1D")
    n = int((last - first) / pd.Timedelta(minutes=QUARTER_MIN))
    middle = pd.Series(first + pd.to_timedelta((np.arange(n) + 0.5) * QUARTER_MIN, unit="min"))
    days = sun.season_of(middle, lat=lat)
    season_day, season = (np.asarray(days[name], int) for name in ("season_day", "season"))
    return Calendar(
        first=float((first - intervals.EPOCH) / pd.Timedelta(minutes=1)),
        n=n,
        hour=np.floor(np.asarray(sun.solar_hour(middle, lon=lon), float)).astype(int) % 24,
        part=(season_day + 183) // PART_DAYS,
        season=season,
        block=np.arange(n) // int(BLOCK_DAYS * 1440 / QUARTER_MIN),
    )


def covered(spans: pd.DataFrame, when: Calendar) -> NDArray:
    """Quarters whose middle lies in one of the spans (`start end`)."""
    step = np.zeros(when.n + 1, dtype=int)
    edges = ((intervals.minutes(spans[side]) - when.first) / QUARTER_MIN for side in ("start", "end"))
    for edge, sign in zip(edges, (1, -1), strict=True):
        np.add.at(step, np.clip(np.ceil(edge - 0.5).astype(int), 0, when.n), sign)
    return np.cumsum(step)[:-1] > 0


def target(onsets: NDArray, ends: NDArray, *, watched: NDArray, when: Calendar) -> Target:
    """An opening or the first voice in it as something to be announced.

    Parameters
    ----------
    onsets, ends : ndarray
        Minutes since 1970, onsets in order.
    watched : ndarray of bool
        Quarters in which somebody could have noticed it.
    when : Calendar
    """
    spans = pd.DataFrame({"start": intervals.times(onsets), "end": intervals.times(ends)})
    busy = covered(spans, when)
    nearest, farthest = (when.middle + minutes for minutes in AHEAD_MIN)
    before = np.searchsorted(onsets, nearest, side="left")
    follows = np.searchsorted(onsets, farthest, side="right") > before
    at_once = before > np.searchsorted(onsets, when.middle - QUARTER_MIN / 2, side="left")
    ahead = int(AHEAD_MIN[1] / QUARTER_MIN)
    total = np.concatenate([[0], np.cumsum(watched)])
    past = np.minimum(np.arange(when.n) + ahead + 1, when.n)
    enough = total[past] - total[np.minimum(np.arange(when.n) + 1, when.n)] >= WATCHED * ahead
    return Target(
        onsets=onsets, ready=enough & ~busy & ~at_once, follows=follows, at_once=enough & ~busy & at_once
    )


def outcomes(reports: NDArray, on: NDArray, aim: Target, when: Calendar) -> pd.DataFrame:
    """What became of each warning, and whether each onset had one.

    Parameters
    ----------
    reports : ndarray
        Minutes since 1970 at which the sign was reported, in order.
    on : ndarray of bool
        Quarters in which it could have been.
    aim : Target
    when : Calendar

    Returns
    -------
    DataFrame
        `quarter season block what hit expected minutes`. A "warning" was followed (`hit`) or not, with the
        chance that it would be (`expected`) and, where it was, minutes until then; "at once" is a warning
        that came too late to be one; an "onset" had the sign before it in time or not.
    """
    number = when.number(reports)
    inside = (number >= 0) & (number < when.n)
    heard = np.zeros(when.n, dtype=bool)
    heard[number[inside]] = True
    news = _news(heard) & on
    usable = on & aim.ready
    chance = _chance(aim.follows, usable, when)
    at = np.flatnonzero(news & usable)
    first = reports[np.searchsorted(reports, when.first + at * QUARTER_MIN, side="left")]
    nearest = when.middle[at] + AHEAD_MIN[0]
    onset = aim.onsets[np.minimum(np.searchsorted(aim.onsets, nearest), len(aim.onsets) - 1)]
    hit = aim.follows[at]
    late = np.flatnonzero(news & on & aim.at_once)
    before, had = _onsets(reports, on, aim, when)
    quarter = np.concatenate([at, late, before])
    sizes = [len(at), len(late), len(before)]
    rest = np.full(len(late) + len(before), np.nan)
    return pd.DataFrame(
        {
            "quarter": quarter,
            "season": when.season[quarter],
            "block": when.block[quarter],
            "what": np.repeat([WARNING, AT_ONCE, ONSET], sizes),
            "hit": np.concatenate([hit, np.zeros(len(late), dtype=bool), had]),
            "expected": np.concatenate([chance[at], rest]),
            "minutes": np.concatenate([np.where(hit, onset - first, np.nan), rest]),
        }
    )


def _news(heard: NDArray) -> NDArray:
    """Quarters with the sign after `QUIET` quarters without it."""
    total = np.concatenate([[0], np.cumsum(heard)])
    number = np.arange(len(heard))
    return heard & (total[number] - total[np.maximum(number - QUIET, 0)] == 0)


def _onsets(reports: NDArray, on: NDArray, aim: Target, when: Calendar) -> tuple[NDArray, NDArray]:
    """Quarters of the onsets before which the sign could have been noticed for long enough, and whether it was."""
    number = when.number(aim.onsets)
    inside = (number >= 0) & (number < when.n)
    onsets, number = aim.onsets[inside], number[inside]
    near, far = AHEAD_MIN
    had = np.searchsorted(reports, onsets - near, side="right") > np.searchsorted(reports, onsets - far)
    total = np.concatenate([[0], np.cumsum(on)])
    low = np.maximum(number - int(far / QUARTER_MIN), 0)
    known = total[number] - total[low] >= WATCHED * far / QUARTER_MIN
    return number[known], had[known]


def _chance(follows: NDArray, usable: NDArray, when: Calendar) -> NDArray:
    """Chance that an onset follows each quarter, by hour, part of the season and season."""
    parts = int(when.part.max()) + 1
    cell = when.hour * parts + when.part
    n, k = (
        np.bincount(cell[mask], minlength=24 * parts).reshape(24, parts)
        for mask in (usable, usable & follows)
    )
    whole = max(k.sum() / max(n.sum(), 1), 1e-12)
    by_hour, by_part = (k.sum(axis) / np.maximum(n.sum(axis), 1) for axis in (1, 0))
    product = np.minimum(np.outer(by_hour, by_part) / whole, 1.0)
    chance = ((k + PRIOR * product) / (n + PRIOR)).ravel()[cell]
    season = when.season - when.season.min()
    seen, expected = (np.bincount(season[usable], one[usable].astype(float)) for one in (follows, chance))
    ratio = np.clip(
        np.where(expected > 0, seen / np.maximum(expected, 1e-12), 1.0), 1 / MOST_RATIO, MOST_RATIO
    )
    ratio = np.pad(ratio, (0, int(season.max()) + 1 - len(ratio)), constant_values=1.0)
    return np.minimum(chance * ratio[season], 1.0)

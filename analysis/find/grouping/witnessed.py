"""Which reports from elsewhere tell of a patch that home could have used: those that others bear out.

A patch of sporadic E crowds the bends of many paths into one place. One station's wrong square, slow clock
or long ordinary range moves all of its own reports alike, and meteors scatter theirs over the whole sky. So a
bend of others counts here when paths that share no station crowd around it.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from analysis.find import reach
from analysis.find.grouping.together import SILENCE_KM
from analysis.physics.earth import EARTH_KM

STATIONS = 2  # at either end: two paths that share no station (judgement)
# Two bends lie in the same patch when they are nearer than half a patch is wide, and in the same while when they
# are nearer than half the silence that ends an opening; twice as near as what a patch borne out takes in.
# Judgement; with 120 to 200 km, and with three paths for two, the spans of `python -m benchmarks.here` stay.
CROWD_KM = SILENCE_KM / 2
SHARE_OF_GAP = 0.5  # judgement, as for the kilometres
TAKES_IN = 2.0  # crowds: the width of a patch, and the silence that ends an opening
BIN = 0.5  # of a crowd: the diagonal of a bin in four dimensions is 1, so its points are near one another


def witnessed(rows: pd.DataFrame, *, lon: float, lat: float) -> NDArray:
    """Which reports of sporadic E could have been of use at a place.

    Parameters
    ----------
    rows : DataFrame
        Reports of one series as `together.reports` makes them, with `gap_min`.
    lon, lat : float
        The place [degrees east, north].

    Returns
    -------
    ndarray of bool
        True for reports with an end near the place, and for those with a bend that serves it amid paths of two
        stations at either end (one, where the rows know no more), itself counted; or that lies in one
        patch with such a one. A report more never takes another's witnesses away.
    """
    near = reach.in_scope(rows, scope=reach.NEIGHBOURS, mechanism="", lon=lon, lat=lat)
    row, points = reach.serving_bends(rows, lon=lon, lat=lat)
    if not len(row):
        return near
    while_min = SHARE_OF_GAP * rows["gap_min"].to_numpy(dtype=float)[row]
    minute = rows["minute"].to_numpy(dtype=float)
    at = np.column_stack([points * (EARTH_KM / CROWD_KM), (minute[row] - minute.min()) / while_min])
    calls = [pd.factorize(rows[end])[0] for end in ("tx_call", "rx_call")]
    needed = [min(STATIONS, int(call.max()) + 1) for call in calls]
    crowded = _crowded(at, [call[row] for call in calls], needed)
    near[row[crowded]] = True
    return near


def _crowded(at: NDArray, calls: list[NDArray], needed: list[int]) -> NDArray:
    """Points with enough stations no farther than 1, and those nearer than `TAKES_IN` to such a one."""
    bins = np.unique(np.floor(at / BIN), axis=0, return_inverse=True)[1].ravel()
    core = _enough(bins, calls, needed)[bins]  # whole bins first: dense ones need no further look
    lone = np.flatnonzero(~core)
    if len(lone):
        around = cKDTree(at).query_ball_point(at[lone], 1.0)
        owner = np.repeat(np.arange(len(lone)), [len(one) for one in around])
        members = np.concatenate(around).astype(int)
        core[lone] = _enough(owner, [call[members] for call in calls], needed)
    if not core.any():
        return core
    return np.isfinite(cKDTree(at[core]).query(at, distance_upper_bound=TAKES_IN)[0])


def _enough(group: NDArray, calls: list[NDArray], needed: list[int]) -> NDArray:
    """For each group, from 0, whether it has stations enough at either end."""
    size = int(group.max()) + 1
    enough = np.ones(size, dtype=bool)
    for call, least in zip(calls, needed, strict=True):
        own = pd.DataFrame({"group": group, "call": call}).drop_duplicates()["group"]
        enough &= np.bincount(own, minlength=size) >= least
    return enough

"""Who could have noticed an opening: pairs of squares with a receiver on and a sender on.

A report needs both. Counting receivers alone takes a morning without anybody on the air for a morning
without openings. So every half-hour is reduced to the squares in which a receiver was proven on and those
in which a sender was, and a path is watched when both are and the way between them is one that the series
could have carried. What watching buys is shown by the half-hours that are known to be open: with some
squares taken away at random, would the rest have noticed?
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import sparse

from analysis.find.reach import REGION, in_scope, square_paths
from analysis.gather.locators import centre
from analysis.tag.coast import path_shares

SHARES = (0.8, 0.6, 0.45, 0.3, 0.2, 0.12)  # of the squares that are left when some are taken away
SEED = 20250621  # any
STEADY_SHARE = 0.25  # of its best season: sky watched so much in each is steady
SKY_DEG = (
    2.0,
    3.0,
)  # of latitude and longitude, some 200 km: a cloud seen on one path is seen on its neighbours
ROWS = 4096  # half-hours worked on together


@dataclass(frozen=True)
class Watch:
    """What is known of who was on the air for one series.

    `starts` are all half-hours covered, `squares` the locators of four characters; `receivers` and
    `senders` (half-hours, squares) say where somebody was proven on by evidence outside the series;
    `sightings` (`half_hour rx tx`, row numbers of the others, and `path_type`) are the paths reported.
    """

    starts: pd.DatetimeIndex
    squares: NDArray
    receivers: sparse.csr_array
    senders: sparse.csr_array
    sightings: pd.DataFrame


LENGTHS = (0.05, 0.95)  # the shortest and the longest paths reported are mistakes or luck


def over(watch: Watch, path_type: str) -> Watch:
    """The same with reports over paths of this type only; `all` keeps every one."""
    seen = watch.sightings
    if path_type != "all":
        seen = seen[seen["path_type"] == path_type]
    return replace(watch, sightings=seen.drop_duplicates(["half_hour", "rx", "tx"], ignore_index=True))


def usable_paths(
    watch: Watch,
    *,
    mechanism: str,
    path_type: str = "all",
    scope: str = REGION,
    lon: float = np.nan,
    lat: float = np.nan,
) -> NDArray:
    """Which pairs of squares the series could have joined.

    Parameters
    ----------
    watch : Watch
    mechanism, path_type : str
        The series; `all` takes every path type.
    scope : str
        One of `reach.SCOPES`; `here` and `neighbours` ask for the place [degrees east, north].

    Returns
    -------
    array (squares, squares) of bool
        Receivers in rows, senders in columns: paths of the scope and the ground, between the lengths that
        hold nine tenths of the paths reported.
    """
    n = len(watch.squares)
    ways = square_paths(watch.squares)
    km = ways["distance_km"].to_numpy().reshape(n, n)
    seen = km[watch.sightings["rx"], watch.sightings["tx"]]
    if not len(seen):
        return np.zeros((n, n), dtype=bool)
    near, far = np.quantile(seen, LENGTHS)
    usable = (km >= near) & (km <= far)
    usable &= in_scope(ways, scope=scope, mechanism=mechanism, lon=lon, lat=lat).reshape(n, n)
    return usable if path_type == "all" else _over(watch.squares, usable, path_type)


def _over(squares: NDArray, usable: NDArray, path_type: str) -> NDArray:
    """The paths over this ground among the usable ones."""
    rx, tx = np.nonzero(usable)
    place = centre(pd.Series(squares))
    lon, lat = place["lon"].to_numpy(), place["lat"].to_numpy()
    ground = path_shares(lon1=lon[rx], lat1=lat[rx], lon2=lon[tx], lat2=lat[tx])["path_type"]
    found = np.zeros_like(usable)
    found[rx, tx] = (ground == path_type).to_numpy()
    return found


def steady_paths(watch: Watch, usable: NDArray, *, season: NDArray) -> NDArray:
    """The usable paths through sky that was watched in every season, by which seasons can be compared.

    A path more through the same sky is allowed for by their number; a path through sky that nobody watched
    before is not.

    Parameters
    ----------
    watch, usable
        As for `watched_paths`.
    season : array (half-hours,)
        The season that every half-hour is counted with.
    """
    ways = square_paths(watch.squares)
    sky = np.floor(ways[["mid_lat", "mid_lon"]].to_numpy() / SKY_DEG)
    cell = np.unique(sky, axis=0, return_inverse=True)[1].ravel()
    shares = []
    for one in np.unique(season):
        there = season == one
        together = (watch.receivers[there].T @ watch.senders[there]).toarray() * usable
        shares.append(np.minimum(np.bincount(cell, together.ravel()) / there.sum(), 1.0))
    least, most = np.min(shares, axis=0), np.max(shares, axis=0)
    steady = (least > 0) & (least >= STEADY_SHARE * most)
    return usable & steady[cell].reshape(usable.shape)


def watched_paths(watch: Watch, usable: NDArray) -> NDArray:
    """Number of watched paths in every half-hour.

    Parameters
    ----------
    watch : Watch
    usable : array (squares, squares) of bool
        Which paths count, receivers in rows and senders in columns.
    """
    return _paths(watch.receivers, watch.senders, usable)


def seen_paths(watch: Watch, usable: NDArray) -> NDArray:
    """Number of watched paths on which the series was reported, in every half-hour."""
    return np.bincount(_proven(watch, usable)["half_hour"], minlength=len(watch.starts))


def proven_share(watch: Watch, usable: NDArray) -> float:
    """Share of the usable paths reported whose both ends were proven on; NaN where none was reported."""
    reported = usable[watch.sightings["rx"], watch.sightings["tx"]].sum()
    return len(_proven(watch, usable)) / reported if reported else np.nan


def thinned(
    watch: Watch, usable: NDArray, *, shares: tuple[float, ...] = SHARES, seed: int = SEED
) -> pd.DataFrame:
    """What would have been noticed in the half-hours with a report, had fewer squares been on the air.

    Parameters
    ----------
    watch, usable
        As for `watched_paths`.
    shares : tuple of float
        Chances of every square to stay.
    seed : int
        Of the draws.

    Returns
    -------
    DataFrame
        `start share n_watched seen`: watched paths that are left, and whether one of them was
        reported; one row per half-hour with a report and share, without those in which no path is left.
    """
    proven = _proven(watch, usable)
    half_hours, bins = np.unique(proven["half_hour"], return_inverse=True)
    receivers, senders = watch.receivers[half_hours], watch.senders[half_hours]
    starts, rng = watch.starts[half_hours], np.random.default_rng(seed)
    tables = []
    for share in shares:
        kept = rng.random((len(half_hours), len(watch.squares))) < share
        n = _paths(*(sparse.csr_array(table.multiply(kept)) for table in (receivers, senders)), usable)  # type: ignore[call-arg]
        seen = kept[bins, proven["rx"]] & kept[bins, proven["tx"]]
        seen = np.bincount(bins, seen, len(half_hours)) > 0
        tables.append(pd.DataFrame({"start": starts, "share": share, "n_watched": n, "seen": seen}))
    table = pd.concat(tables, ignore_index=True)
    return table[table["n_watched"] > 0].reset_index(drop=True)


def _paths(receivers: sparse.csr_array, senders: sparse.csr_array, usable: NDArray) -> NDArray:
    """Usable paths from a square with a sender to one with a receiver, for each half-hour."""
    ways = usable.astype(np.float32)
    total = np.zeros(receivers.shape[0], dtype=int)
    for first in range(0, len(total), ROWS):
        heard, sent = (
            table[first : first + ROWS].toarray().astype(np.float32) for table in (receivers, senders)
        )
        total[first : first + ROWS] = ((heard @ ways) * sent).sum(axis=1)
    return total


def _proven(watch: Watch, usable: NDArray) -> pd.DataFrame:
    """The sightings on watched paths."""
    bins, rx, tx = watch.sightings[["half_hour", "rx", "tx"]].to_numpy().T
    if not len(bins):
        return watch.sightings
    on = _at(watch.receivers, bins, rx) & _at(watch.senders, bins, tx) & usable[rx, tx]
    return watch.sightings[on]


def _at(table: sparse.csr_array, row: NDArray, column: NDArray) -> NDArray:
    """Whether each (row, column) of a table of marks is set."""
    return np.asarray(table[row, column]).ravel() > 0

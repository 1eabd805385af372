"""One clustering in space and time: what lies near in place and time belongs together.

Points are places on the unit sphere with a time. Two are near when their distance, counted in reaches, and
their time apart, counted in gaps, are together (as legs of a right angle) no more than one; what a chain of
near points joins is one cluster. Nothing but the points decides: not their order, not how often one comes,
not where on Earth or when they lie. A point more may join two clusters, but never undo one.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from analysis.physics.earth import EARTH_KM

BIN = 0.5  # side of a bin in reaches and gaps: its diagonal in four dimensions is 1, so its points are near
NEAR = 1.0 + 1e-9  # a silence of exactly the gap parts nothing, however it is rounded
DAY_MIN = 1440.0  # definition
LOOKED = 400  # points looked ahead at most for the next one near by


def join(
    points: NDArray, minute: NDArray, *, reach_km: float, gap_min: float, owner: NDArray | None = None
) -> NDArray:
    """Number of the cluster of each point.

    Parameters
    ----------
    points : ndarray (n, 3)
        Unit vectors; NaN where the place is not known: such points are near to one another only.
    minute : ndarray (n,)
        Times from any zero [min].
    reach_km, gap_min : float
        Farthest two points of one time, and longest silence at one place.
    owner : ndarray (n,) of int, optional
        Points of one owner belong together wherever they lie: the places along one path.

    Returns
    -------
    ndarray of int
        From 0, without gaps, in no order that means anything.

    Notes
    -----
    Points are put into bins so small that those of one bin are near; bins are joined by one point of each,
    and where that leaves several clusters, by the nearest points of neighbouring bins. That gives the same
    as looking at every pair, at a cost that follows the number of bins: a thousand stations in one square
    cost no more than one.
    """
    if not len(minute):
        return np.empty(0, dtype=int)
    place = np.nan_to_num(points) * (EARTH_KM / reach_km)
    scaled = np.column_stack([place, (minute - minute.min()) / gap_min])
    scaled, code = np.unique(scaled, axis=0, return_inverse=True)
    bins = np.unique(np.floor(scaled / BIN), axis=0, return_inverse=True)[1].ravel()
    links = [np.column_stack([_first(bins)[bins], np.arange(len(bins))])]
    firsts = np.flatnonzero(_first(bins)[bins] == np.arange(len(bins)))
    links.append(firsts[cKDTree(scaled[firsts]).query_pairs(NEAR, output_type="ndarray")])
    if owner is not None:
        order = np.lexsort((code, owner))
        same = np.diff(owner[order]) == 0
        links.append(np.column_stack([code[order][:-1][same], code[order][1:][same]]))
    label = _components(np.concatenate(links), len(scaled))
    return _completed(scaled, bins, label)[code.ravel()]


def next_near(points: NDArray, minute: NDArray, *, reach_km: float) -> NDArray:
    """Silences at a place: minutes until the next report within reach, of every report in another minute.

    Parameters
    ----------
    points, minute, reach_km
        As for `join`.

    Returns
    -------
    ndarray
        Minutes from 1; a day where none comes, or none among the next 400.
    """
    minute = np.floor(minute)
    seen = np.unique(np.column_stack([minute, np.nan_to_num(points)]), axis=0)
    minute, place = seen[:, 0], seen[:, 1:]
    far = (reach_km / EARTH_KM) ** 2
    found = np.full(len(minute), DAY_MIN)
    open_ = np.arange(len(minute))
    for step in range(1, LOOKED):
        open_ = open_[open_ + step < len(minute)]
        silence = minute[open_ + step] - minute[open_]
        near = (((place[open_ + step] - place[open_]) ** 2).sum(axis=1) <= far) & (silence > 0)
        found[open_[near]] = np.minimum(silence[near], DAY_MIN)
        open_ = open_[~near & (silence < DAY_MIN)]
        if not len(open_):
            break
    return found


def _first(bins: NDArray) -> NDArray:
    """Position of the first point of every bin."""
    first = np.full(bins.max() + 1, len(bins))
    np.minimum.at(first, bins, np.arange(len(bins)))
    return first


def _components(links: NDArray, n: int) -> NDArray:
    graph = coo_array((np.ones(len(links), dtype=bool), (links[:, 0], links[:, 1])), shape=(n, n))
    return connected_components(graph, directed=False)[1]


def _completed(scaled: NDArray, bins: NDArray, label: NDArray) -> NDArray:
    """Clusters joined where points other than the first of their bins are near."""
    order = np.argsort(bins, kind="stable")
    edges = np.flatnonzero(np.diff(bins[order], prepend=-1))
    ends = np.append(edges[1:], len(order))
    low, high = (edge.reduceat(scaled[order], edges) for edge in (np.minimum, np.maximum))
    # First points of bins with near members are at most three apart: one, and a diagonal in either bin.
    first = order[edges]
    pairs = cKDTree(scaled[first]).query_pairs(3.0, output_type="ndarray")
    pairs = pairs[label[first[pairs[:, 0]]] != label[first[pairs[:, 1]]]]
    apart = np.maximum(
        np.maximum(low[pairs[:, 0]] - high[pairs[:, 1]], low[pairs[:, 1]] - high[pairs[:, 0]]), 0
    )
    pairs = pairs[(apart**2).sum(axis=1) <= NEAR]
    near = np.array(
        [_touch(*(scaled[order[edges[one] : ends[one]]] for one in pair)) for pair in pairs], dtype=bool
    )
    joins = label[first[pairs[near]]].reshape(-1, 2)
    return _components(joins, label.max() + 1)[label] if len(joins) else label


def _touch(one: NDArray, other: NDArray) -> bool:
    """Whether any point of one bin is near one of the other."""
    return bool(np.isfinite(cKDTree(one).query(other, distance_upper_bound=NEAR)[0]).any())

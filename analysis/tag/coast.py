"""Sea and land under a path, from the shipped grid of zones.

The grid (`zones.png`, see `build_zones` and NOTICE) has cells of two minutes of arc. Zones follow
ITU-R P.452: sea with large lakes (B), land within 50 km of them (A1), inland (A2). The
Recommendation counts land above 100 m as inland even at the coast; no heights are shipped, so that
clause is not applied unless the caller gives `inland`, a function of longitude and latitude.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

SEA, COASTAL, INLAND, LAKE = 0, 1, 2, 3
STEP_KM = 10.0
BLOCK = 4_000_000  # samples held at once
LAND_BELOW, SEA_FROM = 0.10, 0.75
PATH_TYPES = pd.CategoricalDtype(["land", "mixed", "sea"])
FLATTENING = 1 / 298.257223563
# Where within a cell the two stations may stand, as parts of its half width and half height: a
# Halton sequence in four dimensions, so that no two stand-ins share a row or a column.
STAND_INS = 12


def zone_at(*, lon: ArrayLike, lat: ArrayLike) -> NDArray:
    """Zone of points: 0 sea, 1 coastal land, 2 inland, 3 large lake.

    Parameters
    ----------
    lon, lat : array_like
        Degrees east, north; must be finite.
    """
    zones = _zones()
    rows, columns = zones.shape
    row = ((90 - np.asarray(lat, float)) * (rows / 180)).astype("int64")
    column = ((np.asarray(lon, float) + 180) * (columns / 360)).astype("int64")
    return zones[np.clip(row, 0, rows - 1), column % columns]


def path_shares(
    *,
    lon1: ArrayLike,
    lat1: ArrayLike,
    lon2: ArrayLike,
    lat2: ArrayLike,
    step_km: float = STEP_KM,
    inland: Callable[[NDArray, NDArray], NDArray] | None = None,
) -> pd.DataFrame:
    """What lies under great-circle paths, sampled every `step_km`.

    Parameters
    ----------
    lon1, lat1, lon2, lat2 : array_like
        Ends, degrees east and north. NaN gives NaN.
    step_km : float
        Longest distance between samples; each stands for the piece of path around it.
    inland : callable, optional
        Given longitudes and latitudes, true where land counts as inland whatever its distance from the
        sea: the place for the 100 m height clause.

    Returns
    -------
    DataFrame
        `sea_share` 0–1 (sea and large lakes; omega in P.452), `longest_land_km` (dtm),
        `longest_inland_km` (dlm), `longest_sea_km`, `coasts` crossed, `path_type`.

    References
    ----------
    ITU-R P.452, path-centre parameters dtm, dlm and omega.
    """
    ends = np.broadcast_arrays(*(np.atleast_1d(np.asarray(x, float)) for x in (lon1, lat1, lon2, lat2)))
    start, stop = _unit(ends[0], ends[1]), _unit(ends[2], ends[3])
    length = 6371.0088 * 2 * np.arcsin(np.minimum(np.linalg.norm(start - stop, axis=1) / 2, 1))
    counts = np.where(np.isfinite(length), np.maximum(np.ceil(length / step_km), 1), 0).astype("int64")
    numbers = np.full((len(counts), 5), np.nan)
    known = np.flatnonzero(counts)
    blocks = np.cumsum(counts[known]) // BLOCK
    for block in np.unique(blocks):
        rows = known[blocks == block]
        numbers[rows] = _survey(start[rows], stop[rows], length[rows], counts[rows], inland)
    names = ["sea_share", "longest_land_km", "longest_inland_km", "longest_sea_km", "coasts"]
    table = pd.DataFrame(numbers, columns=names)
    table["path_type"] = path_type(table["sea_share"])
    return table


def path_type(sea_share: ArrayLike) -> pd.Categorical:
    """Land below a tenth of sea, sea from three quarters, mixed between; missing where unknown.

    A path between two harbours still starts and ends on land, hence no higher bound for sea.
    """
    share = np.asarray(sea_share, float)
    code = np.select([np.isnan(share), share < LAND_BELOW, share < SEA_FROM], [-1, 0, 1], 2)
    return pd.Categorical.from_codes(code, dtype=PATH_TYPES)


def type_certainty(pairs: pd.DataFrame) -> NDArray:
    """How often the type of a path stays the same when both stations move within their cells.

    Parameters
    ----------
    pairs : DataFrame
        `tx_lon tx_lat tx_half_width_deg`, the same for `rx_`, and `path_type`.

    Returns
    -------
    ndarray
        Share of `STAND_INS` evenly spread placements with the type of the cell centres; NaN where
        the type is unknown.
    """
    same = np.zeros(len(pairs))
    code = pairs["path_type"].astype(PATH_TYPES).cat.codes.to_numpy()
    for shift in _placements():
        moved = {}
        for end, (x, y) in (("tx", shift[:2]), ("rx", shift[2:])):
            half = pairs[f"{end}_half_width_deg"].to_numpy()
            moved[end] = (
                pairs[f"{end}_lon"].to_numpy() + x * half,
                pairs[f"{end}_lat"].to_numpy() + y * half / 2,
            )
        (lon1, lat1), (lon2, lat2) = moved["tx"], moved["rx"]
        share = path_shares(lon1=lon1, lat1=lat1, lon2=lon2, lat2=lat2, step_km=40.0)
        same += share["path_type"].cat.codes.to_numpy() == code
    return np.where(code < 0, np.nan, same / STAND_INS)


@lru_cache(maxsize=1)
def _zones() -> NDArray:
    from PIL import Image

    # 58 million cells are more than Pillow accepts from a stranger's file; this one is ours.
    Image.MAX_IMAGE_PIXELS = None
    with Image.open(Path(__file__).parent / "zones.png") as image:
        return np.asarray(image)


@lru_cache(maxsize=1)
def _placements() -> NDArray:
    from scipy.stats import qmc

    return 2 * qmc.Halton(4, scramble=False).random(STAND_INS + 1)[1:] - 1


def _unit(lon: NDArray, lat: NDArray) -> NDArray:
    """Unit vectors of the reduced latitude, on which great circles follow geodesics most closely."""
    reduced = np.arctan((1 - FLATTENING) * np.tan(np.radians(lat)))
    x, y = np.cos(reduced) * np.cos(np.radians(lon)), np.cos(reduced) * np.sin(np.radians(lon))
    return np.column_stack([x, y, np.sin(reduced)])


def _survey(start: NDArray, stop: NDArray, length: NDArray, counts: NDArray, inland) -> NDArray:
    """Numbers of `path_shares` for paths whose samples fit in memory."""
    first = np.cumsum(counts) - counts
    path = np.repeat(np.arange(len(counts)), counts)
    part = (np.arange(len(path)) - first[path] + 0.5) / counts[path]
    lon, lat = _between(start, stop, path, part)
    zone = zone_at(lon=lon, lat=lat)
    if inland is not None:
        zone = np.where((zone == COASTAL) & inland(lon, lat), INLAND, zone)
    sea = (zone == SEA) | (zone == LAKE)
    piece = length / counts
    crossing = (np.diff(sea.astype("int8")) != 0) & (np.diff(path) == 0)
    return np.column_stack(
        [
            np.add.reduceat(sea, first, dtype="int64") / counts,
            _longest(~sea, path, len(counts)) * piece,
            _longest(zone == INLAND, path, len(counts)) * piece,
            _longest(sea, path, len(counts)) * piece,
            np.bincount(path[1:][crossing], minlength=len(counts)),
        ]
    )


def _between(start: NDArray, stop: NDArray, path: NDArray, part: NDArray) -> tuple[NDArray, NDArray]:
    """Points along great circles, degrees east and north."""
    angle = 2 * np.arcsin(np.minimum(np.linalg.norm(start - stop, axis=1) / 2, 1))[path]
    sine = np.where(angle > 1e-9, np.sin(angle), 1.0)
    before = np.where(angle > 1e-9, np.sin((1 - part) * angle) / sine, 1 - part)
    after = np.where(angle > 1e-9, np.sin(part * angle) / sine, part)
    x, y, z = (before * start[path, i] + after * stop[path, i] for i in range(3))
    lat = np.arctan(z / np.hypot(x, y) / (1 - FLATTENING))
    return np.degrees(np.arctan2(y, x)), np.degrees(lat)


def _longest(yes: NDArray, path: NDArray, n_paths: int) -> NDArray:
    """Longest run of consecutive true samples within each path."""
    edge = np.flatnonzero((np.diff(yes.astype("int8")) != 0) | (np.diff(path) != 0)) + 1
    begin = np.r_[0, edge]
    size = np.diff(np.r_[begin, len(yes)])
    longest = np.zeros(n_paths, dtype="int64")
    np.maximum.at(longest, path[begin], np.where(yes[begin], size, 0))
    return longest

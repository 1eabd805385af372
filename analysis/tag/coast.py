"""Sea and land under a path, from the shipped grid of zones.

The grid (`zones.png`, see `build_zones` and NOTICE) has cells of two minutes of arc. Zones follow
ITU-R P.452: sea with large lakes (B), land within 50 km of them (A1), inland (A2). The
Recommendation counts land above 100 m as inland even at the coast; no heights are shipped, so that
clause is not applied unless the caller gives `inland`, a function of longitude and latitude.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from analysis.physics.earth import EARTH_KM, FLATTENING

SEA, COASTAL, INLAND, LAKE = 0, 1, 2, 3  # codes in the grid
STEP_KM = 10.0  # some three cells of the grid
LONG_KM = 1000.0  # a longer path has the steps of one of this length
NODE_KM = 200.0  # between points of the great circle so far apart a path is straight on the map to 1 km
BLOCK = 200_000  # samples worked at once; more would not fit the processor's cache
# Shares of the path; judgement: tropo over a bay is told from tropo over land.
LAND_BELOW, SEA_FROM = 0.10, 0.75
PATH_TYPES = pd.CategoricalDtype(["land", "mixed", "sea"])
# Where within a cell the two stations may stand, as parts of its half width and half height: a
# Halton sequence in four dimensions, so that no two stand-ins share a row or a column.
STAND_INS = 8


def zone_at(*, lon: ArrayLike, lat: ArrayLike) -> NDArray:
    """Zone of points: 0 sea, 1 coastal land, 2 inland, 3 large lake.

    Parameters
    ----------
    lon, lat : array_like
        Degrees east, north; must be finite.
    """
    zones = _zones()
    rows, columns = zones.shape
    # One turn added makes truncation round down; positions up to a turn beyond the date line fold back.
    row = ((90 - np.asarray(lat)) * np.float32(rows / 180)).astype("int32")
    column = ((np.asarray(lon) + 540) * np.float32(columns / 360)).astype("int32") - columns
    column -= columns * (column >= columns)
    column += columns * (column < 0)
    return zones.ravel().take(np.minimum(row, rows - 1) * columns + column, mode="clip")


def path_shares(
    *,
    lon1: ArrayLike,
    lat1: ArrayLike,
    lon2: ArrayLike,
    lat2: ArrayLike,
    step_km: float = STEP_KM,
    inland: Callable[[NDArray, NDArray], NDArray] | None = None,
) -> pd.DataFrame:
    """What lies under great-circle paths, sampled every `step_km`, beyond 1000 km every hundredth.

    Parameters
    ----------
    lon1, lat1, lon2, lat2 : array_like
        Ends, degrees east and north. NaN gives NaN.
    step_km : float
        Longest distance between samples of paths up to 1000 km; each stands for the piece of path
        around it. A longer path has as many samples as one of 1000 km.
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
    numbers = np.full((len(ends[0]), 5), np.nan)
    for rows, samples in _sampled(ends, step_km):
        numbers[rows] = _survey(samples, inland)
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
        the type is unknown. Between displaced ends the path is displaced in proportion.
    """
    names = ["tx_lon", "tx_lat", "rx_lon", "rx_lat"]
    half = np.column_stack(
        [pairs[f"{end}_half_width_deg"] * part for end in ("tx", "rx") for part in (1, 0.5)]
    )
    code = pairs["path_type"].astype(PATH_TYPES).cat.codes.to_numpy()
    certain = np.full(len(pairs), np.nan)
    for rows, samples in _sampled([pairs[name].to_numpy("float64") for name in names], 4 * STEP_KM):
        same = np.zeros(len(rows))
        for placement in _placements():
            x1, y1, x2, y2 = (placement * half[rows]).astype("float32").T
            across, along, x, y = (np.repeat(v, samples.counts) for v in (x2 - x1, y2 - y1, x1, y1))
            lon = samples.lon + x + samples.part * across
            lat = samples.lat + y + samples.part * along
            share = (
                np.add.reduceat(_is_sea(zone_at(lon=lon, lat=lat)), samples.first, dtype="int64")
                / samples.counts
            )
            same += path_type(share).codes == code[rows]
        certain[rows] = same / STAND_INS
    return certain


@dataclass(frozen=True)
class _Samples:
    """Points along some paths, one path after the other."""

    path: NDArray  # number of the path each point belongs to
    part: NDArray  # how far along it the point lies, 0–1
    lon: NDArray
    lat: NDArray
    first: NDArray  # first point, number of points and length [km] of each path
    counts: NDArray
    length: NDArray


def _sampled(ends: Sequence[NDArray], step_km: float) -> Iterator[tuple[NDArray, _Samples]]:
    """Rows with known ends and their samples, in blocks that fit in memory."""
    start, stop = _unit(ends[0], ends[1]), _unit(ends[2], ends[3])
    angle = 2 * np.arcsin(np.minimum(np.linalg.norm(start - stop, axis=1) / 2, 1))
    length = EARTH_KM * angle
    known = np.flatnonzero(np.isfinite(length))
    steps = np.minimum(length[known], LONG_KM) / step_km  # a longer path has the steps of one of LONG_KM
    counts = np.maximum(np.ceil(steps), 1).astype("int64")
    blocks = np.cumsum(counts) // BLOCK
    for block in np.unique(blocks):
        here = blocks == block
        rows = known[here]
        yield rows, _along(start[rows], stop[rows], angle[rows], counts[here])


def _along(start: NDArray, stop: NDArray, angle: NDArray, counts: NDArray) -> _Samples:
    """Evenly spaced points: exact at nodes of the great circle, straight on the map in between."""
    pieces = np.maximum(np.ceil(angle * EARTH_KM / NODE_KM), 1).astype("int64")
    node_path = np.repeat(np.arange(len(angle)), pieces + 1)
    node_first = np.cumsum(pieces + 1) - pieces - 1
    node_part = (np.arange(len(node_path)) - node_first[node_path]) / pieces[node_path]
    node_lon, node_lat = _between(start, stop, angle, node_path, node_part)
    first = np.cumsum(counts) - counts
    path = np.repeat(np.arange(len(counts), dtype="int32"), counts)
    number = np.arange(len(path), dtype="int32") - np.repeat(first.astype("int32"), counts)
    part = (number + np.float32(0.5)) * np.repeat((1 / counts).astype("float32"), counts)
    place = part * np.repeat(pieces.astype("float32"), counts)
    left = place.astype("int32")
    node = np.repeat(node_first.astype("int32"), counts) + left
    rest = place - left
    # The short way round, also where the path crosses the date line.
    east = (np.remainder(np.diff(node_lon, append=0.0) + 180, 360) - 180).astype("float32")
    north = np.diff(node_lat, append=0.0).astype("float32")
    return _Samples(
        path=path,
        part=part,
        lon=node_lon.astype("float32")[node] + rest * east[node],
        lat=node_lat.astype("float32")[node] + rest * north[node],
        first=first,
        counts=counts,
        length=angle * EARTH_KM,
    )


def _between(
    start: NDArray, stop: NDArray, angle: NDArray, path: NDArray, part: NDArray
) -> tuple[NDArray, NDArray]:
    """Points along great circles, degrees east and north."""
    whole = angle[path]
    sine = np.where(whole > 1e-9, np.sin(whole), 1.0)
    before = np.where(whole > 1e-9, np.sin((1 - part) * whole) / sine, 1 - part)
    after = np.where(whole > 1e-9, np.sin(part * whole) / sine, part)
    x, y, z = (before * start[path, i] + after * stop[path, i] for i in range(3))
    return np.degrees(np.arctan2(y, x)), np.degrees(np.arctan(z / np.hypot(x, y) / (1 - FLATTENING)))


def _unit(lon: NDArray, lat: NDArray) -> NDArray:
    """Unit vectors of the reduced latitude, on which great circles follow geodesics most closely."""
    reduced = np.arctan((1 - FLATTENING) * np.tan(np.radians(lat)))
    x, y = np.cos(reduced) * np.cos(np.radians(lon)), np.cos(reduced) * np.sin(np.radians(lon))
    return np.column_stack([x, y, np.sin(reduced)])


def _survey(samples: _Samples, inland) -> NDArray:
    """Numbers of `path_shares` for sampled paths."""
    zone = zone_at(lon=samples.lon, lat=samples.lat)
    if inland is not None:
        zone = np.where((zone == COASTAL) & inland(samples.lon, samples.lat), INLAND, zone)
    sea = _is_sea(zone)
    path, n_paths = samples.path, len(samples.counts)
    piece = samples.length / samples.counts
    crossing = (sea[1:] != sea[:-1]) & (path[1:] == path[:-1])
    return np.column_stack(
        [
            np.add.reduceat(sea, samples.first, dtype="int64") / samples.counts,
            _longest(~sea, path, n_paths) * piece,
            _longest(zone == INLAND, path, n_paths) * piece,
            _longest(sea, path, n_paths) * piece,
            np.bincount(path[1:][crossing], minlength=n_paths),
        ]
    )


def _is_sea(zone: NDArray) -> NDArray:
    return (zone == SEA) | (zone == LAKE)


def _longest(yes: NDArray, path: NDArray, n_paths: int) -> NDArray:
    """Longest run of consecutive true samples within each path."""
    edge = np.flatnonzero((yes[1:] != yes[:-1]) | (path[1:] != path[:-1])) + 1
    begin = np.r_[0, edge]
    size = np.where(yes[begin], np.diff(np.r_[begin, len(yes)]), 0)
    # Runs stand in the order of their paths, and every path has at least one.
    return np.maximum.reduceat(size, np.searchsorted(path[begin], np.arange(n_paths)))


@lru_cache(maxsize=1)
def _zones() -> NDArray:
    from PIL import Image

    # 58 million cells are more than Pillow accepts from a stranger's file; this one is ours.
    limit, Image.MAX_IMAGE_PIXELS = Image.MAX_IMAGE_PIXELS, None
    try:
        with Image.open(Path(__file__).parent / "zones.png") as image:
            return np.asarray(image)
    finally:
        Image.MAX_IMAGE_PIXELS = limit


@lru_cache(maxsize=1)
def _placements() -> NDArray:
    from scipy.stats import qmc

    return 2 * qmc.Halton(4, scramble=False).random(STAND_INS + 1)[1:] - 1

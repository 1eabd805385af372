"""From where a path could have been used: scopes, and the geometry that ties a report to a place.

Sporadic E bends a path at a point. From another place the same cloud serves the path that has its bend
there; one that is at least as long as the hop reported needs no denser cloud. Other mechanisms bend
nothing at a point, so only reports that begin or end near the place tell of it. One rule serves home and
every other place alike.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from analysis.gather import locators
from analysis.physics.earth import along, apart_km, directions
from analysis.physics.sporadic_e import SOFT_EDGE_KM
from analysis.tag.paths import pair_table

HERE, NEIGHBOURS, REGION = SCOPES = ("here", "neighbours", "region")
HOME_KM = 100.0  # a square's width: who lives nearer hears what home hears (judgement, common practice)
LONGEST_HOP_KM = SOFT_EDGE_KM[0]  # where the soft edge of one hop begins (`physics.sporadic_e`)
SLACK = 0.95  # a hop this much shorter than the one reported needs hardly a denser cloud


def in_scope(
    paths: pd.DataFrame, *, scope: str, mechanism: str, lon: float, lat: float, radius_km: float = HOME_KM
) -> NDArray:
    """Which paths belong to a scope.

    Parameters
    ----------
    paths : DataFrame
        `tx_locator rx_locator`; for sporadic E also `mid_lon mid_lat distance_km hops`. Tagged spots have
        them, and so has `square_paths`.
    scope : {"here", "neighbours", "region"}
        What a station at the place could have used; what stations within the radius noticed; everything.
    mechanism : str
        ES, TR, …: by what the paths were carried.
    lon, lat : float
        The place [degrees east, north].
    radius_km : float
        How far from the place an end counts as being there.

    Returns
    -------
    ndarray of bool
        Whether the mechanism carries paths of such a length is not asked here.
    """
    if scope not in SCOPES:
        raise ValueError(f"a scope is one of {', '.join(SCOPES)}, not {scope!r}")
    if scope == REGION:
        return np.ones(len(paths), dtype=bool)
    about = {"lon": lon, "lat": lat, "radius_km": radius_km}
    return np.isfinite(headings_from(paths, mechanism=mechanism if scope == HERE else "", **about))


def headings_from(
    paths: pd.DataFrame, *, mechanism: str, lon: float, lat: float, radius_km: float = HOME_KM
) -> NDArray:
    """Bearing from a place at which each path would have been used there; NaN where it says nothing.

    Parameters as for `in_scope`.

    Returns
    -------
    ndarray
        Degrees clockwise from north. Of paths with an end near the place, toward the other end; of
        other paths by sporadic E, toward the nearest bend that serves the place: twice as far away as
        that, but no farther than one hop reaches, and no nearer than `SLACK` of the hop reported.
    """
    place = directions(lon=lon, lat=lat)[0]
    bearing = _toward_other_end(paths, place, radius_km)
    if mechanism == "ES":
        bent = _toward_bend(paths, place)
        bearing = np.where(np.isnan(bearing), bent, bearing)
    return bearing


def bends(paths: pd.DataFrame) -> tuple[NDArray, NDArray, NDArray]:
    """Where the E layer bends each path: under the middle of every hop.

    Parameters
    ----------
    paths : DataFrame
        As for `in_scope`; without `hops` every path has one.

    Returns
    -------
    row : ndarray of int
        Position in `paths`, once per hop, in order.
    points : ndarray (n, 3)
        Directions from the Earth's centre; NaN where a place is not known.
    hop_km : ndarray
        Length of the hop.
    """
    hops = np.maximum(paths["hops"].to_numpy(dtype=int), 1) if "hops" in paths else np.ones(len(paths), int)
    row = np.repeat(np.arange(len(paths)), hops)
    number = np.arange(len(row)) - np.repeat(np.cumsum(hops) - hops, hops)
    points = directions(lon=paths["mid_lon"], lat=paths["mid_lat"])[row]
    several = np.flatnonzero(hops[row] > 1)
    if len(several):
        tx, rx = ends(paths.iloc[row[several]])
        between = along(rx, tx, share=(number[several] + 0.5) / hops[row[several]])
        points[several] = np.where(np.isnan(between), points[several], between)
    return row, points, (paths["distance_km"].to_numpy(dtype=float) / hops)[row]


def serving_bends(paths: pd.DataFrame, *, lon: float, lat: float) -> tuple[NDArray, NDArray]:
    """Bends by the E layer that a path of one hop from a place could have used, the nearest first.

    Parameters
    ----------
    paths : DataFrame
        As for `bends`.
    lon, lat : float
        The place [degrees east, north].

    Returns
    -------
    row : ndarray of int
        Position in `paths`.
    points : ndarray (n, 3)
        Directions from the Earth's centre.
    """
    return _serving(paths, directions(lon=lon, lat=lat)[0])


def square_paths(squares: ArrayLike) -> pd.DataFrame:
    """Paths from every square to every square, for who could have heard whom.

    Parameters
    ----------
    squares : list of str
        S locators.

    Returns
    -------
    DataFrame
        S × S rows, receivers outside: `rx_locator tx_locator distance_km mid_lon mid_lat hops`, so that
        `in_scope(…).reshape(S, S)` has receivers in rows and transmitters in columns.
    """
    squares = np.asarray(squares, dtype="str")
    pairs = pd.DataFrame(
        {"rx_locator": np.repeat(squares, len(squares)), "tx_locator": np.tile(squares, len(squares))}
    )
    table = pairs.join(pair_table(pairs)[["distance_km", "mid_lon", "mid_lat"]])
    return table.assign(hops=np.maximum(np.ceil(table["distance_km"] / LONGEST_HOP_KM), 1).astype(int))


def ends(paths: pd.DataFrame) -> tuple[NDArray, NDArray]:
    """Unit vectors of transmitters and receivers, NaN where a locator is missing."""
    places = (locators.centre(paths[f"{end}_locator"]) for end in ("tx", "rx"))
    tx, rx = (directions(lon=place["lon"], lat=place["lat"]) for place in places)
    return tx, rx


def _toward_other_end(paths: pd.DataFrame, place: NDArray, radius_km: float) -> NDArray:
    """Bearing of the far end of paths with an end near the place; of two such ends, the farther one."""
    tx, rx = ends(paths)
    to_tx, to_rx = apart_km(tx, place), apart_km(rx, place)
    far = np.where((to_tx > to_rx)[:, None], tx, rx)
    return np.where(np.minimum(to_tx, to_rx) <= radius_km, _bearing(place, far), np.nan)


def _toward_bend(paths: pd.DataFrame, place: NDArray) -> NDArray:
    """Bearing of the nearest bend from which a path of one hop could start here."""
    row, points = _serving(paths, place)
    bearing = np.full(len(paths), np.nan)
    bearing[row[::-1]] = _bearing(place, points[::-1])  # what is written last stands: the nearest
    return bearing


def _serving(paths: pd.DataFrame, place: NDArray) -> tuple[NDArray, NDArray]:
    """Position in `paths` and place of every bend from which a path of one hop could start here, nearest first."""
    row, points, hop_km = bends(paths)
    own = 2 * apart_km(points, place)
    serves = np.flatnonzero((own >= SLACK * hop_km) & (own <= LONGEST_HOP_KM))
    order = serves[np.argsort(own[serves], kind="stable")]
    return row[order], points[order]


def _bearing(place: NDArray, points: NDArray) -> NDArray:
    """Initial bearing from the place to unit vectors [degrees clockwise from north]."""
    lon = np.arctan2(place[1], place[0])
    east = np.array([-np.sin(lon), np.cos(lon), 0.0])
    return np.degrees(np.arctan2(points @ east, points @ np.cross(place, east))) % 360

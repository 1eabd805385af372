"""Geometry of paths on the WGS84 ellipsoid, worked out once for each pair of locators."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray
from pyproj import Geod

from analysis.gather import locators

WGS84 = Geod(ellps="WGS84")
ANTIPODAL_KM = 19000.0  # beyond, a small step of one end turns the path right round
COLUMNS = ["tx_locator", "rx_locator"]


def pair_codes(spots: pd.DataFrame) -> tuple[NDArray, pd.DataFrame]:
    """Number the different pairs of locators in a spot table.

    Parameters
    ----------
    spots : DataFrame
        `tx_locator`, `rx_locator`.

    Returns
    -------
    codes : ndarray of int
        Row of `pairs` that each spot belongs to.
    pairs : DataFrame
        `tx_locator`, `rx_locator`, each pair once.
    """
    tx_codes, tx_names = pd.factorize(spots["tx_locator"])
    rx_codes, rx_names = pd.factorize(spots["rx_locator"])
    both = tx_codes.astype("int64") * len(rx_names) + rx_codes
    codes, unique = pd.factorize(both)
    tx, rx = np.divmod(unique, max(len(rx_names), 1))
    return codes, pd.DataFrame({"tx_locator": tx_names[tx], "rx_locator": rx_names[rx]})


def pair_table(pairs: pd.DataFrame) -> pd.DataFrame:
    """Distance, bearings and control points of pairs of locators.

    Parameters
    ----------
    pairs : DataFrame
        `tx_locator`, `rx_locator`; empty text where unknown.

    Returns
    -------
    DataFrame
        Index of `pairs`: the columns of `geodesics`, the ends `tx_lon tx_lat tx_half_width_deg rx_lon rx_lat
        rx_half_width_deg` [degrees], and `distance_err_km`, the most by which the distance of two
        points anywhere in the two cells differs from that of the centres. NaN where a locator is
        missing.
    """
    tx = locators.centre(pairs["tx_locator"]).add_prefix("tx_")
    rx = locators.centre(pairs["rx_locator"]).add_prefix("rx_")
    ends = pd.concat([tx, rx], axis=1)
    lines = geodesics(lon1=ends["rx_lon"], lat1=ends["rx_lat"], lon2=ends["tx_lon"], lat2=ends["tx_lat"])
    table = pd.concat([ends, lines.set_index(ends.index)], axis=1)
    table["distance_err_km"] = _reach(table, "tx", "tx_bearing_deg") + _reach(table, "rx", "bearing_deg")
    return table


def geodesics(*, lon1: ArrayLike, lat1: ArrayLike, lon2: ArrayLike, lat2: ArrayLike) -> pd.DataFrame:
    """Geodesics from receivers (1) to transmitters (2), degrees east and north.

    Returns
    -------
    DataFrame
        `distance_km`; `bearing_deg`, at the receiver toward the transmitter, and `tx_bearing_deg`, at
        the transmitter toward the receiver, clockwise from north in [0, 360); `mid_lon mid_lat`, the
        midpoint, and `near_lon near_lat far_lon far_lat`, the points a quarter of the way from the
        receiver and from the transmitter, where a path of two hops is reflected; `antipodal`, true
        where the ends are so nearly opposite that bearing and midpoint mean little.

    References
    ----------
    Karney, Algorithms for geodesics, J. Geodesy 87, 43 (2013), as PROJ implements them.
    """
    lon1, lat1, lon2, lat2 = np.broadcast_arrays(*(np.asarray(x, float) for x in (lon1, lat1, lon2, lat2)))
    known = np.isfinite(lon1 + lat1 + lon2 + lat2)
    table = pd.DataFrame(
        np.nan, index=range(len(known)), columns=["distance_km", "bearing_deg", "tx_bearing_deg"]
    )
    out, back, metres = WGS84.inv(lon1[known], lat1[known], lon2[known], lat2[known])
    table.loc[known, "distance_km"] = metres / 1000
    table.loc[known, "bearing_deg"] = np.mod(out, 360.0) % 360.0
    table.loc[known, "tx_bearing_deg"] = np.mod(back, 360.0) % 360.0
    for name, share in (("mid", 0.5), ("near", 0.25), ("far", 0.75)):
        lon, lat, _ = WGS84.fwd(lon1[known], lat1[known], out, metres * share)
        table.loc[known, f"{name}_lon"] = lon
        table.loc[known, f"{name}_lat"] = lat
    table["antipodal"] = table["distance_km"] > ANTIPODAL_KM
    return table


def _reach(table: pd.DataFrame, end: str, bearing: str) -> pd.Series:
    """How far a cell stretches along a bearing from its centre [km]."""
    degree_km = 111.32
    east = table[f"{end}_half_width_deg"] * degree_km * np.cos(np.radians(table[f"{end}_lat"]))
    north = table[f"{end}_half_width_deg"] / 2 * degree_km
    angle = np.radians(table[bearing])
    along = (np.sin(angle) * east).abs() + (np.cos(angle) * north).abs()
    # Cells that share ground have no bearing to speak of.
    corner = np.hypot(east, north)
    return along.where(table["distance_km"] > 2 * corner, corner)

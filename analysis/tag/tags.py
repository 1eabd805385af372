"""Add what can be known about every spot: path, Sun, season, coast, mechanism."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.tag import coast, features, mechanism, paths, sun

ON_PATH = [
    "distance_km",
    "distance_err_km",
    "bearing_deg",
    "mid_lon",
    "mid_lat",
    "sea_share",
    "longest_land_km",
    "longest_inland_km",
    "path_type_p",
]


def tag_spots(spots: pd.DataFrame, *, lines: pd.DataFrame | None = None) -> pd.DataFrame:
    """Tag a spot table.

    Parameters
    ----------
    spots : DataFrame
        The columns of `gather.spots.COLUMNS`.
    lines : DataFrame, optional
        `path_tags` of all pairs of locators, when a large table is tagged batch by batch and its pairs
        were collected before.

    Returns
    -------
    DataFrame
        The same rows in the same order with the tag columns of DEVELOPERS.md added. Where a locator
        is missing they are NaN, NA or a missing category, and the mechanism is `undetermined`.

    Raises
    ------
    ValueError
        If the times carry no time zone.
    """
    pair, pairs = paths.pair_codes(spots)
    lines = path_tags(pairs) if lines is None else pairs.merge(lines, how="left", validate="many_to_one")
    tagged = spots.copy(deep=False)
    for name in ON_PATH:
        tagged[name] = lines[name].to_numpy("float32")[pair]
    types = lines["path_type"].cat.codes.to_numpy()[pair]
    tagged["path_type"] = pd.Categorical.from_codes(types, dtype=coast.PATH_TYPES)
    lon, lat = (lines[name].to_numpy()[pair] for name in ("mid_lon", "mid_lat"))
    tagged = _sun_tags(tagged, lon=lon, lat=lat)
    calls = mechanism.call_mechanisms(mechanism.context(tagged, pair=pair, lines=lines), pair=pair)
    return pd.concat([tagged, calls], axis=1)


def path_tags(pairs: pd.DataFrame) -> pd.DataFrame:
    """Everything that depends on the two locators alone.

    Parameters
    ----------
    pairs : DataFrame
        `tx_locator`, `rx_locator`.

    Returns
    -------
    DataFrame
        `pairs` with the columns of `paths.pair_table` and `coast.path_shares`, `path_type_p` and
        `magnetic`.
    """
    table = pd.concat([pairs, paths.pair_table(pairs)], axis=1)
    shares = coast.path_shares(
        lon1=table["tx_lon"], lat1=table["tx_lat"], lon2=table["rx_lon"], lat2=table["rx_lat"]
    )
    table = pd.concat([table, shares.set_index(table.index)], axis=1)
    table["path_type_p"] = coast.type_certainty(table)
    table["magnetic"] = features.magnetic_class(table)
    return table


def _sun_tags(tagged: pd.DataFrame, *, lon: np.ndarray, lat: np.ndarray) -> pd.DataFrame:
    """Sun and season at the midpoints."""
    times = tagged["time"]
    events = sun.from_events(times, lon=lon, lat=lat).astype("float32")
    height = sun.elevation(times, lon=lon, lat=lat).astype("float32")
    season = sun.season_of(times, lat=lat)
    return tagged.assign(
        solar_hour=sun.solar_hour(times, lon=lon).astype("float32") % np.float32(24),
        from_sunrise_h=events["from_sunrise_h"],
        from_sunset_h=events["from_sunset_h"],
        sun_elev_deg=height,
        light=sun.light_of(height, events["from_sunrise_h"], events["from_sunset_h"]),
        season=season["season"],
        season_day=season["season_day"],
    )

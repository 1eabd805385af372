"""Add what can be known about every spot: path, Sun, season, coast, mechanism."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.physics import ducting
from analysis.tag import coast, features, mechanism, ordinary, paths, sun

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


PIECE = 100_000  # rows whose Sun is worked out at once
TAGS = [
    *ON_PATH,
    "path_type",
    "solar_hour",
    "from_sunrise_h",
    "from_sunset_h",
    "sun_elev_deg",
    "light",
    "season",
    "season_day",
    "mechanism",
    "mechanism_p",
    "mechanism_why",
    "hops",
    "ordinary_km",
]
"""Every column that is added; those of an earlier tagging are replaced."""


def tag_spots(
    spots: pd.DataFrame,
    *,
    lines: pd.DataFrame | None = None,
    ranges: pd.DataFrame | None = None,
    disturbed: pd.DataFrame | None = None,
    home_lat: float | None = None,
) -> pd.DataFrame:
    """Tag a spot table.

    Parameters
    ----------
    spots : DataFrame
        The columns of `gather.spots.COLUMNS`.
    lines : DataFrame, optional
        `path_tags` of all pairs of locators, when a large table is tagged batch by batch and its pairs
        were collected before.
    ranges : DataFrame, optional
        `ordinary.ordinary_ranges` of all batches, likewise.
    disturbed : DataFrame, optional
        A planetary index, `time index` (UTC, 0 to 9), that tells when an aurora was possible.
    home_lat : float, optional
        Degrees north. A review has one summer, that of its home; without it each path has that of its midpoint.

    Returns
    -------
    DataFrame
        The same rows in the same order with the tag columns of DEVELOPERS.md added. Where a locator
        is missing they are NaN, NA or a missing category, and the mechanism is `undetermined`.

    Raises
    ------
    ValueError
        If the times carry no time zone.

    Examples
    --------
    >>> from analysis import gather_files, shipped, tag_spots
    >>> gathered = gather_files([shipped.DEMO / "club_log.adi"], home="IN93")
    >>> tagged = tag_spots(gathered.spots.head(100))
    >>> tagged[["distance_km", "path_type", "mechanism", "light"]].shape
    (100, 4)
    """
    pair, pairs = paths.pair_codes(spots)
    lines = path_tags(pairs) if lines is None else pairs.merge(lines, how="left", validate="many_to_one")
    tagged = spots[[name for name in spots if name not in TAGS]].copy(deep=False)
    for name in ON_PATH:
        tagged[name] = lines[name].to_numpy("float32")[pair]
    types = lines["path_type"].cat.codes.to_numpy()[pair]
    tagged["path_type"] = pd.Categorical.from_codes(types, dtype=coast.PATH_TYPES)
    lon, lat = (lines[name].to_numpy()[pair] for name in ("mid_lon", "mid_lat"))
    seasons = sun.season_of(tagged["time"], lat=lat)
    # Pieces that fit the processor's cache are half as quick again.
    pieces = [slice(start, start + PIECE) for start in range(0, max(len(tagged), 1), PIECE)]
    suns = [_sun(tagged["time"].iloc[piece], lon=lon[piece], lat=lat[piece]) for piece in pieces]
    tagged = pd.concat([tagged, pd.concat(suns), seasons], axis=1)
    calls = mechanism.call_mechanisms(
        mechanism.context(tagged, pair=pair, lines=lines, disturbed=disturbed), pair=pair
    )
    tagged = pd.concat([tagged, calls], axis=1)
    ranges = ordinary.ordinary_ranges(ordinary.daily_reach(tagged)) if ranges is None else ranges
    if home_lat is not None:
        at_home = sun.season_of(tagged["time"], lat=np.where(np.isnan(lat), np.nan, home_lat))
        tagged[["season", "season_day"]] = at_home
    return tagged.assign(ordinary_km=ordinary.ordinary_km(tagged, ranges).astype("float32"))


def path_tags(pairs: pd.DataFrame) -> pd.DataFrame:
    """Everything that depends on the two locators alone.

    Parameters
    ----------
    pairs : DataFrame
        `tx_locator`, `rx_locator`.

    Returns
    -------
    DataFrame
        `pairs` with the columns of `paths.pair_table` and `coast.path_shares`, `path_type_p`,
        `magnetic` and `beta0_percent`, the point incidence of ducts after ITU-R P.452 [% of a year].
    """
    table = pd.concat([pairs, paths.pair_table(pairs)], axis=1)
    shares = coast.path_shares(
        lon1=table["tx_lon"], lat1=table["tx_lat"], lon2=table["rx_lon"], lat2=table["rx_lat"]
    )
    table = pd.concat([table, shares.set_index(table.index)], axis=1)
    table["beta0_percent"] = ducting.beta0(
        latitude_deg=table["mid_lat"], land_km=table["longest_land_km"], inland_km=table["longest_inland_km"]
    )
    table["path_type_p"] = coast.type_certainty(table)
    table["magnetic"] = features.magnetic_class(table)
    return table


def _sun(times: pd.Series, *, lon: NDArray, lat: NDArray) -> pd.DataFrame:
    ground = sun.from_events(times, lon=lon, lat=lat).astype("float32")
    height = sun.elevation(times, lon=lon, lat=lat).astype("float32")
    return pd.DataFrame(
        {
            "solar_hour": sun.solar_hour(times, lon=lon).astype("float32") % np.float32(24),
            "from_sunrise_h": ground["from_sunrise_h"],
            "from_sunset_h": ground["from_sunset_h"],
            "sun_elev_deg": height,
            "light": sun.light_of(height, ground["from_sunrise_h"], ground["from_sunset_h"]),
        },
        index=times.index,
    )

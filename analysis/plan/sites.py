"""What is known of a spot on the map before anybody has operated there: ground, coast, sun, sea headings."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from analysis.gather import locators
from analysis.gather.problems import InputError
from analysis.plan.localtime import SECTORS
from analysis.tag.coast import INLAND, LAKE, SEA, path_shares, zone_at
from analysis.tag.paths import WGS84
from analysis.tag.sun import from_events

HEADING_KM = 400.0  # judgement: a usual tropo path
COAST_LIMIT_KM = 500.0  # beyond it the sea does not matter to a site


def place(locator: str) -> tuple[float, float]:
    """Longitude and latitude of a locator's centre.

    Raises
    ------
    InputError
        If it is no locator.
    """
    found = locators.place(locator)
    if not np.isfinite(found["lon"]):
        raise InputError(f"{locator!r} is no locator; give 4, 6 or 8 characters such as IN93 or IN93AH")
    return found["lon"], found["lat"]


def coarseness(locator: str) -> str:
    """What a locator of four characters leaves open, in words; empty for a longer one."""
    if len(locator.strip()) > 4:
        return ""
    return "worked out for the middle of the square, which may lie at sea; six characters name the site"


def headings(*, lon: float, lat: float, distance_km: float = HEADING_KM) -> pd.DataFrame:
    """What lies under a path in each eighth of the compass: `heading bearing sea_share longest_sea_km path_type`."""
    bearing = np.arange(8) * 45.0
    n = np.full(8, 1.0)
    lon2, lat2, _ = WGS84.fwd(lon * n, lat * n, bearing, 1000 * distance_km * n)
    table = path_shares(lon1=lon * n, lat1=lat * n, lon2=lon2, lat2=lat2)
    table = table[["sea_share", "longest_sea_km", "path_type"]]
    return table.assign(heading=SECTORS, bearing=bearing)[["heading", "bearing", *table.columns]]


def ground(*, lon: float, lat: float) -> dict[str, Any]:
    """What a place stands on (`ground`: sea, coast, inland) and `coast_km`, the distance to the nearest sea.

    Sea includes large lakes. `coast_km` is good to some 4 km (the grid's cells), NaN beyond 500 km.
    """
    here = int(zone_at(lon=[lon], lat=[lat])[0])
    word = {SEA: "sea", LAKE: "sea", INLAND: "inland"}.get(here, "coast")
    radius = np.arange(2.0, COAST_LIMIT_KM, 2.0)
    bearing = np.arange(0, 360, 3.0)
    at, toward = (grid.ravel() for grid in np.meshgrid(radius, bearing, indexing="ij"))
    lon2, lat2, _ = WGS84.fwd(np.full(at.shape, lon), np.full(at.shape, lat), toward, 1000 * at)
    wet = np.isin(zone_at(lon=lon2, lat=lat2), (SEA, LAKE))
    if word == "sea":
        return {"ground": word, "coast_km": 0.0}
    return {"ground": word, "coast_km": float(at[wet].min()) if wet.any() else np.nan}


def sun_times(*, lon: float, lat: float, zone: str, year: int) -> dict[str, Any]:
    """`sunrise` and `sunset` at midsummer in local civil time (HH:MM), empty in polar day or night."""
    date = pd.Timestamp(year, 6 if lat >= 0 else 12, 21, 12, tz="UTC")
    noon = pd.DatetimeIndex([date - pd.Timedelta(minutes=round(lon * 4))])
    since = from_events(noon, lon=lon, lat=lat).iloc[0]
    found = {}
    for name in ("sunrise", "sunset"):
        hours = since[f"from_{name}_h"]
        local = "" if np.isnan(hours) else (noon[0] - pd.Timedelta(hours=hours)).tz_convert(zone).round("min")
        found[name] = f"{local:%H:%M}" if local else ""
    return found

"""What speaks for a mechanism, as a few small whole numbers for each spot.

Every feature is a class (how far, how strong, how many neighbours ...), so that millions of spots
share a few thousand combinations and all further work is done once for each combination.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from analysis.physics import sporadic_e
from analysis.tag import almanac, bands, company, sun

# Distances are rounded to the middle of these steps [km]; all are multiples of the first.
DISTANCE_EDGES = np.r_[np.arange(0, 5000, 50), np.arange(5000, 10000, 250), np.arange(10000, 20501, 1000)]
DISTANCE_CLASS = np.searchsorted(DISTANCE_EDGES, np.arange(0, 20501, 50), side="right") - 1
ERROR_EDGES = (15.0, 60.0)  # 6 characters or finer, a mixture, 4 characters
SNR_EDGES = (-15.0, -5.0, 5.0)  # class 0 is unknown
SEA_EDGES = (0.10, 0.40, 0.75)  # class 0 is unknown
HOUR_EDGES = (4.0, 8.0, 13.0, 16.0, 21.0)  # night, morning, forenoon, afternoon, evening
SEASON_EDGES = (-100, -50, -25, 45, 75, 110)  # days from the summer solstice; 3 is the core
ONE_HOP_KM = float(np.mean(sporadic_e.SOFT_EDGE_KM))
STANDING_EDGES = (0.3, 0.8)  # share of the receiver's days on which a pair is heard
STANDING_DAYS = 20

# Peaks of the large meteor showers as the Sun's ecliptic longitude [degrees] and half width; from
# memory (usual shower calendars), to be believed to about a day.
SHOWERS = {
    "Quadrantids": (283.2, 1.0),
    "Lyrids": (32.3, 1.5),
    "eta Aquariids": (45.5, 4.0),
    "Arietids": (77.0, 6.0),
    "Perseids": (140.0, 4.0),
    "Orionids": (208.0, 3.0),
    "Leonids": (235.3, 1.5),
    "Geminids": (262.2, 2.0),
    "Ursids": (270.7, 1.0),
}


def features(spots: pd.DataFrame, *, pair: NDArray) -> pd.DataFrame:
    """Feature classes of every spot.

    Parameters
    ----------
    spots : DataFrame
        `time rx_locator band mode snr_db distance_km distance_err_km solar_hour season_day sea_share doubt`,
        `magnetic` (see `magnetic_class`) and `company_lon company_lat`, where company is looked for.
    pair : ndarray of int
        Number of each spot's pair of locators, so that one pair heard twice is one neighbour.

    Returns
    -------
    DataFrame
        int16 classes `distance error band mode snr sea neighbours lasting reach region hour season shower
        company standing magnetic`, index of `spots`; -1 in `distance` where a locator is missing.
    """
    band = bands.band_codes(spots["band"])
    distance = spots["distance_km"].to_numpy("float64")
    step = np.nan_to_num(distance / 50).astype("int64")
    day = np.floor(sun.unix_seconds(spots["time"]) / almanac.DAY_S).astype("int64")
    columns = {
        "distance": np.where(
            np.isnan(distance), -1, DISTANCE_CLASS[np.minimum(step, len(DISTANCE_CLASS) - 1)]
        ),
        "error": bands.step(spots["distance_err_km"].to_numpy(), ERROR_EDGES),
        "band": band,
        "mode": bands.mode_codes(spots["mode"]),
        "snr": _classes(spots["snr_db"], SNR_EDGES),
        "sea": _classes(spots["sea_share"], SEA_EDGES),
        "hour": bands.step(spots["solar_hour"].to_numpy(), HOUR_EDGES) % 5,
        "season": _season(spots["season_day"], beyond_one_hop=distance > ONE_HOP_KM),
        "shower": in_shower(day),
        "standing": _standing(spots, pair, day),
        "magnetic": spots["magnetic"].to_numpy(),
    }
    columns |= company.company(spots, pair=pair, band=band, mode=columns["mode"])
    return pd.DataFrame(
        {name: np.asarray(value, "int16") for name, value in columns.items()}, index=spots.index
    )


def distance_km(classes: NDArray) -> NDArray:
    """Distance that stands for a distance class [km]; NaN for -1."""
    middle = (DISTANCE_EDGES[:-1] + DISTANCE_EDGES[1:]) / 2
    return np.where(classes < 0, np.nan, middle[np.clip(classes, 0, len(middle) - 1)])


def geomagnetic_latitude(*, lon: ArrayLike, lat: ArrayLike) -> NDArray:
    """Latitude in the frame of the Earth's dipole [degrees].

    References
    ----------
    Dipole axis of IGRF-13 for 2020: north pole 80.65 N, 72.68 W (from memory; the pole moves by less
    than 0.1 degrees a year).
    """
    pole, east = np.radians(80.65), np.radians(np.asarray(lon, float) + 72.68)
    north = np.radians(np.asarray(lat, float))
    sine = np.sin(north) * np.sin(pole) + np.cos(north) * np.cos(pole) * np.cos(east)
    return np.degrees(np.arcsin(sine))


def magnetic_class(pairs: pd.DataFrame) -> NDArray:
    """What the Earth's field allows on a path.

    1 where the ends lie on both sides of the geomagnetic equator and about as far from it, as
    trans-equatorial propagation needs; 2 where the midpoint is within reach of the aurora, from 50
    degrees of geomagnetic latitude; else 0.
    """
    tx = geomagnetic_latitude(lon=pairs["tx_lon"], lat=pairs["tx_lat"])
    rx = geomagnetic_latitude(lon=pairs["rx_lon"], lat=pairs["rx_lat"])
    middle = geomagnetic_latitude(lon=pairs["mid_lon"], lat=pairs["mid_lat"])
    return np.select([(tx * rx < 0) & (np.abs(tx + rx) < 20), np.abs(middle) >= 50], [1, 2], 0)


def in_shower(day: NDArray) -> NDArray:
    """1 within the days of a large meteor shower; days since 1970."""
    first = int(day.min()) if len(day) else 0
    calendar = np.arange(first, int(day.max(initial=first)) + 1)
    longitude = np.array([almanac.ecliptic_longitude(noon) for noon in calendar + 0.5])
    inside = np.zeros(len(calendar), dtype="int8")
    for peak, half_width in SHOWERS.values():
        inside |= np.abs((longitude - peak + 180) % 360 - 180) <= half_width
    return inside[day - first]


def _season(season_day: pd.Series, *, beyond_one_hop: NDArray) -> NDArray:
    """Part of the season; counted on for paths that need several hops."""
    part = bands.step(season_day.to_numpy("int16", na_value=183), SEASON_EDGES)
    return part + (len(SEASON_EDGES) + 1) * beyond_one_hop


def _standing(spots: pd.DataFrame, pair: NDArray, day: NDArray) -> NDArray:
    """How much of the time a pair is heard while its receiver is: 0 not known, 1 seldom, 2 often, 3 always.

    By the days on which the receiving square reports anything on any band; known from `STANDING_DAYS` on.
    """
    receiver = pd.factorize(spots["rx_locator"])[0]
    heard = _days_of(pair, day)[pair]
    active = _days_of(receiver, day)[receiver]
    share = bands.step(heard / np.maximum(active, 1), STANDING_EDGES) + 1
    return np.where(active >= STANDING_DAYS, share, 0)


def _days_of(code: NDArray, day: NDArray) -> NDArray:
    """Number of different days for each code."""
    low, span = (int(day.min()), int(day.max() - day.min()) + 1) if len(day) else (0, 1)
    return np.bincount(pd.unique(code * span + (day - low)) // span, minlength=int(code.max(initial=-1)) + 1)


def _classes(values: pd.Series, edges: tuple[float, ...]) -> NDArray:
    return np.where(values.isna(), 0, bands.step(values.to_numpy(), edges) + 1)

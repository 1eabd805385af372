"""What speaks for a mechanism, as a few small whole numbers for each spot.

Every feature is a class (how far, how strong, how many neighbours ...), so that millions of spots
share a few thousand combinations and all further work is done once for each combination.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from analysis.physics import almanac, sky, sporadic_e
from analysis.tag import bands, company, sun

# Distances are rounded to the middle of these steps [km]; all are multiples of the first.
DISTANCE_EDGES = np.r_[np.arange(0, 5000, 50), np.arange(5000, 10000, 250), np.arange(10000, 20501, 1000)]
# Speed: the class of each step.
DISTANCE_CLASS = np.searchsorted(DISTANCE_EDGES, np.arange(0, 20501, 50), side="right") - 1
ERROR_EDGES = (15.0, 60.0)  # 6 characters or finer, a mixture, 4 characters
SNR_EDGES = (-15.0, -5.0, 5.0)  # class 0 is unknown
SEA_EDGES = (0.10, 0.40, 0.75)  # class 0 is unknown
HOUR_EDGES = (4.0, 8.0, 13.0, 16.0, 21.0)  # night, morning, forenoon, afternoon, evening
SEASON_EDGES = (-100, -50, -25, 45, 75, 110)  # days from the summer solstice; 3 is the core
ONE_HOP_KM = float(np.mean(sporadic_e.SOFT_EDGE_KM))
STANDING_EDGES = (0.3, 0.8)  # share of the receiver's days on which a pair is heard
STANDING_DAYS = 20  # judgement
AGAIN_SLOTS = 6  # ten-minute slots either side in which a pair may be heard again
AGAIN_USUAL = 0.3  # share of a band's longer paths heard again, from which on "not again" tells
FIELD_EDGES = (
    4.0,
    5.0,
)  # unsettled, storm, of a planetary index from 0 to 9 (from memory: storms begin at 5)
FIELD_S = 3 * 3600.0  # for which one of its values holds (definition of the index)

# Large meteor showers: the Sun's ecliptic longitude at the peak, half width, and right ascension and
# declination of the radiant [degrees]; from memory (usual shower calendars), to be believed to about a
# day and some degrees.
SHOWERS = {
    "Quadrantids": (283.2, 1.0, 230.0, 49.0),
    "Lyrids": (32.3, 1.5, 271.0, 34.0),
    "eta Aquariids": (45.5, 4.0, 338.0, -1.0),
    "Arietids": (77.0, 6.0, 44.0, 24.0),
    "Perseids": (140.0, 4.0, 48.0, 58.0),
    "Orionids": (208.0, 3.0, 95.0, 16.0),
    "Leonids": (235.3, 1.5, 152.0, 22.0),
    "Geminids": (262.2, 2.0, 112.0, 33.0),
    "Ursids": (270.7, 1.0, 217.0, 76.0),
}


def features(spots: pd.DataFrame, *, pair: NDArray) -> pd.DataFrame:
    """Feature classes of every spot.

    Parameters
    ----------
    spots : DataFrame
        `time rx_locator band mode snr_db kind distance_km distance_err_km mid_lon mid_lat
        solar_hour season_day sea_share doubt`,
        `magnetic` (see `magnetic_class`), `planetary` (`field_class`) and `company_lon company_lat`, where company is looked for.
    pair : ndarray of int
        Number of each spot's pair of locators, so that one pair heard twice is one neighbour.

    Returns
    -------
    DataFrame
        int16 classes `distance error band mode snr sea neighbours lasting reach region hour season shower
        company standing again magnetic planetary`, index of `spots`; -1 in `distance` where a locator is missing.
    """
    band = bands.band_codes(spots["band"])
    distance = spots["distance_km"].to_numpy("float64")
    step = np.nan_to_num(distance / 50).astype("int64")
    seconds = sun.unix_seconds(spots["time"])
    day = np.floor(seconds / almanac.DAY_S).astype("int64")
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
        "shower": in_shower(
            seconds, lon=spots["mid_lon"].to_numpy("float64"), lat=spots["mid_lat"].to_numpy("float64")
        ),
        "standing": _standing(spots, pair, day),
        "again": _again(spots, pair, band),
        "magnetic": spots["magnetic"].to_numpy(),
        "planetary": spots["planetary"].to_numpy(),
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


def in_shower(seconds: NDArray, *, lon: NDArray, lat: NDArray) -> NDArray:
    """1 within the days of a large meteor shower while its radiant stands above the horizon.

    Parameters
    ----------
    seconds : ndarray
        UTC, since 1970.
    lon, lat : ndarray
        Of the midpoint [degrees east, north]; without it no shower is seen.
    """
    day = np.floor(seconds / almanac.DAY_S).astype("int64")
    first = int(day.min()) if len(day) else 0
    calendar = np.arange(first, int(day.max(initial=first)) + 1)
    longitude = np.array([almanac.ecliptic_longitude(noon) for noon in calendar + 0.5])
    seen = np.zeros(len(day), dtype="int8")
    for peak, half_width, right_ascension, declination in SHOWERS.values():
        near = (np.abs((longitude - peak + 180) % 360 - 180) <= half_width)[day - first]
        place = {"lon": lon[near], "lat": lat[near]}
        height = sky.elevation(
            seconds[near], right_ascension=right_ascension, declination=declination, **place
        )
        seen[near] |= height > 0
    return seen


def field_class(times: pd.Series, index: pd.DataFrame | None) -> NDArray:
    """How disturbed the field was at each time.

    Parameters
    ----------
    times : Series
        UTC.
    index : DataFrame, optional
        `time index`, the start of what each value holds for, UTC, and the value from 0 to 9.

    Returns
    -------
    ndarray of int
        0 not known, 1 quiet, 2 unsettled, 3 storm.
    """
    if index is None or index.empty:
        return np.zeros(len(times), dtype="int8")
    table = index.sort_values("time")
    begins, at = sun.unix_seconds(table["time"]), sun.unix_seconds(times)
    place = np.searchsorted(begins, at, side="right") - 1
    known = (place >= 0) & (at - begins[np.maximum(place, 0)] < FIELD_S)
    value = table["index"].to_numpy(float)[np.maximum(place, 0)]
    return np.where(known & np.isfinite(value), bands.step(value, FIELD_EDGES) + 1, 0)


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


def _again(spots: pd.DataFrame, pair: NDArray, band: NDArray) -> NDArray:
    """Whether the same pair is heard again within the hour: 0 not known, 1 not, 2 within minutes only, 3 later
    in the hour too, 4 for most of it.

    An aircraft has passed after minutes, a duct stays. Stations work each other once, so a contact says
    nothing, nor does a single report on a band where hardly any longer path is heard twice.
    """
    slot = np.floor(sun.unix_seconds(spots["time"]) / 600).astype("int64")
    low, span = (int(slot.min()), int(slot.max() - slot.min()) + 2 * AGAIN_SLOTS + 1) if len(slot) else (0, 1)
    line = (pair.astype("int64") * len(bands.BANDS) + band) * span + (slot - low + AGAIN_SLOTS)
    every, used = np.sort(line), np.sort(pd.unique(line))

    def within(table: NDArray, slots: int) -> NDArray:
        return np.searchsorted(table, line + slots, "right") - np.searchsorted(table, line - slots)

    later = within(used, AGAIN_SLOTS) - within(used, 1)
    soon = within(every, 1) > 1
    found = np.select([later >= AGAIN_SLOTS // 2, later > 0, soon], [4, 3, 2], 1)
    heard = (spots["kind"] == "heard").to_numpy()
    counts = heard & (spots["distance_km"].to_numpy() >= company.LOCAL_KM)
    number = np.bincount(band[counts], minlength=len(bands.BANDS))
    twice = np.bincount(band[counts & (found > 1)], minlength=len(bands.BANDS))
    usual = (number >= 30) & (twice >= AGAIN_USUAL * number)
    return np.where(heard & ((found > 1) | usual[band]), found, 0)


def _days_of(code: NDArray, day: NDArray) -> NDArray:
    """Number of different days for each code."""
    low, span = (int(day.min()), int(day.max() - day.min()) + 1) if len(day) else (0, 1)
    return np.bincount(pd.unique(code * span + (day - low)) // span, minlength=int(code.max(initial=-1)) + 1)


def _classes(values: pd.Series, edges: tuple[float, ...]) -> NDArray:
    return np.where(values.isna(), 0, bands.step(values.to_numpy(), edges) + 1)

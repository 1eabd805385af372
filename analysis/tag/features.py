"""What speaks for a mechanism, as a few small whole numbers for each spot.

Every feature is a class (how far, how strong, how many neighbours ...), so that millions of spots
share a few thousand combinations and all further work is done once for each combination.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from analysis.tag import sun

BAND_MHZ = {
    "10m": 28.5,
    "8m": 40.7,
    "6m": 50.3,
    "5m": 60.0,
    "4m": 70.2,
    "2m": 144.3,
    "1.25m": 222.1,
    "70cm": 432.2,
    "33cm": 902.1,
    "23cm": 1296.2,
}
"""Where the weak-signal work of a band is done [MHz]; open-standard band names."""
BANDS = ["other", *BAND_MHZ]

# Distances are rounded to the middle of these steps [km].
DISTANCE_EDGES = np.r_[np.arange(0, 5000, 50), np.arange(5000, 10000, 250), np.arange(10000, 20501, 1000)]
ERROR_EDGES = np.array([15.0, 60.0])  # 6 characters or finer, a mixture, 4 characters
MODES = ["voice and Morse", "slow digital", "meteor digital", "beacon"]
MODE_GROUP = dict.fromkeys(["CW", "SSB", "FM", "AM", "USB", "LSB", "PHONE"], 0)
MODE_GROUP |= dict.fromkeys(["MSK144", "FSK441", "JT6M", "FSK315", "JTMS", "ISCAT"], 2)
MODE_GROUP |= dict.fromkeys(["WSPR", "FST4W"], 3)
SNR_EDGES = np.array([-15.0, -5.0, 5.0])  # class 0 is unknown
SEA_EDGES = np.array([0.10, 0.40, 0.75])  # class 0 is unknown
NEIGHBOUR_EDGES = np.array([1, 3, 10])  # other paths near the midpoint within half an hour
LASTING_EDGES = np.array([2, 4])  # ten-minute slots in use near the midpoint within two hours
REGION_EDGES = np.array([1, 3])  # other long paths within half an hour and some 2000 km
LONG_KM = 900.0
COMPANY_USUAL = 0.6  # share of the long paths of a band that have company, from which on its absence tells
REACH_EDGES = np.array([450.0, 800.0, 1100.0])  # mean distance of the neighbours [km]; class 0 is none
ITEMS = 1 << 31  # more pairs, or ten-minute slots since 1970, than any table holds
LOCAL_KM = 250.0  # shorter paths are always there and prove no opening
HOUR_EDGES = np.array([4.0, 8.0, 13.0, 16.0, 21.0])  # night, morning, forenoon, afternoon, evening
SEASON_EDGES = np.array([-100, -50, -25, 45, 75, 110])  # days from the summer solstice; 3 is the core


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
        `time band mode snr_db distance_km distance_err_km solar_hour season_day sea_share`, `magnetic`
        (see `magnetic_class`) and `company_lon company_lat`, where company is looked for.
    pair : ndarray of int
        Number of each spot's pair of locators, so that one pair heard twice is one neighbour.

    Returns
    -------
    DataFrame
        int16 classes `distance error band mode snr sea neighbours lasting reach region hour season shower
        company magnetic`, index of `spots`; -1 in `distance` where a locator is missing.
    """
    band = _band_codes(spots["band"])
    distance = spots["distance_km"].to_numpy("float64")
    known = np.isfinite(distance)
    columns = {
        "distance": np.where(known, np.searchsorted(DISTANCE_EDGES, distance, side="right") - 1, -1),
        "error": np.searchsorted(ERROR_EDGES, spots["distance_err_km"].to_numpy("float64")),
        "band": band,
        "mode": _mode_codes(spots["mode"]),
        "snr": _classes(spots["snr_db"], SNR_EDGES),
        "sea": _classes(spots["sea_share"], SEA_EDGES),
        "hour": np.searchsorted(HOUR_EDGES, spots["solar_hour"].to_numpy("float64"), side="right") % 5,
        "season": np.searchsorted(SEASON_EDGES, spots["season_day"].to_numpy("float64", na_value=183)),
        "shower": in_shower(spots["time"]),
        "magnetic": spots["magnetic"].to_numpy(),
    }
    columns |= _company(spots, pair=pair, band=band, distance=distance)
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


def in_shower(times: pd.Series) -> NDArray:
    """1 within the days of a large meteor shower."""
    days, first = np.unique(np.floor(sun.unix_seconds(times) / sun.DAY_S), return_inverse=True)
    longitude = np.array([sun.ecliptic_longitude(day + 0.5) for day in days])
    inside = np.zeros(len(days), dtype="int8")
    for peak, half_width in SHOWERS.values():
        inside |= np.abs((longitude - peak + 180) % 360 - 180) <= half_width
    return inside[first]


def _classes(values: pd.Series, edges: NDArray) -> NDArray:
    numbers = values.to_numpy("float64")
    return np.where(np.isnan(numbers), 0, np.searchsorted(edges, numbers, side="right") + 1)


def _band_codes(bands: pd.Series) -> NDArray:
    codes, names = pd.factorize(bands)
    table = np.array([BANDS.index(name) if name in BAND_MHZ else 0 for name in names] + [0])
    return table[codes]


def _mode_codes(modes: pd.Series) -> NDArray:
    """Group of each mode; whatever is not listed decodes slowly, and an unknown mode is voice."""
    codes, names = pd.factorize(modes)
    table = np.array([MODE_GROUP.get(str(name), 1) for name in names] + [0])
    return table[codes]


def _company(spots: pd.DataFrame, *, pair: NDArray, band: NDArray, distance: NDArray) -> dict[str, NDArray]:
    """Who else is heard near the reflecting point at the time.

    Space and time are cut into cells of about 500 km by half an hour, twice, the second time shifted
    by half a cell; a spot takes the livelier of its two cells. That is not a circle around the spot,
    but costs one pass whatever the number of spots. In a thin log even the best opening is a single
    report, so that having no company says nothing, and has a class of its own.
    """
    n = len(spots)
    minutes = sun.unix_seconds(spots["time"]) / 60
    lon, lat = spots["company_lon"].to_numpy("float64"), spots["company_lat"].to_numpy("float64")
    counts = (distance >= LOCAL_KM) & (_mode_codes(spots["mode"]) != 2)  # pings are no opening
    mhz = np.array([0.0, *BAND_MHZ.values()])[band]
    long = counts & (distance >= LONG_KM)
    others, slots, elsewhere, total = np.zeros(n), np.zeros(n), np.zeros(n), np.full(n, np.nan)
    high, low = np.zeros(n, bool), np.zeros(n, bool)
    for shift in (0.0, 0.5):
        half_hour, two_hours = np.floor(minutes / 30 + shift), np.floor(minutes / 120 + shift)
        place = _places(lon, lat, shift, size_deg=4.5)
        cell = _pack(place, band, half_hour)
        seen = _distinct(cell, pair, counts) - counts  # the spot's own pair is no neighbour
        more = (seen > others) | np.isnan(total)
        total = np.where(more, _mean(cell, distance, counts), total)
        others = np.maximum(others, seen)
        slots = np.maximum(slots, _distinct(_pack(place, band, two_hours), np.floor(minutes / 10), counts))
        region = _pack(_places(lon, lat, shift, size_deg=18.0), band, half_hour)
        elsewhere = np.maximum(elsewhere, _distinct(region, pair, long) - long)
        here = _pack(place, half_hour)
        low |= _any_with(here, counts & (mhz > 0) & (mhz < 100) & (distance > LONG_KM)) & (mhz > 100)
        high |= _any_with(here, counts & (mhz > 400)) & (mhz < 400)
    thin = ~_company_usual(band, long, others)[band]
    return {
        "neighbours": np.where(
            thin & (others < 1), 0, np.searchsorted(NEIGHBOUR_EDGES, others, side="right") + 1
        ),
        "lasting": np.where(thin & (slots < 2), 0, np.searchsorted(LASTING_EDGES, slots, side="right") + 1),
        "reach": np.where(others > 0, np.searchsorted(REACH_EDGES, total, side="right") + 1, 0),
        "region": np.searchsorted(REGION_EDGES, elsewhere, side="right"),
        "company": low + 2 * high,
    }


def _company_usual(band: NDArray, long: NDArray, others: NDArray) -> NDArray:
    """For each band, whether most of its long paths have company, judged by thirty or more of them."""
    number = np.bincount(band[long], minlength=len(BANDS))
    with_company = np.bincount(band[long & (others > 0)], minlength=len(BANDS))
    return (number >= 30) & (with_company >= COMPANY_USUAL * number)


def _places(lon: NDArray, lat: NDArray, shift: float, *, size_deg: float) -> NDArray:
    """Number of the cell of about equal sides that a point lies in; -1 where it is unknown."""
    row = np.floor((np.nan_to_num(lat) + 90) / size_deg + shift)
    width = size_deg / np.maximum(np.cos(np.radians((row + 0.5 - shift) * size_deg - 90)), 0.05)
    column = np.floor((np.nan_to_num(lon) + 180) / width + shift)
    return np.where(np.isnan(lat), -1, row * 100 + column).astype("int64")


def _pack(*parts: NDArray) -> NDArray:
    """One number for each different combination."""
    code = np.zeros(len(parts[0]), dtype="int64")
    for part in parts:
        whole = part.astype("int64")
        whole = whole - whole.min(initial=0)
        code = code * (int(whole.max(initial=0)) + 1) + whole
    return pd.factorize(code)[0]


def _distinct(cell: NDArray, item: NDArray, counts: NDArray) -> NDArray:
    """How many different items count in each row's cell."""
    both = pd.unique(cell[counts] * ITEMS + item[counts].astype("int64") % ITEMS)
    return np.bincount(both // ITEMS, minlength=int(cell.max(initial=-1)) + 1)[cell]


def _mean(cell: NDArray, values: NDArray, counts: NDArray) -> NDArray:
    """Mean over the rows of each cell that count; NaN where none does."""
    size = int(cell.max(initial=-1)) + 1
    number = np.bincount(cell[counts], minlength=size)
    total = np.bincount(cell[counts], weights=values[counts], minlength=size)
    with np.errstate(invalid="ignore", divide="ignore"):
        return (total / number)[cell]


def _any_with(cell: NDArray, which: NDArray) -> NDArray:
    """Whether any row of the cell is one of these."""
    found = np.zeros(int(cell.max(initial=-1)) + 1, dtype=bool)
    found[cell[which]] = True
    return found[cell]

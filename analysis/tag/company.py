"""Who else is heard near a path's reflecting point at the time: an opening has company, a ping has none.

Space and time are cut into cells of about 500 km by half an hour, twice, the second time shifted by half
a cell; a spot takes the livelier of its two cells. That is not a circle around the spot, but costs one
pass whatever the number of spots, and does not depend on their order.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.tag import sun
from analysis.tag.bands import BAND_MHZ, BANDS, METEOR_MODE, step

NEIGHBOUR_EDGES = (1, 3, 10)  # other paths near the midpoint within half an hour
LASTING_EDGES = (2, 4)  # ten-minute slots in use near the midpoint within two hours
REACH_EDGES = (450.0, 800.0, 1100.0)  # mean distance of the neighbours [km]; class 0 is none
REGION_EDGES = (1, 3)  # other long paths within an hour and some 2000 km
LONG_KM = 900.0  # judgement: no everyday path of a low band
COMPANY_USUAL = 0.6  # share of the paths of a band that have company, from which on its absence tells
ITEMS = 1 << 31  # more pairs than any table holds
LOCAL_KM = 250.0  # shorter paths are always there and prove no opening
SHIFTS = (0.0, 0.5)  # a pair near a border of one grid is inside the other
CELL_DEG, REGION_DEG = 4.5, 18.0  # some 500 and 2 000 km; judgement


def company(spots: pd.DataFrame, *, pair: NDArray, band: NDArray, mode: NDArray) -> dict[str, NDArray]:
    """Classes of company of every spot.

    Parameters
    ----------
    spots : DataFrame
        `time distance_km doubt` and `company_lon company_lat`, where company is looked for; the same for all
        rows of a pair.
    pair, band, mode : ndarray of int
        Number of the pair of locators, of the band in `BANDS`, of the group of modes.

    Returns
    -------
    dict of ndarray
        `neighbours`, other paths in the cell; `lasting`, ten-minute slots in use there within two hours;
        `reach`, mean distance of the neighbours; `region`, long paths within an hour and some 2000 km; `company`, 1
        where there are long paths on a band below 100 MHz, 2 where there are paths above 400 MHz, 3 both.
        In a thin log even the best opening is a single report, so that having no company says nothing,
        and has class 0 in `neighbours` and `lasting`.
    """
    minutes, distance = sun.unix_seconds(spots["time"]) / 60, spots["distance_km"].to_numpy("float64")
    # Pings are no opening, and a doubtful report bears out nothing.
    counts = (distance >= LOCAL_KM) & (mode != METEOR_MODE) & (spots["doubt"] == "").to_numpy()
    places, regions = (_places_of_pairs(spots, pair, size_deg=size) for size in (CELL_DEG, REGION_DEG))
    reports = _Reports(minutes, distance, counts, pair, band)
    one, other = (
        _in_grid(reports, shift=shift, place=place, region=region)
        for shift, place, region in zip(SHIFTS, places, regions, strict=True)
    )
    others, slots, elsewhere = (np.maximum(one[i], other[i]) for i in (0, 2, 3))
    mean = np.where((other[0] > one[0]) | np.isnan(one[1]), other[1], one[1])
    thin = ~_company_usual(band, counts, others)[band]
    return {
        "neighbours": np.where(thin & (others < 1), 0, step(others, NEIGHBOUR_EDGES) + 1),
        "lasting": np.where(thin & (slots < 2), 0, _lasting(slots, alone=others < 1)),
        "reach": np.where(others > 0, step(mean, REACH_EDGES) + 1, 0),
        "region": step(elsewhere, REGION_EDGES),
        "company": one[4] | other[4],
    }


def _lasting(slots: NDArray, *, alone: NDArray) -> NDArray:
    """1 gone within minutes and alone, 2 gone within minutes with company, 3 in use for a while, 4 for long."""
    return np.where((slots < LASTING_EDGES[0]) & alone, 1, step(slots, LASTING_EDGES) + 2)


@dataclass(frozen=True)
class _Reports:
    """What company is counted from: minute and distance of each report, whether it counts, its pair and band."""

    minutes: NDArray
    distance: NDArray
    counts: NDArray
    pair: NDArray
    band: NDArray


def _in_grid(reports: _Reports, *, shift: float, place: NDArray, region: NDArray) -> tuple[NDArray, ...]:
    """In one of the two grids: other pairs in the cell, their mean distance, slots in use, long paths in
    the region, other bands."""
    pair, band, counts = reports.pair, reports.band, reports.counts
    half_hour, hour = (np.floor(reports.minutes / span + shift).astype("int64") for span in (30, 60))
    long = counts & (reports.distance >= LONG_KM)
    cell = _pack(place, band, half_hour)
    return (
        _distinct(cell, pair, counts) - counts,  # the spot's own pair is no neighbour
        _mean(cell, reports.distance, counts),
        _slots(place, band, reports.minutes / 10 + 12 * shift, counts),
        _distinct(_pack(region, band, hour), pair, long) - long,
        _on_other_bands(_pack(place, half_hour), band, counts, long),
    )


def _company_usual(band: NDArray, counts: NDArray, others: NDArray) -> NDArray:
    """For each band, whether most of the paths that count have company, judged by thirty or more of them."""
    number = np.bincount(band[counts], minlength=len(BANDS))
    with_company = np.bincount(band[counts & (others > 0)], minlength=len(BANDS))
    return (number >= 30) & (with_company >= COMPANY_USUAL * number)


def _places_of_pairs(spots: pd.DataFrame, pair: NDArray, *, size_deg: float) -> list[NDArray]:
    """Number of each spot's cell in the two grids, worked out once for each pair."""
    first = np.zeros(int(pair.max(initial=-1)) + 1, dtype="int64")
    first[pair] = np.arange(len(pair))
    lon, lat = (spots[name].to_numpy("float64")[first] for name in ("company_lon", "company_lat"))
    return [pd.factorize(_places(lon, lat, shift, size_deg))[0][pair] for shift in SHIFTS]


def _places(lon: NDArray, lat: NDArray, shift: float, size_deg: float) -> NDArray:
    """Number of the cell of about equal sides that a point lies in; -1 where it is unknown."""
    row = np.floor((np.nan_to_num(lat) + 90) / size_deg + shift)
    width = size_deg / np.maximum(np.cos(np.radians((row + 0.5 - shift) * size_deg - 90)), 0.05)
    column = np.floor((np.nan_to_num(lon) + 180) / width + shift)
    return np.where(np.isnan(lat), -1, row * 2000 + column).astype("int64")


def _pack(*parts: NDArray) -> NDArray:
    """One small number for each different combination of whole numbers."""
    code, size = np.zeros(len(parts[0]), dtype="int64"), 1
    for part in parts:
        low, high = (int(part.min()), int(part.max())) if len(part) else (0, 0)
        span = high - low + 1
        code, size = code * span + (part - low), size * span
    # Where the combinations are dense enough to count in an array they need no numbering.
    return code if size <= 8 * len(code) else pd.factorize(code)[0]


def _distinct(cell: NDArray, item: NDArray, counts: NDArray) -> NDArray:
    """How many different items count in each row's cell."""
    both = pd.unique(cell[counts] * ITEMS + item[counts])
    return np.bincount(both // ITEMS, minlength=int(cell.max(initial=-1)) + 1)[cell]


def _slots(place: NDArray, band: NDArray, ten_minutes: NDArray, counts: NDArray) -> NDArray:
    """How many ten-minute slots are in use in each row's cell of two hours."""
    slot = np.floor(ten_minutes).astype("int64")
    cell = _pack(place, band, slot // 12)
    used = np.zeros((int(cell.max(initial=-1)) + 1, 12), dtype=bool)
    used[cell[counts], slot[counts] % 12] = True
    return used.sum(axis=1)[cell]


def _mean(cell: NDArray, values: NDArray, counts: NDArray) -> NDArray:
    """Mean over the rows of each cell that count; NaN where none does."""
    size = int(cell.max(initial=-1)) + 1
    number = np.bincount(cell[counts], minlength=size)
    total = np.bincount(cell[counts], weights=values[counts], minlength=size)
    with np.errstate(invalid="ignore", divide="ignore"):
        # Rounded, so that the order of the sum cannot carry a mean across an edge.
        return np.round(total / number, 3)[cell]


def _on_other_bands(cell: NDArray, band: NDArray, counts: NDArray, long: NDArray) -> NDArray:
    """1 above 100 MHz where a long path below it shares the cell, plus 2 below 400 MHz where a path above does."""
    mhz = np.array([0.0, *BAND_MHZ.values()])[band]
    low = _any_with(cell, long & (mhz > 0) & (mhz < 100)) & (mhz > 100)
    high = _any_with(cell, counts & (mhz > 400)) & (mhz < 400)
    return low + 2 * high.astype("int8")


def _any_with(cell: NDArray, which: NDArray) -> NDArray:
    """Whether any row of the cell is one of these."""
    found = np.zeros(int(cell.max(initial=-1)) + 1, dtype=bool)
    found[cell[which]] = True
    return found[cell]

"""First signs: what was heard before the first voice of an opening, and how long before.

Lead times describe openings in which both were reported. They say nothing about openings that a
watcher missed, and voice comes late where few people speak.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from scipy.stats import binom

from analysis.find import intervals
from analysis.find.reach import REGION

SIGNS = ("lower band", "beacon", "weak signal", "FT8", "voice or CW")
VOICE = ("SSB", "USB", "LSB", "FM", "AM", "CW")
DIGITAL = ("FT8", "FT4")
WEAK = ("WSPR", "FST4W", "FST4", "JT65", "JT65B", "JT9", "Q65", "JT4", "QRA64", "PI4", "OPERA")
BEACON_TAIL = r"/B(?:CN)?$"  # a beacon's own suffix
LOWER = {"2m": ("10m", "8m", "6m", "4m"), "4m": ("10m", "8m", "6m"), "6m": ("10m", "8m")}
LOWER_WITHIN_MIN = 180.0
LOWER_WITHIN_KM = 1000.0
LONG_OVER_MIN = 60.0  # an opening below that ended longer ago has led nowhere
LEAST_OPENINGS = 6  # below this no 90 % interval of a median exists without assumptions: 2 × 0.5^5 > 0.05
EARTH_KM = 6371.0


def first_signs(
    spots: pd.DataFrame, openings: pd.DataFrame, *, beacons: pd.DataFrame | None = None
) -> pd.DataFrame:
    """What came first in each confirmed opening, and how long before the first voice report.

    Parameters
    ----------
    spots : DataFrame
        Spots with their `opening`.
    openings : DataFrame
        As `find_openings` returns them; those of the region are looked at.
    beacons : DataFrame, optional
        `call locator freq_mhz`; calls that end in /B are beacons anyway.

    Returns
    -------
    DataFrame
        One row per confirmed opening: `opening band mechanism path_type start first_sign lead_min`,
        then minutes from the first report of each kind to the first voice or CW report:
        `lower_band_min beacon_min weak_signal_min ft8_min` (negative: after it). NaN where one of the
        two was not reported. `first_sign` is one of `SIGNS`, or other; `lead_min` is the first sign's
        lead. A lower band leads when an opening by the same mechanism began there at most three hours
        earlier and was not long over, with midpoints within 1 000 km.
    """
    openings = openings[openings["scope"] == REGION]
    wanted = openings[openings["grade"] == "confirmed"]
    rows = spots[spots["opening"].isin(wanted["opening"])]
    minute = pd.Series(intervals.minutes(rows["time"]), index=rows.index)
    kinds = pd.DataFrame(
        {"opening": rows["opening"].astype("int64"), "sign": _sign(rows, beacons), "minute": minute}
    )
    first = kinds.pivot_table(index="opening", columns="sign", values="minute", aggfunc="min")
    first = first.reindex(index=wanted["opening"].astype("int64"), columns=[*SIGNS[1:], "other"]).astype(
        float
    )
    first.insert(0, SIGNS[0], _lower_band(wanted, openings))
    table = wanted.set_index(first.index)[["band", "mechanism", "path_type", "start"]].assign(
        opening=first.index
    )
    table["first_sign"] = first.idxmin(axis=1) if len(first) else pd.Series(dtype="str")
    voice = first[SIGNS[-1]]
    table["lead_min"] = voice - first.min(axis=1)
    for sign in SIGNS[:-1]:
        table[_column(sign)] = voice - first[sign]
    order = ["opening", "band", "mechanism", "path_type", "start", "first_sign", "lead_min"]
    return table[[*order, *(_column(sign) for sign in SIGNS[:-1])]].reset_index(drop=True)


def signs_summary(signs: pd.DataFrame) -> pd.DataFrame:
    """How often each sign came first, and its median lead over voice, per band and mechanism.

    Parameters
    ----------
    signs : DataFrame
        As `first_signs` returns them.

    Returns
    -------
    DataFrame
        `band mechanism sign n_openings n_first share_first n_both median_min low_min high_min reason`:
        `n_both` openings have this sign and a voice report; `low_min`–`high_min` is the 90 % interval
        of the median lead from order statistics. With fewer than 6 the numbers are blank and the
        reason says so.
    """
    found = []
    for (band, mechanism), own in signs.groupby(["band", "mechanism"]):
        for sign in SIGNS:
            lead = own[_column(sign)].dropna().to_numpy() if sign != SIGNS[-1] else np.empty(0)
            first = own["first_sign"] == sign
            counts = (len(own), first.sum(), first.mean(), len(lead))
            found.append((band, mechanism, sign, *counts, *median_interval(lead)))
    columns = ["band", "mechanism", "sign", "n_openings", "n_first", "share_first", "n_both"]
    table = pd.DataFrame(found, columns=[*columns, "median_min", "low_min", "high_min"])
    few = f"fewer than {LEAST_OPENINGS} openings have both this sign and a voice report"
    table["reason"] = np.select(
        [table["sign"] == SIGNS[-1], table["n_both"] < LEAST_OPENINGS],
        ["voice is what the leads are counted to", few],
        "",
    )
    return table


def median_interval(values: np.ndarray, *, level: float = 0.9) -> tuple[float, float, float]:
    """Median with its interval from order statistics, free of any assumed distribution.

    Returns
    -------
    tuple of float
        Median, low, high; all NaN below `LEAST_OPENINGS` values.
    """
    n = len(values)
    if n < LEAST_OPENINGS:
        return np.nan, np.nan, np.nan
    ordered = np.sort(values)
    # The median lies between the k-th values from both ends unless k or more fall beyond: two binomial tails.
    k = int(binom.ppf((1 - level) / 2, n, 0.5))
    k = max(k if binom.cdf(k - 1, n, 0.5) <= (1 - level) / 2 else k - 1, 1)
    return float(np.median(ordered)), float(ordered[k - 1]), float(ordered[n - k])


def _column(sign: str) -> str:
    return sign.lower().replace(" ", "_") + "_min"


def _sign(rows: pd.DataFrame, beacons: pd.DataFrame | None) -> np.ndarray:
    """Which kind of sign each report is."""
    mode = rows["mode"].astype("str").str.upper()
    beacon = rows["tx_call"].str.contains(BEACON_TAIL)
    if beacons is not None and len(beacons):
        beacon |= rows["tx_call"].isin(beacons["call"])
    known = [beacon, mode.isin(WEAK), mode.isin(DIGITAL), mode.isin(VOICE)]
    return np.select([part.to_numpy() for part in known], SIGNS[1:], "other")


def _lower_band(wanted: pd.DataFrame, openings: pd.DataFrame) -> np.ndarray:
    """First minute of an opening on a lower band that led to each opening, NaN if none did."""
    led = pd.Series(np.nan, index=wanted.index)
    for (band, mechanism), own in wanted.groupby(["band", "mechanism"]):
        below = openings[
            openings["band"].isin(LOWER.get(str(band), ())) & (openings["mechanism"] == mechanism)
        ]
        below = below.sort_values("start")
        if len(below):
            led[own.index] = _first_before(own, below)
    return led.to_numpy()


def _first_before(own: pd.DataFrame, below: pd.DataFrame) -> np.ndarray:
    """Start of the first near opening below, at most three hours before each own one and not long over."""
    moment, start, end = (intervals.minutes(times) for times in (own["start"], below["start"], below["end"]))
    place, places = own[["mid_lon", "mid_lat"]].to_numpy(), below[["mid_lon", "mid_lat"]].to_numpy()
    earliest = np.searchsorted(start, moment - LOWER_WITHIN_MIN)
    past = np.searchsorted(start, moment)
    led = []
    for i, window in enumerate(map(slice, earliest, past)):
        alive = end[window] >= moment[i] - LONG_OVER_MIN
        near = start[window][alive & (_apart_km(places[window], place[i]) <= LOWER_WITHIN_KM)]
        led.append(near[0] if len(near) else np.nan)
    return np.array(led)


def _apart_km(places: np.ndarray, place: np.ndarray) -> np.ndarray:
    """Distance of (lon, lat) rows from a point [degrees], on a sphere: a rough fence is enough."""
    (turn, tilt), lat = np.radians(places - place).T, np.radians(places[:, 1])
    half = np.sin(tilt / 2) ** 2 + np.cos(lat) * np.cos(np.radians(place[1])) * np.sin(turn / 2) ** 2
    return 2 * EARTH_KM * np.arcsin(np.sqrt(np.clip(half, 0, 1)))

"""Stations a few kilometres apart on the same signals: what one hears that the other does not, and how strong."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from analysis.find import intervals
from analysis.gather.locators import centre
from analysis.physics.earth import EARTH_KM, apart_km, directions

NEAR_KM = 30.0  # farther apart the sky over the two differs (judgement)
SAME_MIN, HEARD_MIN = (
    1,
    30,
)  # one transmission; how long one may fail to be reported for another reason (judgement)
LEAST_SAME = 30  # signals that both heard; a judgement: fewer leave 2 dB of doubt at 10 dB of fading
STRONG_DB = 10.0  # above the weakest that a mode is read at, so that what one missed bends nothing
WEAKEST = 0.02  # quantile of a mode's reports that is taken for the weakest it is read at (judgement)
MOST_PAIRS = 100  # speed: those that reported most
SAME = ["station", "other", "band", "mechanism", "time", "bearing_deg", "diff_db"]
HEARD = ["station", "other", "band", "time", "own", "others"]


def pairs_nearby(spots: pd.DataFrame, *, most_km: float = NEAR_KM) -> pd.DataFrame:
    """Receivers within `most_km` of each other: `station other km` and their places.

    A station counts whose square is known to six characters, that was never elsewhere and reported enough;
    of many pairs those stay whose less busy station reported most.
    """
    told = spots.loc[spots["snr_db"].notna(), ["rx_call", "rx_locator"]].astype("str")
    n = told["rx_call"].value_counts()
    rows = told[told["rx_call"].isin(n[n >= LEAST_SAME].index)].drop_duplicates()
    rows = rows[rows["rx_locator"].str.len() >= 6]
    alone = rows.groupby("rx_call")["rx_locator"].transform("size") == 1
    rows = rows[alone].reset_index(drop=True)
    columns = ["station", "other", "km", "lon", "lat", "other_lon", "other_lat"]
    if len(rows) < 2:
        return pd.DataFrame(columns=columns)
    at = centre(rows["rx_locator"])
    where = directions(lon=at["lon"], lat=at["lat"])
    near = cKDTree(where).query_pairs(2 * np.sin(most_km / EARTH_KM / 2), output_type="ndarray")
    one, two = near[:, 0], near[:, 1]
    places = at[["lon", "lat"]].to_numpy()
    names = rows["rx_call"].to_numpy()
    table = pd.DataFrame({"station": names[one], "other": names[two], "km": apart_km(where[one], where[two])})
    table[["lon", "lat"]], table[["other_lon", "other_lat"]] = places[one], places[two]
    least = np.minimum(n[table["station"]].to_numpy(), n[table["other"]].to_numpy())
    busiest = np.sort(np.argsort(-least, kind="stable")[:MOST_PAIRS])
    return table.loc[busiest, columns].reset_index(drop=True)


def same_signals(spots: pd.DataFrame, pairs: pd.DataFrame) -> pd.DataFrame:
    """Signals that both of a pair reported in the same minute, strong enough for both: `SAME`.

    `diff_db` is the station's SNR less the other's. A signal counts if the mean of both reports lies 10 dB
    above the weakest reports of its mode: among weaker ones those that one of the two missed are not
    there, and a real difference would look smaller.
    """
    rows = _signals(spots, pairs)
    weakest = rows.groupby("mode")["snr_db"].quantile(WEAKEST)
    found = []
    for pair in pairs.itertuples():
        mine, theirs = (rows[rows["rx_call"] == call] for call in (pair.station, pair.other))
        both = mine.merge(theirs, on=["band", "mode", "tx_call", "minute"], suffixes=("", "_other"))
        mean = (both["snr_db"] + both["snr_db_other"]) / 2
        both = both[mean >= weakest.reindex(both["mode"]).to_numpy() + STRONG_DB]
        diff = both["snr_db"] - both["snr_db_other"]
        found.append(both.assign(station=str(pair.station), other=str(pair.other), diff_db=diff)[SAME])
    return pd.concat(found, ignore_index=True) if found else pd.DataFrame(columns=SAME)


def _signals(spots: pd.DataFrame, pairs: pd.DataFrame) -> pd.DataFrame:
    """Undoubted reports with an SNR by stations of pairs, one a minute."""
    calls = pd.unique(pd.concat([pairs["station"], pairs["other"]]))
    mine = spots["rx_call"].isin(calls) & (spots["doubt"] == "") & spots["snr_db"].notna()
    columns = ["time", "band", "mode", "tx_call", "rx_call", "snr_db", "bearing_deg", "mechanism"]
    rows = spots.loc[mine, columns]
    text = ["band", "mode", "tx_call", "rx_call", "mechanism"]
    rows = rows.astype(dict.fromkeys(text, "str"))
    rows["minute"] = intervals.minutes(rows["time"]) // SAME_MIN
    return rows.drop_duplicates(["rx_call", "band", "mode", "tx_call", "minute"])


def heard_by_either(spots: pd.DataFrame, listening: pd.DataFrame, pairs: pd.DataFrame) -> pd.DataFrame:
    """Transmitters that either of a pair heard in a half-hour in which both listened: `HEARD`.

    `own` and `others` are whether the station, and the other one, heard it.
    """
    calls = pd.unique(pd.concat([pairs["station"], pairs["other"]]))
    rows = spots[spots["rx_call"].isin(calls) & (spots["doubt"] == "")]
    rows = pd.DataFrame(
        {
            "rx_call": rows["rx_call"].astype("str"),
            "band": rows["band"].astype("str"),
            "tx_call": rows["tx_call"].astype("str"),
            "time": rows["time"].dt.floor(f"{HEARD_MIN}min"),
        }
    ).drop_duplicates()
    spans = listening[listening["station"].isin(calls)]
    rows = rows[rows["tx_call"] != rows["rx_call"]]
    found = []
    for pair in pairs.itertuples():
        mine, theirs = (
            rows[rows["rx_call"] == call].drop(columns="rx_call") for call in (pair.station, pair.other)
        )
        either = mine.assign(own=True).merge(
            theirs.assign(others=True), how="outer", on=["band", "tx_call", "time"]
        )
        either = either[either["tx_call"].isin([pair.station, pair.other]).eq(False)]
        on = _listened(either, spans, str(pair.station)) & _listened(either, spans, str(pair.other))
        either = either[on].fillna({"own": False, "others": False})
        found.append(either.assign(station=pair.station, other=pair.other)[HEARD])
    return pd.concat(found, ignore_index=True) if found else pd.DataFrame(columns=HEARD)


def _listened(rows: pd.DataFrame, spans: pd.DataFrame, station: str) -> NDArray:
    """Whether a station listened through the whole half-hour of each row."""
    on = np.zeros(len(rows), dtype=bool)
    start = intervals.minutes(rows["time"])
    for band in rows["band"].unique():
        own = spans[(spans["station"] == station) & (spans["band"] == band)].sort_values("start")
        if own.empty:
            continue
        mine = (rows["band"] == band).to_numpy()
        begins, ends = intervals.minutes(own["start"]), intervals.minutes(own["end"])
        place = np.searchsorted(begins, start[mine], side="right") - 1
        on[mine] = (place >= 0) & (ends[np.maximum(place, 0)] >= start[mine] + HEARD_MIN)
    return on

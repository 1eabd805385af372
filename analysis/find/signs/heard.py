"""The beacon keeper's record: who heard a beacon when, how far and by what, and on which days nobody did."""

from __future__ import annotations

import numpy as np
import pandas as pd
from scipy.stats import theilslopes

from analysis.find.once import once
from analysis.find.signs.kinds import BROADCAST, is_beacon
from analysis.gather.cells import values
from analysis.tag.paths import pair_codes, pair_table

SECTORS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
NEAR_KM = 600.0  # farther away openings decide on what days it is heard, not its keeper (judgement)
BEYOND_KM = 150.0  # nearer receivers say where people live
REGULAR_SHARE, REGULAR_DAYS = 0.3, 10  # of a station's days on the band, between its first and last hearing
FINE_HZ = 10.0  # a frequency written no finer than this tells no drift
LEAST_DRIFT_DAYS = 20  # judgement: fewer show the receivers, not the beacon
COLUMNS = [
    *("call", "band", "locator", "freq_mhz", "first", "last", "n_reports", "n_listeners", "days_heard"),
    *("hours_heard", "farthest_km", "farthest_mechanism", "mechanisms", "best_bearing", "best_days"),
    *("longest_silence_days", "n_regulars", "drift_hz_month", "drift_low", "drift_high", "drift_reason"),
]


def beacon_reports(spots: pd.DataFrame, *, beacons: pd.DataFrame | None = None) -> pd.DataFrame:
    """Undoubted receptions of beacons, with `day` (UTC) added; broadcasts have no keeper who would ask."""
    rows = spots[is_beacon(spots, beacons=beacons) & (spots["doubt"] == "").to_numpy()]
    rows = rows[rows["band"].astype("str") != BROADCAST]
    return rows[rows["rx_call"] != ""].assign(day=rows["time"].dt.floor("D"))


def beacons_heard(spots: pd.DataFrame, *, beacons: pd.DataFrame | None = None) -> pd.DataFrame:
    """One line for each beacon and band: when, by how many, how far and whither it was heard.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots.
    beacons : DataFrame, optional
        `call locator freq_mhz`; listed beacons that nobody heard have a line too, with nothing heard.

    Returns
    -------
    DataFrame
        Columns of `COLUMNS`. `hours_heard` are different hours with a report, `best_bearing` the eighth of
        the compass, seen from the beacon, in which it was heard beyond 150 km on most days
        (`best_days`). `n_regulars` stations nearby hear it so often that their silence tells something.
        `drift_hz_month` is the Theil–Sen slope of the daily medians of reported frequencies with its 90 %
        interval, or the reason why none can be told.
    """
    rows = beacon_reports(spots, beacons=beacons)
    pair, pairs = pair_codes(rows)
    rows = rows.assign(toward=pair_table(pairs)["tx_bearing_deg"].to_numpy()[pair])
    keys = [rows["tx_call"].astype("str"), rows["band"].astype("str")]
    days = station_days(spots)
    found = [_record(own, days, call=call, band=band) for (call, band), own in rows.groupby(keys)]  # type: ignore[arg-type]
    table = pd.DataFrame(found, columns=COLUMNS)
    if beacons is None:
        return table
    silent = beacons[
        ~beacons["call"].isin(table["call"]) & (values.band_of(beacons["freq_mhz"]) != BROADCAST)
    ]
    silent = silent[["call", "locator", "freq_mhz"]].drop_duplicates()
    silent = silent.assign(n_reports=0, n_listeners=0, days_heard=0, hours_heard=0, n_regulars=0)
    return pd.concat([table, silent], ignore_index=True)[COLUMNS] if len(silent) else table


def station_days(spots: pd.DataFrame) -> pd.DataFrame:
    """Which receiver heard which transmitter on which UTC day: `band rx_call tx_call day near`, each once.

    `near` is whether it was heard over a path that needs no opening, up to `NEAR_KM`.
    """
    rows = spots[(spots["rx_call"] != "") & (spots["doubt"] == "")]
    table = pd.DataFrame(
        {
            "band": rows["band"].astype("str"),
            "rx_call": rows["rx_call"].astype("str"),
            "tx_call": rows["tx_call"].astype("str"),
            "day": rows["time"].dt.floor("D"),
            "near": rows["distance_km"] <= NEAR_KM,
        }
    )
    return table.groupby(["band", "rx_call", "tx_call", "day"], as_index=False)["near"].max()  # type: ignore[return-value]


def listening_days(days: pd.DataFrame, *, call: str, band: str) -> pd.DataFrame:
    """For each day and regular listener of a beacon: heard (1), on the band but not heard (0), or not there (NaN).

    Parameters
    ----------
    days : DataFrame
        As `station_days` makes it.
    call, band : str

    Returns
    -------
    DataFrame
        A row for every UTC day from the first hearing to the last day on which a regular was on the band;
        a column for every regular: a receiver within `NEAR_KM` that heard it on three days in ten on which
        it was there. That a station was on the band is told by its reports of other transmitters: its
        silence about the beacon would else prove that it was not there.
    """
    on_band = _on_band(days, band)
    own = on_band["tx_call"] == call
    mine = on_band[own]
    near = mine.groupby("rx_call")["near"].sum()
    mine = mine[mine["rx_call"].isin(near[near >= REGULAR_DAYS].index)]
    if mine.empty:
        return pd.DataFrame()
    heard = _by_day(mine)
    others = on_band[~own & on_band["rx_call"].isin(heard.columns)]
    there = _by_day(others).reindex(columns=heard.columns, fill_value=False)
    last = max([heard.index.max(), *there.index[-1:]])
    every = pd.date_range(heard.index.min(), last, freq="D")
    heard, there = (one.reindex(every, fill_value=False).astype(bool) for one in (heard, there))
    known = heard.astype(float).where(heard | there)
    # A receiver that only ever heard this beacon proves nothing on the days it did not.
    spans = known.where(heard.cummax() & heard[::-1].cummax()[::-1])
    known = known.loc[:, (spans.mean() >= REGULAR_SHARE) & (there.sum() >= REGULAR_DAYS)]
    return known.loc[: known.last_valid_index()] if known.shape[1] else pd.DataFrame()


@once
def _on_band(days: pd.DataFrame, band: str) -> pd.DataFrame:
    return days[days["band"] == band]


def _by_day(rows: pd.DataFrame) -> pd.DataFrame:
    """Whether a receiver has a row on a day: days in rows, receivers in columns, both in order."""
    day, days = pd.factorize(rows["day"], sort=True)
    station, stations = pd.factorize(rows["rx_call"], sort=True)
    seen = np.zeros((len(days), len(stations)), dtype=bool)
    seen[day, station] = True
    return pd.DataFrame(seen, index=pd.DatetimeIndex(days), columns=stations)


def _record(own: pd.DataFrame, every: pd.DataFrame, *, call: str, band: str) -> dict:
    """One beacon on one band."""
    days = own["day"].drop_duplicates().sort_values()
    far = own.loc[own["distance_km"].idxmax()] if own["distance_km"].notna().any() else None  # type: ignore[call-overload]
    mechanisms = own["mechanism"].astype("str").value_counts()
    silence = days.diff().dt.days.max() - 1 if len(days) > 1 else 0
    located = own.loc[own["tx_locator"] != "", "tx_locator"]
    told = {
        "call": call,
        "band": band,
        "locator": located.mode().iloc[0] if len(located) else "",
        "freq_mhz": own["freq_mhz"].median(),
        "first": own["time"].min(),
        "last": own["time"].max(),
        "n_reports": len(own),
        "n_listeners": own["rx_call"].nunique(),
        "days_heard": len(days),
        "hours_heard": own["time"].dt.floor("h").nunique(),
        "farthest_km": np.nan if far is None else far["distance_km"],
        "farthest_mechanism": "" if far is None else str(far["mechanism"]),
        "mechanisms": " ".join(f"{name} {n}" for name, n in mechanisms.items() if name),
        "longest_silence_days": int(silence),
        "n_regulars": listening_days(every, call=call, band=band).shape[1],
    }
    return told | _bearing(own) | _drift(own)


def _bearing(own: pd.DataFrame) -> dict:
    """Eighth of the compass, from the beacon, in which it was heard from afar on most days."""
    far = own[own["distance_km"] >= BEYOND_KM]
    if far.empty:
        return {"best_bearing": "", "best_days": 0}
    sector = np.round(far["toward"].to_numpy() / 45).astype(int) % 8
    days = (
        pd.DataFrame({"sector": sector, "day": far["day"].to_numpy()})
        .drop_duplicates()["sector"]
        .value_counts()
    )
    return {"best_bearing": SECTORS[days.index[0]], "best_days": int(days.iloc[0])}


def _drift(own: pd.DataFrame) -> dict:
    """Slope of the reported frequency [Hz a month], or why it cannot be told."""
    blank = {"drift_hz_month": np.nan, "drift_low": np.nan, "drift_high": np.nan}
    freq = own["freq_mhz"].dropna() * 1e6
    fine = freq[np.abs(freq / FINE_HZ - np.round(freq / FINE_HZ)) > 0.02]
    if len(fine) < 0.5 * len(freq) or freq.empty:
        return blank | {"drift_reason": f"frequencies are written no finer than {FINE_HZ:g} Hz"}
    daily = freq.groupby(own.loc[freq.index, "day"]).median()
    if len(daily) < LEAST_DRIFT_DAYS:
        return blank | {
            "drift_reason": f"heard with a fine frequency on {len(daily)} days, of {LEAST_DRIFT_DAYS} needed"
        }
    months = (daily.index - daily.index[0]).days.to_numpy() / 30.44
    slope, _, low, high = theilslopes(daily.to_numpy(), months, alpha=0.9)
    return {"drift_hz_month": slope, "drift_low": low, "drift_high": high, "drift_reason": ""}

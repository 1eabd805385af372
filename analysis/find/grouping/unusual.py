"""How unusual an opening was for the stations that had it."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.find import intervals

FARTHER_KM = 1e5  # more than any distance: parts the stretches of one number line


def unusual(spots: pd.DataFrame, openings: pd.DataFrame) -> pd.Series:
    """Share of its stations' other days on which they did not reach so far by that mechanism.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots with the numbers `opening` and `here`.
    openings : DataFrame
        `opening band mechanism`.

    Returns
    -------
    Series of float
        Index of `openings`, 0 to 1: near 1 where hardly any station of the opening had a day like it.
        A day is one on which the station, receiver or sender, is on the band at all; the stations' days are
        pooled with one more day on either side, so that stations of few days end near one half. NaN for
        an opening without reports of known distance.
    """
    ends = _ends(spots)
    days = ends[["band", "station", "day"]].drop_duplicates().groupby(["band", "station"]).size()
    reach = ends[ends["km"].notna()]
    daily = reach.groupby(["band", "mechanism", "station", "day"], as_index=False)["km"].max()
    mine = pd.concat([reach.assign(opening=reach[name]) for name in ("opening", "here")])
    mine = mine[mine["opening"].notna()]
    mine = mine.groupby(["opening", "band", "mechanism", "station"], as_index=False)["km"].max()  # type: ignore[assignment]
    key = pd.MultiIndex.from_frame(daily[["band", "mechanism", "station"]])  # type: ignore[arg-type]
    code, names = pd.factorize(key)
    line = np.sort(code * FARTHER_KM + daily["km"].to_numpy())
    own = pd.Index(names).get_indexer(pd.MultiIndex.from_frame(mine[["band", "mechanism", "station"]]))
    as_far = np.searchsorted(line, (own + 1) * FARTHER_KM) - np.searchsorted(
        line, own * FARTHER_KM + mine["km"].to_numpy()
    )
    others = days.reindex(pd.MultiIndex.from_frame(mine[["band", "station"]])).to_numpy() - 1
    sums = pd.DataFrame({"less": others - (as_far - 1), "days": others}).groupby(mine["opening"]).sum()
    share = (sums["less"] + 1) / (sums["days"] + 2)
    return openings["opening"].map(share).astype("float64")


def _ends(spots: pd.DataFrame) -> pd.DataFrame:
    """`band mechanism station day km opening here`: every undoubted report once for each of its stations."""
    rows = spots[spots["doubt"] == ""]
    table = pd.DataFrame(
        {
            "band": rows["band"].astype("str"),
            "mechanism": rows["mechanism"].astype("str"),
            "day": np.floor(intervals.minutes(rows["time"]) / 1440).astype("int64"),
            "km": rows["distance_km"].astype("float64"),
            "opening": rows["opening"],
            "here": rows["here"],
        }
    )
    both = [table.assign(station=rows[call].astype("str")) for call in ("rx_call", "tx_call")]
    ends = pd.concat(both, ignore_index=True)
    return ends[ends["station"] != ""]

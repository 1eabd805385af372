"""What the sporadic-E layer bore through each opening: the lowest critical frequency that explains the reports.

The shorter a hop, the denser the layer must be. Every report by one hop gives a lower bound; the highest of a
quarter of an hour is what the layer had at least, and a grazing hop off the same layer carries most.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from analysis.find import intervals
from analysis.find.reach import REGION
from analysis.physics.sporadic_e import LAYER_KM, SOFT_EDGE_KM, lowest_foes, one_hop_reach, secant_factor

HEIGHTS_KM = (90.0, LAYER_KM, 120.0)  # the layer wanders between the outer two
SLOT_MIN = 15.0  # judgement: long enough for a few reports, short against a cloud's life
# Where most activity of a band is; common practice, no source.
BAND_MHZ = {"10m": 28.5, "8m": 40.7, "6m": 50.3, "4m": 70.2, "2m": 144.3, "1.25m": 222.1, "70cm": 432.2}
ABOUT = ["opening", "band", "start", "season"]
VALUES = ["foes_mhz", "foes_low", "foes_high", "muf_mhz", "muf_low", "muf_high"]
COLUMNS = [*ABOUT, "time", *VALUES, "shortest_km", "n_reports", "n_paths", "n_held", "climb_mhz_h"]


def layer_bounds(spots: pd.DataFrame, openings: pd.DataFrame) -> pd.DataFrame:
    """Lowest layer frequency, and the highest frequency it carries, through every opening of sporadic E.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots with their `opening`.
    openings : DataFrame
        Of every scope; the region's are looked at, for they have one place.

    Returns
    -------
    DataFrame
        `opening band start season time foes_mhz foes_low foes_high muf_mhz muf_low muf_high shortest_km
        n_reports n_paths n_held climb_mhz_h`: one row per opening and quarter of an hour with reports by one hop.
        `foes_mhz` is the least critical frequency that explains them all, of a mirror at 110 km; `low` and
        `high` are those of mirrors at 90 and 120 km. `muf_mhz` is what such a layer carries over the
        longest hop. `n_held` paths need nine tenths of the bound or more: one alone may be a wrong
        locator. `climb_mhz_h` is the change since the row before.

    References
    ----------
    Secant law over a round Earth (`physics.sporadic_e`). Weak-signal modes get through a little above what
    a mirror reflects (ITU-R P.534), so that their bound is somewhat high.
    """
    wanted = openings[(openings["scope"] == REGION) & (openings["mechanism"] == "ES")]
    rows = spots[
        spots["opening"].isin(wanted["opening"]) & (spots["hops"] == 1) & spots["distance_km"].notna()
    ]
    rows = rows[rows["distance_km"] <= SOFT_EDGE_KM[0]]
    freq = rows["freq_mhz"].fillna(rows["band"].astype("str").map(BAND_MHZ)).to_numpy(float)
    bounds = layer_bound(rows["distance_km"], freq_mhz=freq)
    ends = rows["tx_call"].astype("str") + " " + rows["rx_call"].astype("str")
    table = pd.DataFrame(dict(zip(VALUES, bounds, strict=True)), index=rows.index).assign(
        opening=rows["opening"].astype("int64"),
        season=rows["season"],
        slot=intervals.minutes(rows["time"]) // SLOT_MIN,
        shortest_km=rows["distance_km"],
        path=ends,
    )
    return _by_slot(table.dropna(subset="foes_mhz"), wanted)


def layer_bound(distance_km: ArrayLike, *, freq_mhz: ArrayLike) -> list[NDArray]:
    """Critical and highest usable frequency that one-hop reports imply: `VALUES`, for mirrors at `HEIGHTS_KM`."""
    low, middle, high = (
        lowest_foes(distance_km, freq_mhz=freq_mhz, height_km=height) for height in HEIGHTS_KM
    )
    muf = [foes * _grazing(height) for foes, height in zip((low, middle, high), HEIGHTS_KM, strict=True)]
    return [middle, low, high, muf[1], np.minimum(muf[0], muf[2]), np.maximum(muf[0], muf[2])]


def _grazing(height_km: float) -> float:
    """Factor of the longest hop, whose ray leaves along the ground."""
    return float(secant_factor(one_hop_reach(height_km, refracted=False) * (1 - 1e-9), height_km=height_km))


def _by_slot(table: pd.DataFrame, openings: pd.DataFrame) -> pd.DataFrame:
    key = ["opening", "slot"]
    best = table.groupby(key)[[*VALUES, "season"]].max()
    best["shortest_km"] = table.groupby(key)["shortest_km"].min()
    best["n_reports"], best["n_paths"] = table.groupby(key).size(), table.groupby(key)["path"].nunique()
    held = table[table["foes_mhz"] >= 0.9 * table.groupby(key)["foes_mhz"].transform("max")]
    best["n_held"] = held.groupby(key)["path"].nunique()
    best = best.reset_index().sort_values(key)
    step = best.groupby("opening")[["foes_mhz", "slot"]].diff()
    best["climb_mhz_h"] = step["foes_mhz"] / (step["slot"] * SLOT_MIN / 60)
    best["time"] = intervals.times(best["slot"] * SLOT_MIN)
    about = openings[["opening", "band", "start"]].astype({"opening": "int64", "band": "str"})
    return best.merge(about, on="opening")[COLUMNS]

"""How quickly signals varied: the spread of SNR within a path and an hour, day by day, by daylight and at night."""

from __future__ import annotations

import numpy as np
import pandas as pd

LEAST_REPORTS = 3  # of one path in an hour: two tell no spread (judgement)
COLUMNS = ["band", "mechanism", "day", "night", "spread_db", "n_hours"]


def spreads(spots: pd.DataFrame) -> pd.DataFrame:
    """Median spread of SNR within path and hour, for each day and its night.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots, of one mode and hour each path by itself; doubted ones and those without SNR are left out.

    Returns
    -------
    DataFrame
        `band mechanism day night spread_db n_hours`: `day` local at the midpoint, `night` whether the Sun was
        down there, `spread_db` the median over path-hours of the standard deviation [dB].
    """
    rows = spots[(spots["doubt"] == "") & spots["snr_db"].notna()]
    keys = ["band", "mechanism", "mode", "tx_call", "rx_call"]
    path = rows.groupby(keys, observed=True).ngroup()
    hour = rows["time"].dt.floor("h")
    within = rows["snr_db"].groupby([path.to_numpy(), hour.to_numpy()])
    table = pd.DataFrame({"spread_db": within.std(), "n": within.size()}).reset_index(drop=True)
    first = rows.assign(path=path, hour=hour).groupby(["path", "hour"], as_index=False).first()
    local = first["time"] + pd.to_timedelta(first["mid_lon"] / 15, unit="h")
    table["band"], table["mechanism"] = first["band"].astype("str"), first["mechanism"].astype("str")
    table["day"] = local.dt.floor("D").dt.tz_localize(None)
    table["night"] = first["sun_elev_deg"] < 0
    table = table[table["n"] >= LEAST_REPORTS]
    by = table.groupby(["band", "mechanism", "day", "night"])["spread_db"]
    return by.agg(spread_db="median", n_hours="size").reset_index()[COLUMNS]


def daily_spread(spread: pd.DataFrame, states: pd.DataFrame, *, band: str, mechanism: str) -> np.ndarray:
    """Spread of each day of `states` [dB], NaN where no path-hour tells it."""
    mine = spread[(spread["band"] == band) & (spread["mechanism"] == mechanism)]
    weighted = (mine["spread_db"] * mine["n_hours"]).groupby(mine["day"]).sum()
    mean = weighted / mine["n_hours"].groupby(mine["day"]).sum()
    return mean.reindex(states["day"]).to_numpy(float)

"""Known to be closed: home was busy on the band and nothing came through, whatever others worked elsewhere."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.find import intervals, reach

BUSY = 4  # contacts in a half-hour of somebody who is working all that can be heard (judgement)
AROUND_MIN = 15.0  # judgement: half an hour around, the grain of every curve
FAR_KM = 650.0  # a contact this long is no local one, whatever it was called


def contradicted(
    rows: pd.DataFrame, spots: pd.DataFrame, *, band: str, mechanism: str, lon: float, lat: float
) -> np.ndarray:
    """Which reports home's own contacts speak against as openings here.

    Parameters
    ----------
    rows : DataFrame
        `minute` of reports by the mechanism that could have served home.
    spots : DataFrame
        Tagged spots.
    band, mechanism : str
    lon, lat : float
        Home [degrees east, north].

    Returns
    -------
    ndarray of bool
        True where stations near home made four contacts or more within a quarter of an hour before and
        after, and none of them by the mechanism or over 650 km.
    """
    own = spots[(spots["band"] == band) & (spots["kind"] == "worked") & (spots["doubt"] == "")]
    own = own[reach.in_scope(own, scope=reach.NEIGHBOURS, mechanism=mechanism, lon=lon, lat=lat)]
    through = (own["mechanism"].astype("str") == mechanism) | (own["distance_km"] >= FAR_KM)
    minute = intervals.minutes(own["time"])
    busy, far = (_within(np.sort(part), rows["minute"].to_numpy()) for part in (minute, minute[through]))
    return (busy >= BUSY) & (far == 0)


def _within(minute: np.ndarray, around: np.ndarray) -> np.ndarray:
    """How many of the sorted minutes lie near each."""
    last = np.searchsorted(minute, around + AROUND_MIN, side="right")
    return last - np.searchsorted(minute, around - AROUND_MIN)

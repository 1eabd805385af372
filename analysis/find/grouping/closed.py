"""Known to be closed: home was busy on the band and nothing came through, whatever others worked elsewhere.

Somebody who makes a contact every few minutes would have worked what came from far away. It says so for
stations near home alone: others see another part of the sky.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.find import intervals, reach
from analysis.find.proof.operating import FEWEST
from analysis.tag.ordinary import within

AROUND_MIN = 15.0  # judgement: half an hour around, the grain of every curve
FAR_KM = {
    "ES": 400.0,
    "F2": 400.0,
    "TEP": 400.0,
}  # judgement: what is called nothing, but no nearer, may be by it
HALF_HOUR = 30  # definition


def busy_half_hours(
    spots: pd.DataFrame, *, band: str, mechanism: str, lon: float, lat: float
) -> pd.DataFrame:
    """Half-hours in which stations near home made four contacts or more, and whether any came by a mechanism.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots.
    band, mechanism : str
    lon, lat : float
        Home [degrees east, north].

    Returns
    -------
    DataFrame
        `start n_contacts n_open`, in order of time. Where `n_open` is 0 the band is known to have been
        closed here by that mechanism: no contact was called so, nor was one from so far left without a call.
    """
    minute, through = _contacts(spots, band=band, mechanism=mechanism, lon=lon, lat=lat)
    start = intervals.times(minute // HALF_HOUR * HALF_HOUR)
    table = pd.DataFrame({"start": start, "open": through})
    counted = table.groupby("start")["open"].agg(n_contacts="size", n_open="sum")
    return counted[counted["n_contacts"] >= FEWEST].reset_index()


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
    band, mechanism, lon, lat
        As for `busy_half_hours`.

    Returns
    -------
    ndarray of bool
        True where the half-hour around the report is one that `busy_half_hours` would call closed.
    """
    minute, through = _contacts(spots, band=band, mechanism=mechanism, lon=lon, lat=lat)
    busy, far = (_within(np.sort(part), rows["minute"].to_numpy()) for part in (minute, minute[through]))
    return (busy >= FEWEST) & (far == 0)


def _contacts(
    spots: pd.DataFrame, *, band: str, mechanism: str, lon: float, lat: float
) -> tuple[np.ndarray, np.ndarray]:
    """Minutes of the contacts of stations near home, and which of them may have come by the mechanism."""
    own = spots[(spots["band"] == band) & (spots["kind"] == "worked") & (spots["doubt"] == "")]
    own = own[reach.in_scope(own, scope=reach.NEIGHBOURS, mechanism=mechanism, lon=lon, lat=lat)]
    called = own["mechanism"].astype("str")
    vague = called.isin(["", "undetermined"]) & ~(own["distance_km"] < FAR_KM.get(mechanism, 0.0))
    through = (called == mechanism) & ~within(own) | vague
    return intervals.minutes(own["time"]), through.to_numpy(dtype=bool)


def _within(minute: np.ndarray, around: np.ndarray) -> np.ndarray:
    """How many of the sorted minutes lie near each."""
    last = np.searchsorted(minute, around + AROUND_MIN, side="right")
    return last - np.searchsorted(minute, around - AROUND_MIN)

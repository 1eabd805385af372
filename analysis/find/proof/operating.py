"""Who was working stations one after the other: proof of being on, and half-hours known to be closed.

Somebody who makes a contact every few minutes would have worked what came from far away. It says so for this
station alone: others see another part of the sky.
"""

from __future__ import annotations

import pandas as pd

from analysis.find import intervals
from analysis.tag.ordinary import within

EVERY_MIN = 10.0  # "every few minutes": the longest pause in a run (judgement)
FEWEST = 4  # contacts in a run, and in a half-hour that is known
FAR_KM = {"ES": 400.0, "F2": 400.0, "TEP": 400.0}  # what is called nothing, but no nearer, may be by it
HALF_HOUR = 30  # definition


def operating(spots: pd.DataFrame) -> pd.DataFrame:
    """Runs of contacts: `station band start end`, from the first contact to the last.

    Four contacts or more in a log that names its station, none later than ten minutes after the one before.
    """
    rows = _own(spots)
    if rows.empty:
        return intervals.empty()
    rows = rows.sort_values([*intervals.KEYS, "minute"])
    fresh = (rows[intervals.KEYS] != rows[intervals.KEYS].shift()).any(axis=1)
    run = (fresh | (rows["minute"].diff() > EVERY_MIN)).cumsum()
    table = rows.groupby(run).agg(
        station=("station", "first"), band=("band", "first"), first=("minute", "first"),
        last=("minute", "last"), n=("minute", "size"),
    )  # fmt: skip
    table = table[(table["n"] >= FEWEST) & (table["last"] > table["first"])]
    ends = {"start": intervals.times(table["first"]), "end": intervals.times(table["last"])}
    return table[intervals.KEYS].assign(**ends).reset_index(drop=True)


def worked_half_hours(spots: pd.DataFrame, *, band: str, mechanism: str) -> pd.DataFrame:
    """Half-hours in which a station made four contacts or more on a band, and whether any came by a mechanism.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots.
    band, mechanism : str

    Returns
    -------
    DataFrame
        `station band start n_contacts n_open`, in order of station and time. Where `n_open` is 0 the
        band is known to have been closed by that mechanism for that station: no contact was called so, nor was
        one from so far left without a call. Nothing follows for others.
    """
    rows = _own(spots[spots["band"] == band])
    known, km = rows["mechanism"], rows["km"]
    vague = known.isin(["", "undetermined"]) & ~(km < FAR_KM.get(mechanism, 0.0))
    rows["open"] = (known == mechanism) & ~rows["ordinary"] | vague
    rows["start"] = intervals.times(rows["minute"] // HALF_HOUR * HALF_HOUR)
    table = rows.groupby([*intervals.KEYS, "start"])["open"].agg(n_contacts="size", n_open="sum")
    return table[table["n_contacts"] >= FEWEST].reset_index()


def _own(spots: pd.DataFrame) -> pd.DataFrame:
    """Contacts of logs that name their station: `station band minute mechanism km ordinary`."""
    rows = spots[(spots["kind"] == "worked") & (spots["rx_call"] != "") & (spots["doubt"] == "")]
    return pd.DataFrame(
        {
            "station": rows["rx_call"].astype("str").to_numpy(),
            "band": rows["band"].astype("str").to_numpy(),
            "minute": intervals.minutes(rows["time"]),
            "mechanism": rows["mechanism"].astype("str").to_numpy(),
            "km": rows["distance_km"].to_numpy("float64"),
            "ordinary": within(rows).to_numpy(),
        }
    )

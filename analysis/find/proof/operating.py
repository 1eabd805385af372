"""Who was working stations one after the other: proof of being on."""

from __future__ import annotations

import pandas as pd

from analysis.find import intervals

EVERY_MIN = 10.0  # "every few minutes": the longest pause in a run (judgement)
FEWEST = 4  # contacts in a run, and in a half-hour of somebody who works all that can be heard (judgement)


def operating(spots: pd.DataFrame) -> pd.DataFrame:
    """Runs of contacts: `station band start end`, from the first contact to the last.

    Four contacts or more in a log that names its station, none later than ten minutes after the one before.
    """
    rows = spots[(spots["kind"] == "worked") & (spots["rx_call"] != "") & (spots["doubt"] == "")]
    if rows.empty:
        return intervals.empty()
    rows = pd.DataFrame(
        {
            "station": rows["rx_call"].astype("str").to_numpy(),
            "band": rows["band"].astype("str").to_numpy(),
            "minute": intervals.minutes(rows["time"]),
        }
    ).sort_values([*intervals.KEYS, "minute"])
    fresh = (rows[intervals.KEYS] != rows[intervals.KEYS].shift()).any(axis=1)
    run = (fresh | (rows["minute"].diff() > EVERY_MIN)).cumsum()
    table = rows.groupby(run).agg(
        station=("station", "first"), band=("band", "first"), first=("minute", "first"),
        last=("minute", "last"), n=("minute", "size"),
    )  # fmt: skip
    table = table[(table["n"] >= FEWEST) & (table["last"] > table["first"])]
    ends = {"start": intervals.times(table["first"]), "end": intervals.times(table["last"])}
    return table[intervals.KEYS].assign(**ends).reset_index(drop=True)

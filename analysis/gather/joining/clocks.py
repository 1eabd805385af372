"""Logs whose times look like local time: seen when two logs hold the same contacts hours apart.

Nothing is shifted. Which of two logs is right cannot be told from them; the note asks the operator.
"""

from __future__ import annotations

import pandas as pd

HALF_HOUR_S = 1800  # zones differ by whole and half hours
SLACK_S = 120  # between two clocks that tell the same contact (judgement)
LONGEST_S = 14 * 3600  # the farthest zone from UTC
ENOUGH = 5  # contacts that agree in their offset


def offsets(rows: pd.DataFrame) -> pd.DataFrame:
    """Pairs of files that hold the same contacts one or more whole half-hours apart.

    Parameters
    ----------
    rows : DataFrame
        Spot table, one row per contact (repetitions already joined).

    Returns
    -------
    DataFrame
        `source note`: the file whose times are later, and a sentence.
    """
    if rows["source"].nunique() < 2:
        return pd.DataFrame({"source": [], "note": []}, dtype="str")
    both = _contacts_in_two_files(rows)
    later = (both["time"] - both["time_other"]).dt.total_seconds()
    steps = (later / HALF_HOUR_S).round()
    fits = (later - steps * HALF_HOUR_S).abs() <= SLACK_S
    usable = fits & steps.between(2, LONGEST_S / HALF_HOUR_S)
    found = both[usable].assign(steps=steps[usable])
    counts = found.groupby(["source", "source_other", "steps"]).size().reset_index(name="n")
    counts = counts.sort_values("n", ascending=False).drop_duplicates(["source", "source_other"])
    counts = counts[counts["n"] >= ENOUGH]
    said = (
        counts["n"].astype("str") + " contacts stand " + (counts["steps"] / 2).map("{:g}".format).astype("str")
        + " h later here than in " + counts["source_other"]
        + ": one of the two may be in local time; nothing was shifted, export both in UTC"
    )  # fmt: skip
    notes = pd.DataFrame({"source": counts["source"], "note": said})
    return notes.astype({"source": "str", "note": "str"}).sort_values("source", ignore_index=True)


def _contacts_in_two_files(rows: pd.DataFrame) -> pd.DataFrame:
    """Every two contacts of the same stations, band and mode in two files, with both times."""
    worked = rows.loc[
        (rows["kind"] == "worked").to_numpy(), ["time", "band", "mode", "tx_call", "rx_call", "source"]
    ]
    worked = worked.astype({"band": "str", "mode": "str", "source": "str"})
    ascending = worked["tx_call"] < worked["rx_call"]
    worked["one"] = worked["tx_call"].where(ascending, worked["rx_call"])
    worked["two"] = worked["rx_call"].where(ascending, worked["tx_call"])
    keys = ["one", "two", "band", "mode"]
    in_files = worked.groupby(keys)["source"].transform("nunique") > 1
    worked = worked.loc[in_files, [*keys, "time", "source"]]
    both = worked.merge(worked, on=keys, suffixes=("", "_other"))
    return both[both["source"] != both["source_other"]]

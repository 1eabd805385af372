"""What two logs say of one contact: calls read otherwise by the partner, squares known better to their owner.

Whoever sends a log was on the air, so a call with a log of its own is never taken for a misread one.
"""

from __future__ import annotations

import pandas as pd

LATE = pd.Timedelta("5min")


def owners(rows: pd.DataFrame) -> set[str]:
    """Calls that sent a log."""
    logs = rows.loc[(rows["kind"] == "worked").to_numpy(), "rx_call"]
    return set(logs.unique()) - {""}


def own_squares(rows: pd.DataFrame) -> pd.Series:
    """Locator of each transmitter, at full length where the station's own log tells it.

    The longer one stands where it begins with the four characters that were exchanged, and where the
    log names one such place only.
    """
    worked = rows[(rows["kind"] == "worked").to_numpy()]
    told = worked.loc[worked["rx_locator"].str.len() > 4, ["rx_call", "rx_locator"]].drop_duplicates()
    told = told[told["rx_call"] != ""].assign(square=told["rx_locator"].str[:4])
    told = told[~told.duplicated(["rx_call", "square"], keep=False)]
    short = worked.index[(worked["tx_locator"].str.len() == 4) & worked["tx_call"].isin(told["rx_call"])]
    keys = pd.MultiIndex.from_frame(rows.loc[short, ["tx_call", "tx_locator"]])
    full = told.set_index(["rx_call", "square"])["rx_locator"].reindex(keys).set_axis(short).dropna()
    better = rows["tx_locator"].copy()
    better.loc[full.index] = full
    return better


def misread(rows: pd.DataFrame, *, alike) -> pd.Series:
    """Contacts whose partner's log knows them under another call.

    Parameters
    ----------
    rows : DataFrame
        Spot table, contacts told twice already joined.
    alike : callable
        Two lists of calls to the pairs, `once often`, that differ in one character.

    Returns
    -------
    Series of str
        Both readings, for the rows of the log that misread.
    """
    logs = owners(rows)
    worked = rows.loc[
        ((rows["kind"] == "worked") & (rows["rx_call"] != "")).to_numpy(),
        ["time", "band", "tx_call", "rx_call"],
    ].astype({"band": "str"})
    unknown, known = (worked[worked["tx_call"].isin(logs) == which] for which in (False, True))
    pairs = alike(sorted(unknown["tx_call"].unique()), sorted(logs))
    unknown = unknown.reset_index().merge(pairs, left_on="tx_call", right_on="once")
    found = unknown.merge(
        known,
        left_on=["rx_call", "band", "often"],
        right_on=["tx_call", "band", "rx_call"],
        suffixes=("", "_theirs"),
    )
    found = found[(found["time"] - found["time_theirs"]).abs() <= LATE].drop_duplicates("index")
    told = "call " + found["once"] + " here; the log of " + found["often"] + " has this contact as its own"
    return told.set_axis(found["index"]).astype("str")

"""Stations worked in several squares: rovers move on, a wrong square is there and back in no time."""

from __future__ import annotations

import pandas as pd

FASTEST_KMH = 150.0  # on the road, as the crow flies (judgement)
SQUARE_KM = 220.0  # two stations in two squares are nearer than the squares' centres by at most so much
NAMED = 8  # rovers that a note names


def odd_squares(rows: pd.DataFrame, *, apart_km) -> pd.Series:
    """Contacts with a square that their station cannot have been in, between two in another one.

    Parameters
    ----------
    rows : DataFrame
        Spot table.
    apart_km : callable
        Two columns of locators to the distances of their centres [km].

    Returns
    -------
    Series of str
        Why, for those rows.
    """
    told = _in_order(rows)
    by_call = told.groupby("tx_call")
    before, after = by_call[["square", "time"]].shift(1), by_call[["square", "time"]].shift(-1)
    between = (before["square"] == after["square"]) & (before["square"] != told["square"])
    told, before, after = told[between], before[between], after[between]
    km = pd.Series(apart_km(told["square"], before["square"]), index=told.index) - SQUARE_KM
    minutes = [
        (told["time"] - before["time"]).dt.total_seconds() / 60,
        (after["time"] - told["time"]).dt.total_seconds() / 60,
    ]
    odd = km > FASTEST_KMH / 60 * pd.concat(minutes, axis=1).min(axis=1)
    text = "locator " + told["square"] + " for " + told["tx_call"] + ", which was in " + before["square"]
    ago, later = (part[odd].round().astype("int64").astype("str") for part in minutes)
    return (text[odd] + " " + ago + " min before and " + later + " min after").astype("str")


def rovers(rows: pd.DataFrame) -> pd.DataFrame:
    """One note, `source note`, that names the stations met in several squares one after the other."""
    told = _in_order(rows[(rows["doubt"] == "").to_numpy()])
    if told.empty:
        return pd.DataFrame({"source": [], "note": []}, dtype="str")
    moved = told["tx_call"].unique()
    places = told[told["tx_call"].isin(moved[:NAMED])].groupby("tx_call")["square"].unique()
    named = [f"{call} ({', '.join(squares)})" for call, squares in places.items()]
    more = f" and {len(moved) - NAMED} more" if len(moved) > NAMED else ""
    note = f"worked in several squares one after the other, taken for rovers: {'; '.join(named)}{more}"
    source = str(rows.loc[told.index[0], "source"])
    return pd.DataFrame({"source": [source], "note": [note]}, dtype="str")


def _in_order(rows: pd.DataFrame) -> pd.DataFrame:
    """`time tx_call square` of contacts with stations of more than one square, in order of call and time."""
    known = (rows["kind"] == "worked") & (rows["tx_locator"] != "") & (rows["tx_call"] != "")
    told = rows.loc[known.to_numpy(), ["time", "tx_call", "tx_locator", "source_row"]]
    told = told.assign(square=told.pop("tx_locator").str[:4])
    several = told.groupby("tx_call")["square"].transform("nunique") > 1
    return told[several].sort_values(["tx_call", "time", "source_row"], kind="stable")

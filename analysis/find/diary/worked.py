"""What a log alone can tell: days, squares, firsts and the longest paths that can be believed."""

from __future__ import annotations

import numpy as np
import pandas as pd

TOLD = 3  # new squares that are named (judgement)


def worked_days(spots: pd.DataFrame) -> pd.DataFrame:
    """Contacts day by day.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots; contacts count, those with a doubt about call or locator do not.

    Returns
    -------
    DataFrame
        `day band n_contacts n_squares n_new new_squares max_km farthest mechanism`, by day (UTC) and band:
        squares of four characters worked, how many of them for the first time on that band and which, and
        the longest path with its square and what carried it.
    """
    own = spots[(spots["kind"] == "worked") & (spots["doubt"] == "")]
    rows = pd.DataFrame(
        {
            "time": own["time"],
            "day": own["time"].dt.floor("D").dt.tz_localize(None),
            "band": own["band"].astype("str"),
            "square": own["tx_locator"].astype("str").str[:4],
            "km": own["distance_km"].astype("float64"),
            "mechanism": own["mechanism"].astype("str"),
        }
    ).sort_values(["time", "square"], kind="stable")
    keys = ["day", "band"]
    table = rows.groupby(keys).size().rename("n_contacts").to_frame()
    placed = rows[rows["square"] != ""]
    squares = placed.drop_duplicates([*keys, "square"])
    new = placed.drop_duplicates(["band", "square"])
    table["n_squares"] = squares.groupby(keys).size()
    table["n_new"] = new.groupby(keys).size()
    table["new_squares"] = new.groupby(keys)["square"].agg(_named)
    best = placed.sort_values("km", ascending=False, kind="stable").drop_duplicates(keys)
    best = best[best["km"].notna()].set_index(keys)
    longest = best[["km", "square", "mechanism"]].set_axis(["max_km", "farthest", "mechanism"], axis=1)
    table = table.join(longest).fillna({"n_squares": 0, "n_new": 0, "new_squares": "", "farthest": ""})
    table["mechanism"] = table["mechanism"].fillna("")
    return table.astype({"n_squares": "int64", "n_new": "int64"}).reset_index()


def _named(squares: pd.Series) -> str:
    """`IN93, JN05, JO11 and 4 more`."""
    more = len(squares) - TOLD
    told = ", ".join(
        np.sort(squares.to_numpy(dtype="str"))[:TOLD] if more > 0 else np.sort(squares.astype("str"))
    )
    return f"{told} and {more} more" if more > 0 else told

"""Several files as one table: every report once, nothing lost."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.gather.spots import COLUMNS

WHERE_FROM = ["source", "source_row"]
QUICK = ["time", "freq_mhz", "snr_db", "band", "kind"]


def exact_duplicates(rows: pd.DataFrame) -> np.ndarray:
    """Mask of rows that repeat an earlier row in everything but where they were read.

    A rover worked again from another square differs in its locator and is no duplicate.
    """
    numbers = pd.DataFrame({name: _code(rows[name]) for name in QUICK})
    maybe = numbers.duplicated(keep=False).to_numpy()  # only these need their texts compared
    others = [name for name in COLUMNS if name not in (*QUICK, *WHERE_FROM)]
    coded = numbers[maybe].assign(**{name: _code(rows[name][maybe]) for name in others})
    repeated = np.zeros(len(rows), dtype=bool)
    repeated[np.flatnonzero(maybe)[coded.duplicated(keep="first").to_numpy()]] = True
    return repeated


def _code(column: pd.Series) -> np.ndarray:
    return pd.factorize(column, use_na_sentinel=True)[0]


def fill_from_beacons(rows: pd.DataFrame, beacons: pd.DataFrame) -> pd.DataFrame:
    """Give transmitters without a locator the one a beacon list states for their call.

    A call that the list places in more than one square stays without.
    """
    places = beacons[beacons["locator"] != ""].groupby("call")["locator"].agg(["first", "nunique"])
    known = places.loc[places["nunique"] == 1, "first"]
    missing = rows["tx_locator"] == ""
    filled = pd.Series(known.reindex(rows["tx_call"]).array, index=rows.index).astype("str").fillna("")
    return rows.assign(tx_locator=rows["tx_locator"].where(~missing, filled))


def account(
    *, rows_in: pd.Series, kept: list[pd.Series], set_aside: pd.Series, duplicates: pd.Series
) -> pd.DataFrame:
    """What became of the rows of each file.

    Parameters
    ----------
    rows_in : Series of int
        Rows found, index the name of the file.
    kept : list of Series of str
        Names of the file of each row kept, of every kind of table.
    set_aside, duplicates : Series of str
        Name of the file of each row set aside and of each repetition dropped.

    Returns
    -------
    DataFrame
        `source rows_in kept set_aside duplicates`, sorted by source, each counted by itself.

    Raises
    ------
    RuntimeError
        If a row is counted twice or not at all: then the fault is ours.
    """

    def count(names: pd.Series) -> pd.Series:
        return names.astype("str").value_counts().reindex(rows_in.index, fill_value=0)

    table = pd.DataFrame(
        {
            "rows_in": rows_in,
            "kept": count(pd.concat([names.astype("str") for names in kept])),
            "set_aside": count(set_aside),
            "duplicates": count(duplicates),
        }
    ).astype("int64")
    lost = table[table["rows_in"] != table[["kept", "set_aside", "duplicates"]].sum(axis=1)]
    if len(lost):
        raise RuntimeError(f"the account of {lost.index[0]} does not add up")
    return table.rename_axis("source").sort_index().reset_index()

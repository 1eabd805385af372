"""Several files as one table: every report once, nothing lost."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.gather import spots
from analysis.gather.spots import COLUMNS

WHERE_FROM = ["source", "source_row"]
MIXER = np.uint64(0x9E3779B97F4A7C15)  # odd and far from any power of two, so that sums hardly meet
HALF = np.uint64(32)  # definition: bits


def stacked(tables: list[pd.DataFrame]) -> pd.DataFrame:
    """Spot tables one under the other, index 0..n-1."""
    if len(tables) == 1:  # a single large file need not be copied
        return tables[0]
    return spots.as_spots(pd.concat(tables, ignore_index=True))


def in_time(rows: pd.DataFrame) -> pd.DataFrame:
    """Rows in order of time, those of one time in order of file and row, index 0..n-1."""
    if rows["time"].is_monotonic_increasing and len(rows["source"].cat.categories) <= 1:
        return rows.reset_index(drop=True)
    return rows.sort_values(["time", "source", "source_row"], ignore_index=True)


def exact_duplicates(rows: pd.DataFrame) -> np.ndarray:
    """Mask of rows that repeat another row in everything but where they were read.

    Of equal rows the one whose file comes first by name stays, whatever was read first. A rover worked again from another square differs in its locator and is no duplicate.
    """
    maybe = pd.Series(_mixed(rows)).duplicated(keep=False).to_numpy()  # only these are compared in full
    told = rows.loc[maybe, [name for name in COLUMNS if name not in WHERE_FROM]]
    coded = pd.DataFrame({name: pd.factorize(told[name])[0] for name in told})
    names = rows["source"].cat.categories
    rank = names.argsort().argsort()[rows.loc[maybe, "source"].cat.codes]
    order = np.lexsort((rows.loc[maybe, "source_row"], rank))
    repeated = np.zeros(len(rows), dtype=bool)
    repeated[np.flatnonzero(maybe)[order[coded.iloc[order].duplicated().to_numpy()]]] = True
    return repeated


def _mixed(rows: pd.DataFrame) -> np.ndarray:
    """One number of 32 bits per row from its time, frequency, SNR and band; equal rows have equal numbers."""
    frequency = rows["freq_mhz"].fillna(0).to_numpy().view("int64")
    snr = rows["snr_db"].fillna(-999).to_numpy().astype("int64")
    parts = (
        rows["time"].to_numpy(dtype="datetime64[us]").view("int64"),
        frequency,
        snr,
        rows["band"].cat.codes.to_numpy(),
    )
    mixed = np.zeros(len(rows), dtype="uint64")
    for part in parts:
        mixed = (mixed + part.astype("int64").view("uint64")) * MIXER
    return (mixed >> HALF).astype("uint32")  # half as many bits are found again in two thirds of the time


def fill_from_beacons(rows: pd.DataFrame, beacons: pd.DataFrame) -> pd.DataFrame:
    """Give transmitters without a locator the one a beacon list states for their call.

    A call that the list places in more than one square stays without.
    """
    places = beacons[beacons["locator"] != ""].groupby("call")["locator"].agg(["first", "nunique"])
    known = places.loc[places["nunique"] == 1, "first"]
    missing = rows["tx_locator"].eq("") if len(known) else pd.Series(False, index=rows.index)
    if not missing.any():
        return rows
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
        counts = names.value_counts()
        return counts.set_axis(counts.index.astype("str")).reindex(rows_in.index, fill_value=0)

    table = pd.DataFrame(
        {
            "rows_in": rows_in,
            "kept": sum((count(names) for names in kept), start=pd.Series(0, index=rows_in.index)),
            "set_aside": count(set_aside),
            "duplicates": count(duplicates),
        }
    ).astype("int64")
    lost = table[table["rows_in"] != table[["kept", "set_aside", "duplicates"]].sum(axis=1)]
    if len(lost):
        raise RuntimeError(f"the account of {lost.index[0]} does not add up")
    return table.rename_axis("source").sort_index().reset_index()

"""The spot table: one row is one report of one signal, heard or worked, every time in UTC."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

COLUMNS: dict[str, Any] = {
    "time": "datetime64[us, UTC]",  # start of the report
    "band": "category",  # open-standard names: 6m, 4m, 2m, 70cm ...
    "freq_mhz": "float64",  # MHz, NaN unknown
    "mode": "category",  # CW, SSB, FT8 ...: a submode stands under its own name
    "tx_call": "str",  # who transmitted, upper case
    "rx_call": "str",  # who received; in a contact, the station whose log it is
    "tx_locator": "str",  # 4, 6 or 8 characters
    "rx_locator": "str",
    "snr_db": "float32",  # dB in 2500 Hz, NaN if none; a signal report (RST) is never put here
    "tx_power_dbm": "float32",  # dBm, NaN unknown
    "kind": "category",  # heard, worked
    "prop_mode": "category",  # the file's own propagation code, "" if none; shown, not believed
    "doubt": "str",  # why the row may be wrong, "" if nothing speaks against it
    "source": "category",  # file it came from
    "source_row": "int64",  # record or line in that file, counted from 1
}
"""Columns and dtypes that gather leaves; later stages only add to them."""

UNKNOWN: dict[str, Any] = {  # what stands where nothing is known
    "tx_call": "",
    "rx_call": "",
    "tx_locator": "",
    "rx_locator": "",
    "doubt": "",
    "prop_mode": "",
    "source_row": 0,
}
"""What stands for an unknown value where it is not NaN."""


def as_spots(rows: pd.DataFrame) -> pd.DataFrame:
    """Give rows the columns, order and dtypes of the spot table.

    Parameters
    ----------
    rows : DataFrame
        Any of the columns in `COLUMNS`; those that are absent become unknown (NaN or empty text).
        `time` must carry a time zone.

    Returns
    -------
    DataFrame
        The columns of `COLUMNS` in that order, rows in the order given, index 0..n-1.

    Raises
    ------
    ValueError
        If `time` has no time zone: naive times are refused at the door, not guessed.
    """
    if "time" in rows and getattr(rows["time"].dtype, "tz", None) is None and len(rows):
        raise ValueError("spot times have no time zone; mark them as UTC before they enter the table")
    table = pd.DataFrame(index=pd.RangeIndex(len(rows)))
    for name, dtype in COLUMNS.items():
        column = pd.Series(
            rows[name].array if name in rows else None,
            index=table.index,
            dtype=None if name in rows else "object",
        )
        column = (column.fillna(UNKNOWN[name]) if name in UNKNOWN else column).astype(dtype)
        table[name] = _in_use(column) if dtype == "category" else column
    return table


def _in_use(column: pd.Series) -> pd.Series:
    """A column of categories without those that no row has."""
    names = column.cat.categories
    count = np.bincount(column.cat.codes.to_numpy() + 1, minlength=len(names) + 1)[1:]
    return column if count.all() else column.cat.set_categories(names[count > 0])

"""Rows that no reader can use, as real exports have them: to be set aside with a reason, never lost."""

from __future__ import annotations

import numpy as np
import pandas as pd

SEED = 90210  # a stream of its own: the rows that are sound stay as they are
ROWS = 7  # of each kind in each spot table
KINDS = ("no call", "impossible time", "future date", "no band")
CLUB = {"no call": ("call heard", ""), "no band": ("MHz", "")}
REGION = {"no call": ("transmitter", ""), "no band": ("frequency kHz", "999999,0")}
LOG_ROWS = {"no call": 2, "impossible time": 1, "future date": 1}


def with_broken(rows: pd.DataFrame, *, name: str) -> pd.DataFrame:
    """A spot table as text, with broken copies of some of its rows at the end.

    Parameters
    ----------
    rows : DataFrame
        As `files.write_all` is about to write it.
    name : str
        club or region.
    """
    rng = np.random.default_rng([SEED, len(name)])
    copies = []
    for kind in KINDS:
        some = rows.iloc[np.sort(rng.choice(len(rows), ROWS, replace=False))]
        copies.append(some.assign(**_spoiled(some, kind, name=name)))
    return pd.concat([rows, *copies], ignore_index=True)


def labels(table: pd.DataFrame) -> pd.DataFrame:
    """Labels of the broken rows, in the order of `with_broken`, below those of `table`."""
    flaws = [f"broken: {kind}" for kind in KINDS for _ in range(ROWS)]
    return pd.concat([table, pd.DataFrame({"flaw": flaws})], ignore_index=True)


def log_records(records: list[str]) -> list[str]:
    """Broken copies of a few records of the log."""
    rng = np.random.default_rng([SEED, 0])
    chosen = [records[int(i)] for i in rng.choice(len(records), sum(LOG_ROWS.values()), replace=False)]
    kinds = [kind for kind, n in LOG_ROWS.items() for _ in range(n)]
    return [_spoiled_record(record, kind) for record, kind in zip(chosen, kinds, strict=True)]


def counts() -> dict[str, dict[str, int]]:
    """How many broken rows of each kind each file holds."""
    each = dict.fromkeys(KINDS, ROWS)
    return {"club_spots.csv.gz": each, "region_spots.csv.gz": each, "club_log.adi": LOG_ROWS}


def _spoiled(rows: pd.DataFrame, kind: str, *, name: str) -> dict[str, object]:
    if kind in CLUB:
        column, text = (CLUB if name == "club" else REGION)[kind]
        return {column: text}
    if name == "club":
        late = "T27:90:00Z" if kind == "impossible time" else ""
        return {"utc": rows["utc"].str[:10] + late if late else "2099" + rows["utc"].str[4:]}
    return {"time utc": "27:90:00"} if kind == "impossible time" else {"date": rows["date"].str[:6] + "2099"}


def _spoiled_record(record: str, kind: str) -> str:
    if kind == "no call":
        return record[record.index(" ") + 1 :]  # the call is the first field
    mark = "<TIME_ON:4>" if kind == "impossible time" else "<QSO_DATE:8>"
    at = record.index(mark) + len(mark)
    return record[:at] + ("2790" if kind == "impossible time" else "2099") + record[at + 4 :]

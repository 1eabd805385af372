"""Tables that are no delimited text: JSON lines and Parquet, as tables of text cells."""

from __future__ import annotations

import io
import json

import numpy as np
import pandas as pd

from analysis.gather.problems import InputError
from analysis.gather.reading.delimited import LINE_END, Table

RECORDS = "records"
DEEPEST = 2  # levels of nesting that become columns of their own


def looks_like_json(text: str) -> bool:
    """Whether the text is one JSON object a line, or one list of objects."""
    start = text[:5000].lstrip()
    return (start[:1] == "{" and '"' in start) or (start[:1] == "[" and start[1:].lstrip()[:1] == "{")


def read_json(text: str, *, source: str) -> Table:
    """JSON lines, or one list of objects; a line that is no object is `odd`."""
    if text[:5000].lstrip()[:1] == "[":
        try:
            found = [(i + 1, item) for i, item in enumerate(json.loads(text))]
        except (ValueError, RecursionError) as fault:
            raise InputError(
                f"{source}: is no whole JSON ({' '.join(str(fault).split())[:80]}); export it again"
            ) from None
        odd = [(i, str(item)) for i, item in found if not isinstance(item, dict)]
        rows = [(i, item) for i, item in found if isinstance(item, dict)]
    else:
        rows, odd = _json_lines(text)
    flat = [dict(_flat(item)) for _, item in rows]
    cells = pd.DataFrame(flat, dtype="object").fillna("").astype("str").astype("category")
    lines = np.array([line for line, _ in rows], dtype="int64")
    return _table(cells, lines, odd)


def _json_lines(text: str) -> tuple[list[tuple[int, dict]], list[tuple[int, str]]]:
    rows, odd = [], []
    for number, line in enumerate(LINE_END.split(text), start=1):
        if not line.strip():
            continue
        try:
            item = json.loads(line)
        except (ValueError, RecursionError):
            item = None
        if isinstance(item, dict):
            rows.append((number, item))
        else:
            odd.append((number, line))
    return rows, odd


def _flat(item: dict, *, before: str = "", depth: int = 0):
    for name, cell in item.items():
        if isinstance(cell, dict) and depth < DEEPEST:
            yield from _flat(cell, before=f"{before}{name} ", depth=depth + 1)
        elif cell is not None and not isinstance(cell, (dict, list)):
            yield before + str(name), str(cell)


def read_parquet(data: bytes, *, source: str) -> Table:
    """A Parquet table; its rows are counted from 1."""
    import pyarrow as pa
    from pyarrow import parquet

    try:
        table = parquet.read_table(io.BytesIO(data))
        columns = {
            name: table.column(name)
            .cast(pa.string(), safe=False)
            .fill_null("")
            .dictionary_encode()
            .to_pandas()
            for name in dict.fromkeys(table.column_names)
            if not pa.types.is_nested(table.schema.field(name).type)
        }
    except (pa.ArrowException, OSError, KeyError) as fault:
        raise InputError(
            f"{source}: cannot be read as Parquet ({' '.join(str(fault).split())[:80]}); write it again"
        ) from None
    cells = pd.DataFrame(columns, dtype="category")
    return _table(cells, np.arange(1, len(cells) + 1), [])


def _table(cells: pd.DataFrame, lines: np.ndarray, odd: list[tuple[int, str]]) -> Table:
    return Table(
        cells=cells,
        lines=lines,
        header=True,
        delimiter=RECORDS,
        headings=pd.DataFrame({"line": [], "text": []}),
        odd=pd.DataFrame(odd, columns=pd.Index(["line", "found"])),
    )

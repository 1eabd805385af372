"""Tables that are no delimited text: JSON lines and Parquet, as tables of text cells."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Iterator
from typing import Any

import numpy as np
import pandas as pd

from analysis.gather.problems import InputError, one_line
from analysis.gather.reading.delimited import LINE_END, Table, refuse_wide

RECORDS = "records"
MOST_ROWS = 20_000_000  # beyond, memory would not do
BETWEEN = re.compile(r"[\s,]*")  # items of a list
DEEPEST = 2  # levels of nesting that become columns of their own


def looks_like_json(text: str) -> bool:
    """Whether the text is one JSON object a line, or one list of objects."""
    start = text[:5000].lstrip()
    return (start[:1] == "{" and '"' in start) or (start[:1] == "[" and start[1:].lstrip()[:1] == "{")


def read_json(text: str, *, source: str) -> Table:
    """JSON lines, or one list of objects; a line that is no object is `odd`."""
    rows: list[tuple[int, dict[str, str]]] = []
    odd: list[tuple[int, str]] = []
    names: set[str] = set()
    for line, written, item in _listed(text, source=source) if _is_list(text) else _lines(text):
        if isinstance(item, dict):
            rows.append((line, dict(_flat(item))))
            names |= rows[-1][1].keys()
            refuse_wide(len(names), source=source)
        else:
            odd.append((line, written))
    cells = pd.DataFrame([row for _, row in rows], dtype="object").fillna("").astype("str").astype("category")
    lines = np.array([line for line, _ in rows], dtype="int64")
    return _table(cells, lines, odd)


def _is_list(text: str) -> bool:
    return text[:5000].lstrip()[:1] == "["


def _listed(text: str, *, source: str) -> Iterator[tuple[int, str, Any]]:
    """Number, text and value of each item of a list; one at a time, for the whole may be too large."""
    decoder, at, number = json.JSONDecoder(), text.index("[") + 1, 0
    while text[(at := BETWEEN.match(text, at).end()) : at + 1] != "]":  # type: ignore[union-attr]
        try:
            item, end = decoder.raw_decode(text, at)
        except (ValueError, RecursionError) as fault:
            raise InputError(f"{source}: is no whole JSON ({one_line(fault)}); export it again") from None
        number += 1
        yield number, text[at : min(end, at + 100)], item
        at = end


def _lines(text: str) -> Iterator[tuple[int, str, Any]]:
    """Number, text and value of each line, None where it has none."""
    for number, line in enumerate(LINE_END.split(text), start=1):
        if line.strip():
            try:
                item = json.loads(line)
            except (ValueError, RecursionError):
                item = None
            yield number, line, item


def _flat(item: dict, *, before: str = "", depth: int = 0) -> Iterator[tuple[str, str]]:
    """Names and cells of an object; halves of characters, which JSON can spell out, become question marks."""
    for name, cell in item.items():
        if isinstance(cell, dict) and depth < DEEPEST:
            yield from _flat(cell, before=f"{before}{name} ", depth=depth + 1)
        elif cell is not None and not isinstance(cell, (dict, list)):
            yield _whole_letters(before + name), _whole_letters(str(cell))


def _whole_letters(text: str) -> str:
    return text if text.isascii() else text.encode("utf-8", "replace").decode("utf-8")


def read_parquet(data: bytes, *, source: str) -> Table:
    """A Parquet table; its rows are counted from 1."""
    import pyarrow as pa
    from pyarrow import parquet

    try:
        about = parquet.read_metadata(io.BytesIO(data))
        refuse_wide(about.num_columns, source=source)
        if about.num_rows > MOST_ROWS:
            raise InputError(
                f"{source}: has {about.num_rows} rows; split it into files of {MOST_ROWS} at most"
            )
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
        raise InputError(f"{source}: cannot be read as Parquet ({one_line(fault)}); write it again") from None
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

"""Delimited text of any shape as a table of text cells, each row with its line in the file."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from dataclasses import dataclass

import numpy as np
import pandas as pd

DELIMITERS = "\t;,|"
COMMENT = re.compile(r"^\s*(?:#|//|!|%|--)")
LINE_END = re.compile(r"\r\n|\n|\r")
SAMPLE_LINES = 400
QUOTED_LINES = 20


@dataclass(frozen=True)
class Table:
    """Cells of a file as text.

    `cells`: one categorical column of text per column of the file, named by the header or 0..n-1;
    `lines`: line in the file of each row, from 1; `header`: whether a header names the columns;
    `heading`: lines above the table; `odd`: rows with too many or too few cells (`line found`).
    """

    cells: pd.DataFrame
    lines: np.ndarray
    header: bool
    heading: tuple[str, ...]
    odd: pd.DataFrame


def read_table(text: str) -> Table:
    """Read delimited or blank-separated text.

    Comment lines and blank lines are no rows. The usual number of cells is the width of the table;
    shorter and longer rows are filled or cut if only empty cells differ, otherwise they are `odd`.
    """
    head = LINE_END.split(text[:200_000])[:SAMPLE_LINES]
    delimiter = find_delimiter(head)
    width, skip = _shape(head, delimiter)
    header = _is_header(_split(head[skip], delimiter)) if skip < len(head) else False
    heading = tuple(line for line in head[:skip] if line.strip())
    names = _names(_split(head[skip], delimiter)) if header else [str(i) for i in range(width)]
    cells = _quick(text, delimiter, width=len(names), skip=skip + header)
    odd = pd.DataFrame({"line": [], "found": []})
    if cells is not None:
        cells.columns = pd.Index(names)
        lines = np.arange(skip + header + 1, skip + header + 1 + len(cells))
    else:
        cells, lines, odd = _patient(text, delimiter, names=names, skip=skip + header)
    return Table(cells=cells, lines=lines, header=header, heading=heading, odd=odd)


def find_delimiter(lines: list[str]) -> str:
    """The character that splits most lines into the same number of cells, `" "` for runs of blanks."""
    lines = [line for line in lines if line.strip() and not COMMENT.match(line)]
    best, best_score = ",", 0.0
    for delimiter in DELIMITERS + " ":
        widths = Counter(len(_split(line, delimiter)) for line in lines)
        width, count = widths.most_common(1)[0] if widths else (0, 0)
        score = 0.0 if width < 3 else count / len(lines) * (0.6 if delimiter == " " else 1) + width / 1000
        if score > best_score:
            best, best_score = delimiter, score
    return best


def _split(line: str, delimiter: str) -> list[str]:
    if delimiter == " ":
        return line.split()
    if line.count('"') and line.count('"') % 2 == 0:
        try:
            row = next(csv.reader(io.StringIO(line, newline=""), delimiter=delimiter), [])
        except csv.Error:  # a cell longer than any honest one
            row = line.split(delimiter)
        return [cell.strip() for cell in row]
    return [cell.strip() for cell in line.split(delimiter)]


def _shape(lines: list[str], delimiter: str) -> tuple[int, int]:
    """Usual number of cells, and the index of the first line that has it."""
    cells = [
        (i, _split(line, delimiter))
        for i, line in enumerate(lines)
        if line.strip() and not COMMENT.match(line)
    ]
    if not cells:
        return 0, len(lines)
    width = Counter(len(row) for _, row in cells).most_common(1)[0][0]
    first = next(i for i, row in cells if len(row) >= min(width, 2) and sum(map(bool, row)) > 1)
    return width, first


def _is_header(cells: list[str]) -> bool:
    """A header is made of words: no cell but a name may hold a number."""
    filled = [cell for cell in cells if cell]
    words = [cell for cell in filled if re.match(r"[^\W\d]", cell) and not re.search(r"\d{3}", cell)]
    return len(words) == len(filled) > 0 and not any(
        re.fullmatch(r"[A-R]{2}\d\d\w*", cell) for cell in filled
    )


def _names(cells: list[str]) -> list[str]:
    names: list[str] = []
    for i, cell in enumerate(cells):
        name = cell or f"column {i + 1}"
        names.append(name if name not in names else f"{name} ({i + 1})")
    return names


def _quick(text: str, delimiter: str, *, width: int, skip: int) -> pd.DataFrame | None:
    """The whole file by Arrow, or None where a row is not as wide as the others or lines are not rows."""
    import pyarrow as pa
    import pyarrow.csv as arrow_csv

    data = text.encode()
    n_lines = data.count(b"\n") + (not data.endswith(b"\n"))
    if delimiter == " " or n_lines <= skip:
        return None
    kinds = {str(i): pa.dictionary(pa.int32(), pa.string()) for i in range(width)}
    try:
        table = arrow_csv.read_csv(
            pa.py_buffer(data),
            read_options=arrow_csv.ReadOptions(column_names=list(kinds), skip_rows=skip, block_size=8 << 20),
            parse_options=arrow_csv.ParseOptions(delimiter=delimiter, ignore_empty_lines=True),
            convert_options=arrow_csv.ConvertOptions(column_types=kinds, strings_can_be_null=False),
        )
    except pa.ArrowInvalid:
        return None
    if table.num_rows != n_lines - skip:
        return None
    cells = table.unify_dictionaries().to_pandas()
    first_cells = pd.Series(cells["0"].cat.categories).astype("str")
    return None if first_cells.str.match(COMMENT).any() else cells


def _patient(text: str, delimiter: str, *, names: list[str], skip: int):
    """Row by row, for files whose lines differ: `cells`, `lines`, `odd`."""
    width = len(names)
    kept, lines, odd = [], [], []
    for line, row in _rows(text, delimiter):
        if line <= skip or not any(row) or COMMENT.match(row[0]):
            continue
        if len(row) > width and any(row[width:]):
            odd.append((line, delimiter.join(row)))
        else:
            kept.append(row[:width] + [""] * (width - len(row)))
            lines.append(line)
    cells = pd.DataFrame(kept, columns=pd.Index(names), dtype="str").astype("category")
    return cells, np.array(lines, dtype="int64"), pd.DataFrame(odd, columns=pd.Index(["line", "found"]))


def _rows(text: str, delimiter: str):
    """Each row's first line in the file and its cells; a quoted cell may run over a few lines."""
    lines = LINE_END.split(text)
    at = 0
    while at < len(lines):
        row, number = lines[at], at + 1
        if '"' in row and delimiter != " ":
            for more in range(QUOTED_LINES):  # a quote that is never closed is a mere character
                joined = "\n".join(lines[at : at + 1 + more])
                if joined.count('"') % 2 == 0:
                    row, at = joined, at + more
                    break
        yield number, _split(row, delimiter)
        at += 1

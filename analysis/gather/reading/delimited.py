"""Delimited text of any shape as a table of text cells, each row with its line in the file."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.gather.cells import kinds, times, values
from analysis.gather.problems import InputError
from analysis.gather.reading import fixed_places as layout

DELIMITERS = "\t;,|"
BLANKS = " "  # runs of blanks separate the cells
LAID_OUT = ("", BLANKS, "|")  # what separates the cells of a table laid out for the eye, at first sight
COMMENT_SIGNS = ("#", "//", "!", "%", "--")
COMMENT = re.compile(r"^\s*(?:#|//|!|%|--)")
LINE_END = re.compile(r"\r\n|\n|\r")
MOST_COLUMNS = 500  # judgement: wider is no table of reports
HEAD = 200_000  # bytes and
SAMPLE_LINES = 400  # lines that tell the shape of a table
QUOTED_LINES = 20  # judgement: a remark is no longer


@dataclass(frozen=True)
class Table:
    """Cells of a file as text.

    `cells`: one column of text (categories) per column of the file, named by the header or 0..n-1;
    `lines`: line in the file of each row, from 1; `header`: whether a header names the columns;
    `delimiter`; `headings`: `line text` of lines that are no rows (titles, comments, dates between
    rows); `odd`: `line found` of rows with too many cells or too few.
    """

    cells: pd.DataFrame
    lines: np.ndarray
    header: bool
    delimiter: str
    headings: pd.DataFrame
    odd: pd.DataFrame


def refuse_wide(columns: int, *, source: str) -> None:
    """InputError where a table has more columns than any table of spots."""
    if columns > MOST_COLUMNS:
        raise InputError(
            f"{source}: has {columns} columns; a table of spots has at most {MOST_COLUMNS}, export those alone"
        )


def read_table(text: str | bytes, *, source: str = "table") -> Table:
    """Read delimited or blank-separated text, as characters or as UTF-8.

    Blank lines, comment lines, titles above the table and dates that stand alone are no rows. The
    usual number of cells is the width of the table; a shorter row is filled with empty cells (where
    only blanks separate them nobody can say which ones are missing, and it is `odd`), a longer one
    loses empty cells at its end or is `odd`. A header that is repeated further down is no row.
    """
    data = text.encode("utf-8", "replace") if isinstance(text, str) else text
    head = _head(data)
    delimiter = find_delimiter(head)
    if delimiter in LAID_OUT:
        data = layout.plain(data.decode("utf-8")).encode("utf-8")
        head = _head(data)
        delimiter = find_delimiter(head) or ","
    width, skip = _shape(head, delimiter)
    refuse_wide(width, source=source)
    first = _split(head[skip], delimiter) if skip < len(head) else []
    header = bool(first) and not kinds.any_data(first)
    above = [(i + 1, COMMENT.sub("", line).strip()) for i, line in enumerate(head[:skip]) if line.strip()]
    names = _names(first) if header else [str(i) for i in range(width)]
    start = skip + header
    behind_comment = _split(above[-1][1], delimiter) if above and not header else []
    if len(behind_comment) == width and not kinds.any_data(behind_comment):
        header, names = True, _names(behind_comment)
        above.pop()
    quick = _quick(data, delimiter, names=names, skip=start)
    if quick is None:
        return _patient(data.decode("utf-8"), delimiter, names=names, skip=start, header=header, above=above)
    lines = np.arange(start + 1, start + 1 + len(quick))
    return Table(quick, lines, header, delimiter, _headings(above), pd.DataFrame({"line": [], "found": []}))


def _head(data: bytes) -> list[str]:
    return LINE_END.split(data[:HEAD].decode("utf-8", "replace"))[:SAMPLE_LINES]


def find_delimiter(lines: list[str]) -> str:
    """The character that splits most lines into equally many cells, `BLANKS` for runs of blanks, "" if none does."""
    lines = [line for line in lines if line.strip() and not COMMENT.match(line)]
    best, best_score = "", 0.0
    for delimiter in DELIMITERS + BLANKS:
        widths = Counter(len(_split(line, delimiter)) for line in lines)
        width, count = widths.most_common(1)[0] if widths else (0, 0)
        share = count / len(lines) * (0.6 if delimiter == BLANKS else 1) if lines else 0.0
        score = share + width / 1000 if width > 1 else 0.0
        if score > best_score:
            best, best_score = delimiter, score
    return best


def _split(line: str, delimiter: str) -> list[str]:
    if delimiter == BLANKS:
        return line.split()
    if line.count('"') and line.count('"') % 2 == 0:
        try:
            row = next(csv.reader(io.StringIO(line, newline=""), delimiter=delimiter), [])
        except csv.Error:  # a cell longer than any honest one
            row = line.split(delimiter)
        return [cell.strip() for cell in row]
    return [cell.strip() for cell in line.split(delimiter)]


def _shape(lines: list[str], delimiter: str) -> tuple[int, int]:
    """Usual number of cells, and the index of the first line with two filled cells of about that many."""
    rows = [
        (i, _split(line, delimiter))
        for i, line in enumerate(lines)
        if line.strip() and not COMMENT.match(line)
    ]
    if not rows:
        return 0, len(lines)
    width = Counter(len(row) for _, row in rows).most_common(1)[0][0]
    for i, row in rows:
        if (
            sum(map(bool, row)) >= min(width, 2)
            and len(row) >= max(width - 2, 1)
            and not _is_date(lines[i], delimiter)
        ):
            return width, i
    return width, len(lines)


def _is_date(line: str, delimiter: str) -> bool:
    """Whether a line holds a date and nothing else."""
    bare = line.strip().strip(delimiter + '"').strip()
    return (
        bool(re.fullmatch(r"[\w./, -]{5,20}", bare))
        and bool(re.search(r"[0-9]", bare))
        and bool(times.dates(pd.Series([bare], dtype="str")).notna().iloc[0])
    )


def _names(cells: list[str]) -> list[str]:
    names: list[str] = []
    for i, cell in enumerate(cells):
        name = cell or f"column {i + 1}"
        names.append(name if name not in names else f"{name} ({i + 1})")
    return names


def _headings(found: list[tuple[int, str]]) -> pd.DataFrame:
    return pd.DataFrame(found, columns=pd.Index(["line", "text"]))


def _quick(data: bytes, delimiter: str, *, names: list[str], skip: int) -> pd.DataFrame | None:
    """The whole file by Arrow, or None where a row is not as wide as the others or lines are not rows."""
    import pyarrow as pa
    import pyarrow.csv as arrow_csv

    if delimiter == BLANKS or len(names) < 2:
        return None
    tail = data[-HEAD:]
    end = len(data) - len(tail) + len(tail.rstrip(b"\r\n"))
    kinds_of = {str(i): pa.string() for i in range(len(names))}
    try:
        table = arrow_csv.read_csv(
            pa.py_buffer(data).slice(0, end),
            read_options=arrow_csv.ReadOptions(
                column_names=list(kinds_of), skip_rows=skip, block_size=8 << 20
            ),
            parse_options=arrow_csv.ParseOptions(delimiter=delimiter, ignore_empty_lines=False),
            convert_options=arrow_csv.ConvertOptions(column_types=kinds_of, strings_can_be_null=False),
        )
    except pa.ArrowInvalid:
        return None
    if b'"' in data and table.num_rows != data.count(b"\n", 0, end) + 1 - skip:
        return None  # a quoted cell runs over several lines
    with ThreadPoolExecutor(pa.cpu_count()) as pool:
        cells = pd.DataFrame(dict(enumerate(pool.map(_coded, table.columns))), copy=False)
    first_cells = values.distinct(cells[0])
    if (
        first_cells.eq(names[0]).any()
        or first_cells.str.startswith(COMMENT_SIGNS).any()
        or (len(names) > 2 and _lone_cells(cells))
    ):
        return None
    return cells.set_axis(pd.Index(names), axis="columns")


def _coded(column):
    """An Arrow column of text as categories, or as text where few cells repeat; both keep Arrow's text."""
    import pyarrow as pa

    text = pa.table({"text": column}).to_pandas()["text"]
    if values.mostly_distinct(text):
        return text.array
    coded = column.dictionary_encode().unify_dictionaries().combine_chunks()
    texts = pa.table({"text": coded.dictionary}).to_pandas()["text"]
    return pd.Categorical.from_codes(coded.indices.to_numpy(zero_copy_only=False), categories=pd.Index(texts))


def _lone_cells(cells: pd.DataFrame) -> bool:
    """Whether any row has only one filled cell: it may be a date that stands alone."""
    filled = np.zeros(len(cells), dtype="int16")
    for name in cells:
        filled += cells[name].ne("").to_numpy()
        if filled.min(initial=2) > 1:
            return False
    return bool((filled < 2).any())


def _patient(text: str, delimiter: str, *, names: list[str], skip: int, header: bool, above: list) -> Table:
    """Row by row, for files whose lines differ."""
    width = len(names)
    kept, lines, odd, headings = [], [], [], list(above)
    for line, row in _rows(text, delimiter):
        if line <= skip or not any(row):
            continue
        joined = delimiter.join(row)
        if (
            COMMENT.match(row[0])
            or row == names
            or (sum(map(bool, row)) < min(width, 4) and _is_date(joined, delimiter))
        ):
            headings.append((line, COMMENT.sub("", joined).strip(delimiter + " ")))
        elif (len(row) > width and any(row[width:])) or (delimiter == BLANKS and len(row) < width):
            odd.append((line, joined))
        else:
            kept.append(row[:width] + [""] * (width - len(row)))
            lines.append(line)
    cells = pd.DataFrame(kept, columns=pd.Index(names), dtype="str").astype("category")
    found = pd.DataFrame(odd, columns=pd.Index(["line", "found"]))
    return Table(cells, np.array(lines, dtype="int64"), header, delimiter, _headings(headings), found)


def _rows(text: str, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """Each row's first line in the file and its cells; a quoted cell may run over a few lines."""
    lines = LINE_END.split(text)
    at = 0
    while at < len(lines):
        row, number = lines[at], at + 1
        if '"' in row and delimiter != BLANKS:
            for more in range(QUOTED_LINES):  # a quote that is never closed is a mere character
                joined = "\n".join(lines[at : at + 1 + more])
                if joined.count('"') % 2 == 0:
                    row, at = joined, at + more
                    break
        yield number, _split(row, delimiter)
        at += 1

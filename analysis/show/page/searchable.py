"""Tables to read in a notebook and on the page: escaped, searchable when long, plain where no script runs."""

from __future__ import annotations

from html import escape
from itertools import repeat
from pathlib import Path

import pandas as pd
from IPython.display import HTML

from analysis.show.wording import words

SCRIPT = (Path(__file__).parent / "templates" / "searchable.js").read_text(encoding="utf-8")
SEARCH_FROM = 10  # rows; fewer are found by eye
MOST = 200  # rows that a page can bear
FRAME = '<div style="overflow: auto; max-height: 26em">'
LEFT = ' style="text-align: left"'  # JupyterLab would put text on the right
RIGHT = ' class="number"'  # for the page, which puts it on the left
TIME = ' class="time" style="text-align: left; white-space: nowrap"'


def listed(table: pd.DataFrame, *, digits: int = 0, file: str = "") -> HTML:
    """A table to read: plain headings, no row numbers, thousands apart, times to the minute, text escaped.

    From ten rows on it has a search box and heads to sort by, where scripts may run.

    Parameters
    ----------
    table : DataFrame
        Finished rows in the order to show them, the ones that matter most in front: a long table is cut.
    digits : int
        Decimals of the numbers that are not whole.
    file : str, optional
        File among the review's tables that holds all rows; a table that is cut names it.
    """
    if table.empty:
        return HTML("<p>no rows</p>")
    columns = [table[name] for name in table.columns]
    looks = [_look(column) for column in columns]
    names = [str(name).replace("_", " ") for name in table.columns]
    heads = "".join(map(_cell, repeat("th"), names, looks))
    cells = zip(*(_texts(column.head(MOST), digits) for column in columns), strict=True)
    rows = "\n".join(f"<tr>{''.join(map(_cell, repeat('td'), row, looks))}</tr>" for row in cells)
    long = len(table) >= SEARCH_FROM
    mark = ' class="searchable"' if long else ""
    html = f"{FRAME}<table{mark}><thead><tr>{heads}</tr></thead><tbody>\n{rows}\n</tbody></table></div>"
    return HTML(html + _cut(len(table), file) + (f"<script>{SCRIPT}</script>" if long else ""))


def _cut(rows: int, file: str) -> str:
    """What a table that was cut says below itself."""
    if rows <= MOST:
        return ""
    where = f"; all of them are in tables/{escape(file)}" if file else ""
    return f"<p>The first {MOST} of {words.count(rows)} rows{where}.</p>"


def _look(column: pd.Series) -> str:
    """Attributes of a column's cells."""
    if pd.api.types.is_datetime64_any_dtype(column):
        return TIME
    return RIGHT if pd.api.types.is_numeric_dtype(column) else LEFT


def _cell(tag: str, text: str, look: str) -> str:
    return f"<{tag}{look}>{escape(text)}</{tag}>"


def _texts(column: pd.Series, digits: int) -> list[str]:
    """Cells of a column as a reader wants them; unknown is a dash."""
    if pd.api.types.is_datetime64_any_dtype(column):  # without a zone it is a day of the calendar
        column = column.dt.strftime("%Y-%m-%d" if column.dt.tz is None else "%Y-%m-%d %H:%M")
    elif pd.api.types.is_float_dtype(column):
        column = column.map(f"{{:,.{digits}f}}".format, na_action="ignore")
    elif pd.api.types.is_integer_dtype(column) and column.name not in ("season", "year"):
        column = column.map("{:,}".format, na_action="ignore")
    return ["–" if pd.isna(value) else str(value) for value in column.astype("object")]

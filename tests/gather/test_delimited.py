"""Delimited text read at once, and the lines its rows are found in."""

import pytest

from analysis.gather.reading import delimited as tables

HEAD = "time,freq,tx call,rx call\n"
ROWS = [f"2024-06-09 14:{i:02},50.313,Q2AB,Q1OWN" for i in range(5)]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("last", ["", "\n", "\n\n\n"])
def test_lines_of_rows(end, last):
    """Whatever ends the lines and however many empty ones follow, each row has its own line."""
    text = (HEAD + "\n".join(ROWS) + last).replace("\n", end)
    got = tables.read_table(text.encode())
    assert got.lines.tolist() == [2, 3, 4, 5, 6]
    assert got.cells["time"].astype("str").str[-2:].tolist() == ["00", "01", "02", "03", "04"]


@pytest.mark.parametrize("between", ["", "# a note", '"2024-06-09\n 15:00",50.3,Q2AB,Q1OWN'])
def test_a_line_between_that_is_no_row(between):
    """Behind an empty line, a comment or a cell of two lines, rows are still found in their own line."""
    text = HEAD + "\n".join([*ROWS[:2], between, *ROWS[2:]]) + "\n"
    got = tables.read_table(text)
    assert got.lines.tolist()[-3:] == [5 + ("\n" in between) + i for i in range(3)]

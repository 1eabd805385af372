"""Tables to read: escaped, cut with a word about it, searchable when long."""

import numpy as np
import pandas as pd

from analysis.show.page.safe_html import clean
from analysis.show.page.searchable import MOST, SEARCH_FROM, listed


def test_escapes_and_formats():
    """Untrusted text cannot become markup; numbers get thousands apart; times go to the minute."""
    table = pd.DataFrame(
        {
            "tx_<i>call": ["<b>QA1AA</b>"],
            "rows": [12345],
            "km": [1234.56],
            "season": [2024],
            "time": pd.to_datetime(["2024-06-10 10:15:30+00:00"]),
            "day": pd.to_datetime(["2024-06-11"]),
        }
    )
    html = listed(table, digits=1).data
    assert "&lt;b&gt;QA1AA" in html
    assert "tx &lt;i&gt;call" in html
    assert "<b>" not in html
    assert "<i>" not in html
    assert all(
        f">{text}<" in html for text in ("12,345", "1,234.6", "2024", "2024-06-10 10:15", "2024-06-11")
    )


def test_unknown_is_a_dash():
    """A value that is not there is shown as one sign, whatever its kind."""
    table = pd.DataFrame(
        {"a": [np.nan, 1.0], "b": pd.array([pd.NA, 2], "Int64"), "c": [None, "x"], "d": pd.NaT}
    )
    assert listed(table).data.count(">–<") == 5


def test_long_table_is_cut_and_says_so():
    """Two hundred rows at most, with where the others are."""
    html = listed(pd.DataFrame({"n": range(MOST + 1)}), file="openings.csv").data
    assert html.count("<td") == MOST
    assert f"The first {MOST} of 201 rows; all of them are in tables/openings.csv." in html


def test_search_only_where_it_helps():
    """A table that the eye takes in at once has no search box; an empty one is said to be empty."""
    assert "searchable" not in listed(pd.DataFrame({"n": range(SEARCH_FROM - 1)})).data
    assert '<table class="searchable">' in listed(pd.DataFrame({"n": range(SEARCH_FROM)})).data
    assert listed(pd.DataFrame({"n": []})).data == "<p>no rows</p>"


def test_page_keeps_the_mark_and_drops_the_script():
    """The page has a script of its own: of the table it keeps what is needed to find and to align it."""
    safe = clean(listed(pd.DataFrame({"n": range(SEARCH_FROM), "call": "QA1AA"})).data, name="Table: calls")
    assert '<table class="searchable">' in safe
    assert '<th class="number" scope="col">n</th>' in safe
    assert 'aria-label="Table: calls"' in safe
    assert "<script" not in safe
    assert "style" not in safe

"""Days of a log: contacts, squares, firsts, the longest path that can be believed."""

import pandas as pd

from analysis.find.diary.worked import worked_days
from tests.find.make import at, tagged


def test_days_of_a_log():
    """Two days: squares once each, firsts on the first day only, a doubtful contact nowhere."""
    squares = ["JO60", "JO60", "JN05", "IO91", "JO60", "FF99"]
    rows = at(
        [0, 5, 10, 15, 1500, 1505],
        kind="worked",
        tx_locator=squares,
        distance_km=[1200.0, 1200.0, 300.0, 900.0, 1200.0, 9000.0],
        mechanism=["ES", "ES", "TR", "ES", "ES", "ES"],
    )
    spots = tagged(rows)
    spots["doubt"] = ["", "", "", "", "", "wrong locator likeliest"]
    table = worked_days(spots)
    assert table["n_contacts"].tolist() == [4, 1]
    assert table["n_squares"].tolist() == [3, 1]
    assert table["n_new"].tolist() == [3, 0]
    assert table["new_squares"].tolist() == ["IO91, JN05, JO60", ""]
    assert table["max_km"].tolist() == [1200.0, 1200.0]
    assert table["farthest"].tolist() == ["JO60", "JO60"]
    assert table["mechanism"].tolist() == ["ES", "ES"]


def test_many_new_squares_are_cut():
    rows = at(range(5), kind="worked", tx_locator=["JO60", "JO61", "JO62", "JO63", "JO64"])
    assert worked_days(tagged(rows))["new_squares"].tolist() == ["JO60, JO61, JO62 and 2 more"]


def test_a_first_is_of_its_band():
    rows = at([0, 5], kind="worked", tx_locator="JO60", band=["6m", "2m"])
    assert worked_days(tagged(rows))["n_new"].tolist() == [1, 1]


def test_without_contacts_or_squares():
    """Reports heard are no contacts; a contact without a square counts as a contact and no more."""
    assert worked_days(tagged(at([0]))).empty
    bare = tagged(at([0], kind="worked", tx_locator="", distance_km=float("nan")))
    row = worked_days(bare).iloc[0]
    assert (row["n_contacts"], row["n_squares"], row["farthest"]) == (1, 0, "")
    assert pd.isna(row["max_km"])

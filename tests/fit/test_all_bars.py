"""The table of the bars says which is met and which is missed."""

import pytest

from benchmarks import __main__ as table


@pytest.fixture
def parts(monkeypatch):
    """The dear parts stand still; bars 1 and 12 are measured in earnest."""
    steady = [("recall", "0.99", ">= 0.95", True)]
    cheap = {number: lambda share: iter(steady) for number in table.OF_FIT} | {
        1: table.fit.exactness,
        12: lambda share: [table.fit.at_most("seconds", 11.0, 10)],
    }
    monkeypatch.setattr(table, "OF_FIT", cheap)
    monkeypatch.setattr(table, "of_windows", lambda share: (steady, steady))
    monkeypatch.setattr(table.nature, "bars", lambda share: dict.fromkeys(range(13, 17), steady))
    monkeypatch.setattr(table.signs, "parts", lambda sets: steady)
    monkeypatch.setattr(table, "of_find", lambda share: steady)
    monkeypatch.setattr(table, "of_tag", lambda share: steady)


def test_every_row_and_what_misses_is_called_missed(parts):
    """Numbers 1 to 17 in order; a fit that takes eleven seconds misses its bar of ten, the others do not."""
    found = table.bars(1 / 8).set_index("number")
    assert found.index.tolist() == list(range(1, 18))
    assert found.loc[12, "verdict"] == "MISSED"
    assert found.loc[12, "measured"] == "seconds 11 (<= 10)"
    assert found.drop(12)["verdict"].eq("met").all()


def test_one_part_that_misses_misses_the_bar():
    """A bar of three parts with one beyond its bar is missed and names that part; values without a bar are left out."""
    parts = [
        ("recall", "0.9", ">= 0.95", False),
        ("hours", "0.9", "0.8 to 1.1", True),
        ("splits", "3", "(no bar)", True),
    ]
    assert table.row(9, parts)["verdict"] == "MISSED"
    assert table.row(9, parts)["parts"] == "1/2"
    assert table.row(9, parts)["measured"] == "recall 0.9 (>= 0.95)"

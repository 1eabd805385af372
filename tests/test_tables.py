"""Finished tables come back from a folder as they were left there, full or empty."""

import csv
import os
import time
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from analysis import tables


def csv_tables(finished):
    """Each table kept as CSV, by name."""
    return {name: getattr(finished, name) for name in tables._csv_names()}


def kind(column):
    """Words, numbers, times or truth: what code may do with a column."""
    if isinstance(column.dtype, pd.CategoricalDtype) or column.dtype in ("str", "object"):
        return "words"
    return "times" if column.dtype.kind == "M" else "numbers"


def test_every_column_of_words_is_known_as_such(season):
    """A new column of words must be named in TEXT, or an empty table would read it as numbers."""
    found = {c for table in csv_tables(season).values() for c in table.columns if kind(table[c]) == "words"}
    assert found == set(tables.TEXT)


def test_tables_without_rows_keep_the_kind_of_each_column(season, tmp_path):
    """A review in which nothing opened is read like one in which much did."""
    bare = replace(season, **{name: table.iloc[:0] for name, table in csv_tables(season).items()})
    tables.save(bare, tmp_path)
    read = csv_tables(tables.load(tmp_path))
    for name, table in csv_tables(season).items():
        assert {c: kind(read[name][c]) for c in read[name]} == {c: kind(table[c]) for c in table}, name


HOSTILE = ["=1+1", "+1", "-1", "@SUM(A1)", "\tx", "'quoted", "''", "plain", "", "＝1+1", "a=b"]


def test_no_cell_is_a_formula(tmp_path):
    """A cell that a spreadsheet would run begins with an apostrophe on disk, and is itself again when read."""
    n = len(HOSTILE)
    columns = {"source": HOSTILE, "field": HOSTILE, "found": HOSTILE, "reason": HOSTILE, "repair": HOSTILE}
    bad = pd.DataFrame(columns, dtype="str").assign(source_row=range(-1, n - 1))
    tables.write_csv(bad, tmp_path / "set_aside.csv")
    with (tmp_path / "set_aside.csv").open(encoding="utf-8", newline="") as stream:
        cells = [row["found"] for row in csv.DictReader(stream)]
    assert cells == [f"'{cell}" if cell[:1] in tuple("=+-@\t'＝") else cell for cell in HOSTILE]
    read = tables._read_csv(tmp_path / "set_aside.csv")
    pd.testing.assert_frame_equal(read, bad, check_dtype=False)


@pytest.mark.parametrize("kind", ["str", "object", "category"])
def test_every_kind_of_words_is_guarded(kind, tmp_path):
    """Numbers and dates below zero or without a value stay what they are."""
    table = pd.DataFrame({"words": pd.Series(["=1", None, "b"], dtype=kind), "number": [-1.5, None, 2.0]})
    tables.write_csv(table, tmp_path / "a.csv")
    assert (tmp_path / "a.csv").read_text() == "words,number\n'=1,-1.5\n,\nb,2.0\n"


def test_every_csv_is_written_in_one_way():
    """No other module writes a CSV, so none can forget the apostrophe."""
    package = Path(tables.__file__).parent
    writers = [path.name for path in package.rglob("*.py") if "to_csv(" in path.read_text(encoding="utf-8")]
    assert writers == ["tables.py"]


def test_what_was_saved_is_read(season, tmp_path):
    """Every table, to the last digit."""
    tables.save(season, tmp_path)
    read = csv_tables(tables.load(tmp_path))
    for name, table in csv_tables(season).items():
        pd.testing.assert_frame_equal(read[name], table, check_dtype=False, check_exact=True)
        assert not table[table.columns[table.columns.isin(tables.TEXT)]].isna().any(axis=None), name


def test_doubts_can_be_read_by_a_person(tmp_path):
    """Rows kept with a doubt, and no others, stand in a file of their own, no cell of it a formula."""
    told = {"tx_call": ["Q2AB", "Q2AC", "Q2AD"], "doubt": ["", "odd", "=1+1"]}
    spots = pd.DataFrame(dict.fromkeys(tables.DOUBTED, ["x"] * 3) | told)
    tables.write_doubts(spots, tmp_path)
    with (tmp_path / "doubts.csv").open(encoding="utf-8", newline="") as stream:
        read = list(csv.DictReader(stream))
    assert [(row["tx_call"], row["doubt"]) for row in read] == [("Q2AC", "odd"), ("Q2AD", "'=1+1")]


def test_kept_tables_of_other_code_go_after_a_week(tmp_path, monkeypatch):
    """Ours that nobody used for a week go, half-made ones too; newer ones and what is not ours stay."""
    monkeypatch.setattr(tables, "save", lambda found, folder: (folder / "about.json").write_text("{}"))
    monkeypatch.setattr(tables, "load", lambda folder: folder.name)
    now = time.time()
    for name, days in {
        "demo-0123456789ab": 8,
        "demo-00112233aabb": 6,
        ".half-demo-x1y2z3": 8,
        "demo-mine": 80,
        "notes": 80,
    }.items():
        (tmp_path / name).mkdir()
        os.utime(tmp_path / name, (now - 86_400 * days,) * 2)
    assert tables.kept(tmp_path / "demo-ffffffffffff", dict) == "demo-ffffffffffff"
    left = {path.name for path in tmp_path.iterdir()}
    assert left == {"demo-00112233aabb", "demo-mine", "notes", "demo-ffffffffffff"}
    old = (now - 86_400 * 30,) * 2
    os.utime(tmp_path / "demo-ffffffffffff", old)
    tables.kept(tmp_path / "demo-ffffffffffff", dict)  # in use again: it is no old one
    assert (tmp_path / "demo-ffffffffffff").is_dir()

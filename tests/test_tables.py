"""Finished tables come back from a folder as they were left there, full or empty."""

from dataclasses import replace

import pandas as pd

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


def test_what_was_saved_is_read(season, tmp_path):
    """Every table, to the last digit."""
    tables.save(season, tmp_path)
    read = csv_tables(tables.load(tmp_path))
    for name, table in csv_tables(season).items():
        pd.testing.assert_frame_equal(read[name], table, check_dtype=False, check_exact=True)
        assert not table[table.columns[table.columns.isin(tables.TEXT)]].isna().any(axis=None), name

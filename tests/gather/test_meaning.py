"""Thirty invented shapes of a table: what every column means, and who transmitted."""

from functools import cache

import pytest

from analysis.gather.columns import meaning as columns
from analysis.gather.files import gather_files
from analysis.gather.problems import InputError
from analysis.gather.reading import delimited as tables
from tests.gather.shapes import SHAPES, season, truth_of, written


@cache
def _recognised(number):
    table = tables.read_table(written(season(seed=1), SHAPES[number]))
    return table, columns.recognise(table.cells, header=table.header)


def recognised(shape):
    return _recognised(SHAPES.index(shape))


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: shape.name)
def test_sides_are_right_or_asked(shape):
    """Transmitter and receiver are never exchanged: they are right, or the tool asks."""
    table, found = recognised(shape)
    assert bool(found.question) == shape.asks, found
    truth = dict(zip(table.cells.columns, truth_of(shape), strict=True))
    for column, meaning in found.meaning.items():
        if meaning[:3] in ("tx_", "rx_") and not found.question:
            assert truth[column] == meaning, (column, meaning)


def test_columns_are_recognised():
    """At least 95 of 100 columns of the shapes that need no question have their true meaning."""
    right = total = 0
    for shape in SHAPES:
        if shape.asks:
            continue
        table, found = recognised(shape)
        for column, meaning in zip(table.cells.columns, truth_of(shape), strict=True):
            total += 1
            guess = found.meaning.get(column, "")
            right += ("" if guess == "ignore" else guess) == meaning
    assert right / total >= 0.95, f"{right} of {total}"


@pytest.mark.parametrize("shape", [shape for shape in SHAPES if not shape.asks], ids=lambda shape: shape.name)
def test_rows_come_out_as_they_were_heard(shape, tmp_path):
    """Time, calls, squares and band of every row are the true ones, and every row is kept."""
    true = season(seed=2)
    path = tmp_path / "spots.txt"
    path.write_text(written(true, shape))
    got = gather_files([path])
    assert got.account.loc[0, "rows_in"] == len(true)
    assert got.account.loc[0, "set_aside"] == 0
    coarse = any(
        form in name for name, _ in shape.columns for form in ("minute", "american", "named", "hhmm")
    )
    key = ["time", "tx_call", "rx_call", "tx_square", "rx_square"]
    tables_of = []
    for table in (true, got.spots):
        squares = {f"{side}_square": table[f"{side}_locator"].str[:4].str.upper() for side in ("tx", "rx")}
        tables_of.append(table.assign(time=table["time"].dt.floor("min" if coarse else "s"), **squares)[key])
    heard, read = (table.astype("str").drop_duplicates() for table in tables_of)
    same = heard.merge(read, how="outer", indicator=True)
    assert (same["_merge"] == "both").all()
    assert set(got.spots["band"]) == {"6m"}


def test_question_names_a_template(tmp_path):
    """An unclear table leaves a template beside it; edited, it answers for every table of that shape."""
    shape = next(shape for shape in SHAPES if shape.asks and not shape.header)
    path = tmp_path / "night.csv"
    path.write_text(written(season(seed=3), shape))
    with pytest.raises(InputError, match=r"night\.csv\.columns\.toml"):
        gather_files([path])
    template = tmp_path / "night.csv.columns.toml"
    text = template.read_text()
    assert '"1" = "?"' in text
    with pytest.raises(InputError, match=r"night\.csv\.columns\.toml"):
        gather_files([path])
    for column, meaning in zip("1234", ("tx_call", "tx_locator", "rx_call", "rx_locator"), strict=True):
        text = "\n".join(
            f'"{column}" = "{meaning}"' if line.startswith(f'"{column}"') else line
            for line in text.split("\n")
        )
    template.write_text(text)
    again = tmp_path / "next.csv"
    again.write_text(written(season(seed=4), shape))
    got = gather_files([path, again])
    assert got.account["kept"].sum() + got.account["duplicates"].sum() == got.account["rows_in"].sum()
    assert set(got.spots["tx_call"]) <= set(season(seed=3)["tx_call"]) | set(season(seed=4)["tx_call"])

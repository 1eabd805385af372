"""Tables as clubs keep them: every column known for what it is, every row kept, nobody exchanged."""

import tempfile
from functools import cache
from pathlib import Path

import pytest

from analysis.gather.files import gather_files
from analysis.gather.problems import InputError
from tests.gather import clubs

KEY = ["time", "tx_call", "rx_call", "tx_square", "rx_square", "kind"]


@cache
def gathered(number):
    """One table as it was gathered, or the line that asks; and the truth."""
    club = clubs.CLUBS[number]
    table = clubs.rows_of(club, seed=1)
    own = {"station": clubs.OWN_CALL, "home": clubs.OWN_SQUARE} if club.worked else {}
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "table.txt"
        path.write_bytes(clubs.written(table, club))
        try:
            return gather_files([path], **own), table
        except InputError as problem:
            return str(problem), table


def squares(table, kind):
    """What a row says, to the minute and the square."""
    told = table.assign(
        time=table["time"].dt.floor("min"),
        tx_square=table["tx_locator"].str[:4],
        rx_square=table["rx_locator"].str[:4],
        kind=kind,
    )
    return told[KEY].astype("str").drop_duplicates()


@pytest.mark.parametrize("number", range(len(clubs.CLUBS)), ids=lambda i: clubs.CLUBS[i].name)
def test_table(number):
    """A table that says who heard whom is read as it was meant; one that does not is asked about."""
    club, (got, true) = clubs.CLUBS[number], gathered(number)
    if club.asks:
        assert "cannot tell" in str(got)
        return
    assert not isinstance(got, str), got
    assert got.account.loc[0, "rows_in"] - club.summaries == len(true)
    assert got.account.loc[0, "set_aside"] == club.summaries
    kind = "worked" if club.worked else "heard"
    same = squares(true, kind).merge(squares(got.spots, got.spots["kind"]), how="outer", indicator=True)
    assert (same["_merge"] == "both").all()
    assert set(got.spots["band"]) == {"6m"}
    meanings = {clubs.meaning_of(name) for name, _ in club.columns}
    if "freq" in meanings:
        assert got.spots["freq_mhz"].between(50.31, 50.32).all()
    if "tx_power" in meanings:
        assert got.spots["tx_power_dbm"].between(29, 57).all()
    if "snr_db" in meanings:
        assert got.spots["snr_db"].between(-24, 11).all()


def test_columns():
    """At least 95 of 100 columns have their true meaning, and no side is exchanged."""
    right = total = 0
    for number, club in enumerate(clubs.CLUBS):
        got, _ = gathered(number)
        if club.asks:
            continue
        seen = set()
        for (true, _), guess in zip(club.columns, got.guesses["means"], strict=True):
            meaning = clubs.meaning_of(true)
            meaning = (
                "ignore" if not meaning or meaning in seen else meaning
            )  # a second frequency is of no use
            seen.add(meaning)
            assert {guess[:3], meaning[:3]} != {"tx_", "rx_"}, (club.name, true, guess)
            total += 1
            right += guess == meaning
    assert right / total >= 0.95, f"{right} of {total}"

"""Finished stages that are kept: used again for the same inputs, made anew for others, bounded."""

import os

import pandas as pd
import pytest

from analysis import keeping, review


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch):
    """A cache folder of the test's own, in which everything is worth keeping."""
    monkeypatch.setattr(keeping, "cache_folder", lambda: tmp_path)
    monkeypatch.setattr(keeping, "WORTH_S", 0.0)
    return tmp_path / "stages"


FOUND = {"openings": pd.DataFrame({"band": ["6m"], "start": pd.to_datetime(["2024-06-01 10:00"], utc=True)})}


def counted(calls):
    def make():
        calls.append(1)
        return FOUND

    return make


def test_the_same_inputs_are_worked_out_once():
    """A second time the stage is read, with another mark it is made."""
    calls = []
    for made_from in ("a" * 32, "a" * 32, "b" * 32):
        stage = keeping.kept("found", made_from, counted(calls))
        assert list(stage) == ["openings"]
        pd.testing.assert_frame_equal(stage["openings"], FOUND["openings"])
    assert len(calls) == 2


def test_what_is_soon_done_is_not_kept(folder, monkeypatch):
    """Small inputs leave nothing behind."""
    monkeypatch.setattr(keeping, "WORTH_S", 60.0)
    keeping.kept("found", "a" * 32, counted([]))
    assert not folder.exists()


@pytest.mark.parametrize("name", ["openings.parquet", keeping.NAMES])
@pytest.mark.parametrize(
    "spoil", [lambda path: path.write_bytes(b"PAR1 spoiled"), lambda path: path.unlink()]
)
def test_damage_is_made_good(folder, name, spoil):
    """A part that cannot be read back or is gone is no fault: the stage is worked out anew."""
    calls = []
    keeping.kept("found", "a" * 32, counted(calls))
    (kept,) = folder.iterdir()
    spoil(kept / name)
    for _ in range(2):
        stage = keeping.kept("found", "a" * 32, counted(calls))
        pd.testing.assert_frame_equal(stage["openings"], FOUND["openings"])
    assert len(calls) == 2


def test_the_longest_unused_goes_first_and_nothing_of_others(folder):
    """Only names of ours are ever removed; a half-made stage a day after it was begun."""
    folder.mkdir()
    names = ["found-" + c * 32 for c in "abc"] + [".half-x1", "letters"]
    for age, name in enumerate(names):
        (folder / name).mkdir()
        (folder / name / "openings.parquet").write_bytes(bytes(100))
        os.utime(folder / name, (1e9 - age, 1e9 - age))
    keeping.sweep(folder, most_bytes=250)
    assert {path.name[:7] for path in folder.iterdir()} == {"found-a", "found-b", "letters"}


@pytest.mark.parametrize(
    "change",
    [
        {"snr_db": [1.0, 3.0]},
        {"call": ["QA1A", "QC1C"]},
        {"call": pd.Categorical(["QA1A", "QB1B"])},
    ],
)
def test_a_mark_changes_with_every_input(change):
    """A cell, a kind of column, another word beside the table."""
    table = pd.DataFrame({"call": ["QA1A", "QB1B"], "snr_db": [1.0, 2.0]})
    assert keeping.mark("IN93", table) == keeping.mark("IN93", table.copy())
    assert keeping.mark("IN93", table) != keeping.mark("IN93", table.assign(**change))
    assert keeping.mark("IN93", table) != keeping.mark("IN94", table)


def test_another_club_changes_no_fit(tmp_path, monkeypatch):
    """A review under another name goes on from the fits that are there."""
    path = tmp_path / "log.adi"
    path.write_text(
        "x\n<EOH>\n"
        + "".join(
            f"<CALL:5>QA1AA <QSO_DATE:8>202406{day:02} <TIME_ON:4>1015 <BAND:2>6m <MODE:2>CW <GRIDSQUARE:4>JN61 <EOR>\n"
            for day in range(1, 29)
        )
    )
    gathered = review.gather([path], home="IN93")
    first = review.analyse(gathered, owner=review.Owner(home="IN93"))
    monkeypatch.setattr(review, "_found", None)
    monkeypatch.setattr(review, "_fitted", None)
    again = review.analyse(gathered, owner=review.Owner(home="IN93", club="the other club"))
    assert again.about.club == "the other club"
    pd.testing.assert_frame_equal(first.daily, again.daily)
    pd.testing.assert_frame_equal(first.spots, again.spots)

"""A store through an operator's years: weekly exports, a second operator, files that go, stores that age."""

import json
import multiprocessing
import sys

import pandas as pd
import pytest

from analysis.gather.files import gather_files
from analysis.gather.problems import InputError
from analysis.gather.rows import checks
from analysis.gather.shelf import MANIFEST
from analysis.gather.store import add_to_store, read_store
from tests.gather.logs import contact


def calls_of(gathered):
    """Calls worked, the account having been found to add up."""
    account = gathered.account
    assert (account["rows_in"] == account[["kept", "set_aside", "duplicates"]].sum(axis=1)).all()
    assert account["kept"].sum() == len(gathered.spots) + len(gathered.beacons) + len(gathered.listening)
    return sorted(gathered.spots["tx_call"])


def week(number):
    """A week's contact on each of two bands."""
    day = f"2024{1 + number % 12:02}{1 + number // 12:02}"
    letter = chr(65 + number % 26) + chr(65 + number // 26)
    return contact(CALL=f"Q2{letter}", QSO_DATE=day) + contact(CALL=f"Q3{letter}", QSO_DATE=day, BAND="2m")


def test_a_year_of_weekly_exports(tmp_path):
    """The whole log is exported again each week under one name; every contact is there once."""
    path, text = tmp_path / "log.adi", "<EOH>"
    for number in range(5):
        text += week(number)
        path.write_text(text)
        got = add_to_store([path], store=tmp_path / "store")
    assert len(calls_of(got)) == 2 * 5
    assert calls_of(got) == calls_of(gather_files([path]))
    assert got.account["duplicates"].sum() == sum(2 * number for number in range(1, 5))
    assert len(got.account) == 5


def test_a_year_of_weekly_files(tmp_path):
    """A file a week, named all together each time; what is in already is passed over."""
    paths = []
    for number in range(0, 52, 13):
        paths.append(tmp_path / f"week {number}.adi")
        paths[-1].write_text("<EOH>" + week(number))
        got = add_to_store(paths, store=tmp_path / "store")
        assert len(calls_of(got)) == 2 * len(paths)
    assert got.account["duplicates"].sum() == 0


def test_a_second_operator(tmp_path):
    """The partner's log of the same contact, told two minutes later, is a repeat; a contact of the partner's own is not."""
    mine, theirs = tmp_path / "mine.adi", tmp_path / "theirs.adi"
    mine.write_text("<EOH>" + contact())
    partner = {"STATION_CALLSIGN": "Q2AB", "MY_GRIDSQUARE": "JO22"}
    theirs.write_text(
        "<EOH>"
        + contact(CALL="Q1OWN", GRIDSQUARE="IN93", TIME_ON="1420", **partner)
        + contact(CALL="Q5AB", **partner)
    )
    add_to_store([mine], store=tmp_path / "store")
    got = add_to_store([theirs], store=tmp_path / "store")
    assert len(calls_of(got)) == 2
    assert got.account["duplicates"].sum() == 1


def test_a_file_that_is_gone(tmp_path):
    """What was gathered stays when its file is deleted; naming the file again is one line and changes nothing."""
    paths = [tmp_path / "a.adi", tmp_path / "b.adi"]
    for number, path in enumerate(paths):
        path.write_text("<EOH>" + week(number))
    before = calls_of(add_to_store(paths, store=tmp_path / "store"))
    paths[0].unlink()
    with pytest.raises(InputError, match=r"a\.adi: there is no such file"):
        add_to_store(paths, store=tmp_path / "store")
    assert calls_of(add_to_store(paths[1:], store=tmp_path / "store")) == before


@pytest.mark.parametrize("schema", [1, 2])
def test_an_older_store_goes_on(tmp_path, schema):
    """A store as earlier versions left it is read, and added to."""
    paths, store = [tmp_path / "a.adi", tmp_path / "b.adi"], tmp_path / "store"
    for number, path in enumerate(paths):
        path.write_text("<EOH>" + week(number))
    add_to_store(paths[:1], store=store)
    manifest = json.loads((store / MANIFEST).read_text()) | {"schema": schema}
    for entry in manifest["files"].values():
        entry["parts"] = dict.fromkeys(entry["parts"], 1)
        if schema == 1:
            del entry["home"], entry["station"]
    (store / MANIFEST).write_text(json.dumps(manifest))
    assert len(calls_of(add_to_store(paths, store=store))) == 4


def _gather(path, store):
    add_to_store([path], store=store)


def test_two_gather_while_a_third_reads(tmp_path):
    """Whatever moment a reader meets, it sees whole files and an account that adds up."""
    store, start = tmp_path / "store", "fork" if sys.platform != "win32" else "spawn"
    paths = [tmp_path / f"{number}.adi" for number in range(3)]
    for number, path in enumerate(paths):
        path.write_text("<EOH>" + week(number))
    add_to_store(paths[:1], store=store)
    make = multiprocessing.get_context(start).Process
    running = [make(target=_gather, args=(path, store)) for path in paths[1:]]
    for process in running:
        process.start()
    seen = {len(calls_of(read_store(store)))}
    while any(process.is_alive() for process in running):
        seen.add(len(calls_of(read_store(store))))
    assert seen <= {2, 4, 6}
    assert [process.exitcode for process in running] == [0, 0]
    assert len(calls_of(read_store(store))) == 6


def test_a_clock_that_was_wrong(tmp_path, monkeypatch):
    """Rows that lay in the future of a wrong clock are there when the file is gathered again by a right one."""
    path, store = tmp_path / "log.adi", tmp_path / "store"
    path.write_text("<EOH>" + week(1))
    with monkeypatch.context() as wrong:
        wrong.setattr(checks, "FUTURE_SLACK", pd.Timedelta("-20000D"))
        for _ in range(2):
            got = add_to_store([path], store=store)
            assert got.account[["rows_in", "kept", "set_aside"]].to_numpy().tolist() == [[2, 0, 2]]
    got = add_to_store([path], store=store)
    assert got.account[["rows_in", "kept", "set_aside"]].to_numpy().tolist() == [[2, 2, 0]]
    manifest = (store / MANIFEST).read_bytes()
    add_to_store([path], store=store)
    assert (store / MANIFEST).read_bytes() == manifest

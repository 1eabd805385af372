"""The season store: repeated, concurrent, interrupted and aged gatherings."""

import json
import multiprocessing
import os
import random
import signal
import subprocess
import sys
import time

import pandas as pd
import pytest

from analysis.gather.files import gather_files
from analysis.gather.problems import InputError
from analysis.gather.shelf import MANIFEST
from analysis.gather.store import add_to_store, read_store
from tests.gather.logs import contact, season_log

HOURS = "start,end,band\n2024-06-09 06:00,2024-06-09 09:00,6m\n"


@pytest.fixture
def log(tmp_path):
    path = tmp_path / "log.adi"
    path.write_text(season_log(seed=3, n=60) + contact(CALL="none"), encoding="utf-8")
    return path


def listing(store):
    """Every file of the store with its contents."""
    return {path: path.read_bytes() for path in sorted(store.rglob("*")) if path.is_file()}


def assert_same(one, other):
    pd.testing.assert_frame_equal(one.spots, other.spots, check_categorical=False)
    for name in ("beacons", "listening", "set_aside", "account"):
        pd.testing.assert_frame_equal(getattr(one, name), getattr(other, name))


def test_store_holds_what_was_gathered(log, tmp_path):
    """Reading the store gives the rows, listening hours and account of gathering the files at once."""
    hours, later = tmp_path / "hours.csv", tmp_path / "later.adi"
    hours.write_text(HOURS)
    later.write_text(contact() + contact(GRIDSQUARE="JO22AB"))
    store = tmp_path / "store"
    add_to_store([log], store=store, home="IN93", station="Q1OWN")
    got = add_to_store([hours, later], store=store, home="IN93", station="Q1OWN")
    assert_same(got, gather_files([log, hours, later], home="IN93", station="Q1OWN"))
    assert_same(read_store(store), got)
    assert list((store / "spots" / "band=6m").glob("month=2024-0?"))


def test_repeating_changes_nothing(log, tmp_path):
    """Gathering the same file again leaves every byte of the store as it was."""
    store = tmp_path / "store"
    first = add_to_store([log], store=store)
    before = listing(store)
    copy = tmp_path / "copy.adi"
    copy.write_bytes(log.read_bytes())
    assert_same(add_to_store([log, copy], store=store), first)
    assert listing(store) == before


def test_order_of_gathering_does_not_matter(log, tmp_path):
    """Two orders of gathering give the same store."""
    later = tmp_path / "later.adi"
    later.write_text(contact())
    for store, order in ((tmp_path / "a", (log, later)), (tmp_path / "b", (later, log))):
        for path in order:
            add_to_store([path], store=store)
    assert_same(read_store(tmp_path / "a"), read_store(tmp_path / "b"))


def test_other_home_replaces(tmp_path):
    """The same file gathered with another home locator replaces its rows."""
    path = tmp_path / "log.adi"
    path.write_text(contact(MY_GRIDSQUARE=None))
    add_to_store([path], store=tmp_path / "store", home="IN93")
    got = add_to_store([path], store=tmp_path / "store", home="JO22")
    assert got.spots["rx_locator"].tolist() == ["JO22"]
    assert got.account["rows_in"].tolist() == [1]


def test_changed_file_of_the_same_name(tmp_path):
    """A log that has grown is a new file; what both hold is counted as repeated, nothing is lost."""
    path, store = tmp_path / "log.adi", tmp_path / "store"
    path.write_text(contact())
    add_to_store([path], store=store)
    path.write_text(contact() + contact(CALL="Q3AB"))
    got = add_to_store([path], store=store)
    assert len(got.spots) == 2
    assert got.account["duplicates"].sum() == 1
    assert got.account["source"].is_unique


def test_unusable_file_adds_nothing(log, tmp_path):
    """If one of the files is refused, none of them is in the store."""
    bad, store = tmp_path / "z.adi", tmp_path / "store"
    bad.write_bytes(b"")
    with pytest.raises(InputError, match=r"z\.adi"):
        add_to_store([log, bad], store=store)
    with pytest.raises(InputError, match="empty season store"):
        read_store(store)
    add_to_store([log], store=store)
    assert len(read_store(store).spots) == 60


def _add(path, store):
    add_to_store([path], store=store)


def test_two_at_once(tmp_path):
    """Gatherings at the same time all end up in the store."""
    paths = []
    for i in range(4):
        paths.append(tmp_path / f"log{i}.adi")
        paths[-1].write_text(contact(CALL=f"Q{i}AB"))
    start = multiprocessing.get_context("fork" if sys.platform != "win32" else "spawn")
    running = [start.Process(target=_add, args=(path, tmp_path / "store")) for path in paths]
    for process in running:
        process.start()
    for process in running:
        process.join()
    assert sorted(read_store(tmp_path / "store").spots["tx_call"]) == [f"Q{i}AB" for i in range(4)]


@pytest.mark.skipif(not hasattr(os, "fork"), reason="a process is forked and killed")
def test_killed_at_any_moment(log, tmp_path):
    """Killed while it gathers, the store reads back as before or after, never between."""
    store, small = tmp_path / "store", tmp_path / "small.adi"
    small.write_text(contact())
    before = len(add_to_store([small], store=store).spots)
    after = len(gather_files([small, log]).spots)
    rng, seen = random.Random(4), set()
    for _ in range(12):
        child = os.fork()
        if child == 0:
            add_to_store([log], store=store)
            os._exit(0)
        time.sleep(rng.uniform(0, 0.3))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        seen.add(len(read_store(store).spots))
    assert seen <= {before, after}
    assert len(add_to_store([log], store=store).spots) == after
    assert not list(store.rglob("*.new"))


def test_stores_of_other_ages(log, tmp_path):
    """An older manifest is brought up to date; a newer one, a broken one and a missing part are refused."""
    store = tmp_path / "store"
    new = add_to_store([log], store=store)
    manifest = json.loads((store / MANIFEST).read_text())
    old = {"schema": 1, "files": {key: dict(entry) for key, entry in manifest["files"].items()}}
    for entry in old["files"].values():
        del entry["home"], entry["station"]
        entry["parts"] = dict.fromkeys(entry["parts"], 30)
    (store / MANIFEST).write_text(json.dumps(old))
    assert_same(read_store(store), new)
    (store / MANIFEST).write_text(json.dumps(manifest | {"schema": 99}))
    with pytest.raises(InputError, match="newer version"):
        read_store(store)
    (store / MANIFEST).write_text("{")
    with pytest.raises(InputError, match="cannot be read"):
        read_store(store)
    (store / MANIFEST).write_text(json.dumps(manifest))
    next((store / "spots").rglob("*.parquet")).unlink()
    with pytest.raises(InputError, match=r"is absent; gather log\.adi into the store again"):
        read_store(store)


def test_reading_needs_no_other_module():
    """The store can be read without the modules that draw or fit."""
    code = "import sys, analysis.gather.store; print(sorted({m.split('.')[0] for m in sys.modules} & {'matplotlib', 'statsmodels'}))"
    assert (
        subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
        == "[]\n"
    )


def test_a_folder_of_the_users_own_is_refused_and_left_alone(tmp_path):
    """A folder that holds anything and is no store is refused in one line; not a byte in it changes."""
    folder = tmp_path / "proj"
    for name in ("log.adi", "spots/june.adi", "spots/2023/may.csv", "others/letter.odt"):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text("<EOH>" + contact())
    before = listing(folder)
    with pytest.raises(InputError, match=r"proj: holds .* and is no season store; name another folder"):
        add_to_store([folder / "log.adi", folder / "spots" / "june.adi"], store=folder)
    assert listing(folder) == before
    assert sorted(path.name for path in folder.iterdir()) == ["log.adi", "others", "spots"]


def test_files_put_into_a_store_stay(log, tmp_path):
    """What a person puts beside the parts of a store outlives every gathering; our own leftovers do not."""
    store = tmp_path / "store"
    add_to_store([log], store=store)
    month = next((store / "spots").glob("band=*/month=*"))
    mine = [
        store / "spots" / "june.adi",
        month / "my own.parquet",
        store / "others" / "letter.odt",
        store / "x",
    ]
    ours = [
        month / f"{'0' * 24}.parquet",
        month / f".{'0' * 24}.parquet.123.new",
        store / ".manifest.json.1.new",
    ]
    for path in mine + ours:
        path.parent.mkdir(exist_ok=True)
        path.write_text("x")
    (tmp_path / "later.adi").write_text(contact())
    add_to_store([tmp_path / "later.adi"], store=store)
    assert [path.exists() for path in mine] == [True] * len(mine)
    assert [path.exists() for path in ours] == [False] * len(ours)


def test_parts_without_their_list_are_no_new_store(log, tmp_path):
    """A store that lost its list is not begun anew over its parts: the list can still be brought back."""
    store = tmp_path / "store"
    whole = add_to_store([log], store=store)
    manifest = (store / MANIFEST).read_bytes()
    (store / MANIFEST).unlink()
    with pytest.raises(InputError, match=r"lacks its manifest\.json"):
        add_to_store([log], store=store)
    (store / MANIFEST).write_bytes(manifest)
    assert_same(read_store(store), whole)


def test_a_store_of_one_file_with_several_bands_and_months(tmp_path):
    """The first file of a store reads back as it was gathered, whatever bands and months it holds."""
    path = tmp_path / "log.adi"
    path.write_text(
        contact(BAND="6m", MODE="CW")
        + contact(BAND="2m", MODE="SSB")
        + contact(QSO_DATE="20240701", MODE="FT8")
    )
    assert_same(add_to_store([path], store=tmp_path / "store"), gather_files([path]))


def test_a_damaged_part_is_named_and_mended(tmp_path):
    """A part with one bit changed anywhere is named; gathering its file again mends it."""
    path, store = tmp_path / "log.adi", tmp_path / "store"
    path.write_text(season_log(seed=3, n=8) + contact(CALL="none"))
    whole = add_to_store([path], store=store)
    rng = random.Random(5)
    for part in rng.sample(sorted(store.rglob("*.parquet")), 3):
        sound = part.read_bytes()
        for at in (0, rng.randrange(len(sound)), len(sound) - 20):
            part.write_bytes(sound[:at] + bytes([sound[at] ^ 1]) + sound[at + 1 :])
            with pytest.raises(InputError) as caught:
                read_store(store)
            assert str(caught.value).startswith(f"{part}: is damaged")
            assert "gather log.adi into the store again" in str(caught.value)
        assert_same(add_to_store([path], store=store), whole)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="the size of files is limited as POSIX systems do it")
def test_no_room(log, tmp_path):
    """Where nothing more can be written the store stays as it was, the line names the place, and a repeat works."""
    store, small = tmp_path / "store", tmp_path / "small.adi"
    small.write_text(contact())
    before = add_to_store([small], store=store)
    code = (
        "import resource, signal, sys\nfrom analysis.cli import main\nsignal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[1]), resource.RLIM_INFINITY))\n"
        "sys.exit(main(['gather', *sys.argv[2:4], '--store', sys.argv[4]]))"
    )
    for room in ("300", "5000"):
        run = subprocess.run(
            [sys.executable, "-c", code, room, str(small), str(log), str(store)],
            capture_output=True, text=True, check=False,
        )  # fmt: skip
        assert run.returncode == 2, run.stderr
        assert run.stderr.count("\n") == 1
        assert f"seasonbook: {store}" in run.stderr
        assert "cannot be written (File too large)" in run.stderr
        assert_same(read_store(store), before)
    assert not list(store.rglob("*.new"))
    assert len(add_to_store([log], store=store).spots) == 61


def test_same_account_from_files_and_store(tmp_path):
    """Of a contact in a log and in a table the file that comes first by name keeps it, whatever is read first."""
    (tmp_path / "a.adi").write_text("<EOH>" + contact())
    (tmp_path / "b.csv").write_text(
        "date,time,call,locator,my call,my locator,band,mode,kind\n"
        "2024-06-09,14:18,Q2AB,JO22,Q1OWN,IN93,6m,SSB,worked\n"
        "2024-06-10,14:18,Q3AB,JO22,Q1OWN,IN93,6m,SSB,worked\n"
    )
    paths = [tmp_path / "a.adi", tmp_path / "b.csv"]
    alone, stored = gather_files(paths), add_to_store(paths, store=tmp_path / "store")
    assert alone.account[["kept", "duplicates"]].to_numpy().tolist() == [[1, 0], [1, 1]]
    pd.testing.assert_frame_equal(alone.account, stored.account)
    pd.testing.assert_frame_equal(alone.spots, stored.spots)

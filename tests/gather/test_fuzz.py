"""No bytes, however spoiled, give anything but rows that add up or one clear refusal."""

import random

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analysis.gather.files import read_all
from analysis.gather.problems import InputError
from analysis.gather.reading import adif
from analysis.gather.reading.sources import opened
from tests.gather.mutate import originals, spoiled

FEW = settings(deadline=None, max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])


def read_or_refuse(path, data):
    """Read bytes as a file; every row must be accounted for, a refusal must be one line with the file's name."""
    path.write_bytes(data)
    refusal, read = "", []
    try:
        read = list(read_all(opened(path, source=path.name), station="Q1OWN"))
    except InputError as caught:
        refusal = str(caught)
    assert path.name in refusal or not refusal
    assert "\n" not in refusal
    for got in read:
        told = sum(len(part) for part in (got.spots, got.beacons, got.listening, got.set_aside))
        assert sum(got.rows_in.values()) == told
    return not refusal


@FEW
@given(data=st.binary(max_size=400))
def test_any_bytes(tmp_path, data):
    """Any byte string at all."""
    read_or_refuse(tmp_path / "file.adi", data)


@FEW
@given(text=st.text(alphabet="<>:,;|\t\n\r\"' EORCALbandQ12349.-/{}[]٤９०，：\u2028²Вſ", max_size=200))
def test_any_text_of_the_trade(tmp_path, text):
    """Text made of the characters that readers look for."""
    read_or_refuse(tmp_path / "file.csv", text.encode())


def test_spoiled_files(tmp_path):
    """Sound files after random accidents; many of them still hold rows."""
    rng = random.Random(6)
    files = originals()
    read = sum(read_or_refuse(tmp_path / "file.txt", spoiled(rng.choice(files), rng)) for _ in range(24))
    assert read > 8


def test_no_record_is_lost_to_its_neighbour():
    """A spoiled record costs itself and at most the one after it."""
    rng = random.Random(8)
    log = originals()[0].decode()
    records = log.split("<EOR>")
    for _ in range(300):
        place = rng.randrange(1, len(records) - 3)
        broken = spoiled(records[place].encode(), rng).decode("utf-8", "replace").replace("<EOR>", "")
        text = "<EOR>".join([*records[:place], broken, *records[place + 1 :]])
        got = [record.get("CALL") for record in adif.parse(text)[0]]
        assert len(got) >= 12 - 2
        assert len(set(got)) >= 9

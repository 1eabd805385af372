"""Whole files: what is refused in one line, what is kept, and accounts that add up."""

import gzip
import io
import json
import os
import time
import zipfile

import pandas as pd
import pyarrow as pa
import pytest

from analysis.gather import spots
from analysis.gather.files import gather_files
from analysis.gather.problems import InputError
from analysis.gather.reading.sources import source_names
from analysis.gather.store import add_to_store, read_store
from tests.gather.logs import contact, season_log

TABLE = """time,freq,tx call,tx locator,rx call,rx locator,snr
2024-06-09 14:18,50.313,Q2AB,JO22,Q1OWN,IN93,-12
2024-06-09 14:18,50.313,Q2AB,JO22,Q1OWN,IN93,-12
2024-06-09 14:19,50.313,Q2AB,JO33,Q1OWN,IN93,-12
2024-06-09 14:20,144.174,Q3AB,,Q1OWN,IN93,3
2024-06-09 14:21,,Q4AB,JO22,Q1OWN,IN93,3
yesterday,50.313,Q5AB,JO22,Q1OWN,IN93,3
2024-06-09 14:22,50.313,,JO22,Q1OWN,IN93,3
"""


def adds_up(account):
    """Rows in = kept + set aside + duplicates, for every file."""
    return (account["rows_in"] == account[["kept", "set_aside", "duplicates"]].sum(axis=1)).all()


def refusal(path, **options):
    """The one line with which a file is refused."""
    with pytest.raises(InputError) as caught:
        gather_files([path], **options)
    text = str(caught.value)
    assert "\n" not in text
    return text


def test_partly_broken_table(tmp_path):
    """Good rows stay, a repeated row is counted, the others are set aside with reason and repair."""
    path = tmp_path / "spots.csv"
    path.write_text(TABLE)
    got = gather_files([path])
    assert got.account.to_dict("records") == [
        {"source": "spots.csv", "rows_in": 7, "kept": 3, "set_aside": 3, "duplicates": 1, "doubted": 0}
    ]
    assert got.spots["source_row"].tolist() == [2, 4, 5]
    assert got.spots["tx_locator"].tolist() == ["JO22", "JO33", ""]
    assert got.spots["band"].tolist() == ["6m", "6m", "2m"]
    aside = got.set_aside.set_index("source_row")
    assert aside["field"].to_dict() == {6: "band", 7: "time", 8: "call"}
    assert aside.loc[7, "found"] == "yesterday"
    assert aside["repair"].str.len().min() > 10
    assert list(got.spots.columns) == list(spots.COLUMNS)


def test_order_of_files_does_not_matter(tmp_path):
    """The same files in any order give the same rows from the same sources."""
    paths = [tmp_path / name for name in ("a.adi", "b.csv", "c.adi")]
    paths[0].write_text("<EOH>" + contact() + contact(CALL="Q3AB"))
    paths[1].write_text(TABLE)
    paths[2].write_text("<EOH>" + contact() + contact(CALL="Q4AB", TIME_ON="1500"))
    results = [gather_files(order) for order in (paths, paths[::-1], paths[1:] + paths[:1])]
    for result in results[1:]:
        pd.testing.assert_frame_equal(result.spots, results[0].spots)
        pd.testing.assert_frame_equal(result.account, results[0].account)
    assert adds_up(results[0].account)


def test_two_files_of_one_name(tmp_path):
    """Files of the same name in two folders keep apart."""
    for folder in ("east", "west"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "log.adi").write_text("<EOH>" + contact(CALL=f"Q2{folder[0].upper()}"))
    got = gather_files([tmp_path / "east" / "log.adi", tmp_path / "west" / "log.adi"])
    assert got.account["source"].tolist() == ["east/log.adi", "west/log.adi"]
    assert got.account["kept"].tolist() == [1, 1]


def test_unusable_files_are_refused_in_one_line(tmp_path):
    """A picture, an empty file and others are refused, each with its name and what to do."""
    bad = {
        "picture.adi": b"\x89PNG\r\n\x1a\n" + bytes(200),
        "empty.adi": b"",
        "blank.csv": b" \n\n",
        "cut.adi": b"log <EOH>\n<CALL:4>Q2AB<BAND:2>6",
        "cut.adx": b"<?xml version='1.0'?><ADX><RECORDS><RECORD><CALL>Q2AB</CALL>",
        "places.csv": b"time,freq,tx,rx\n2024-06-09 14:18,50.313,Q2AB,Q1OWN\n",
        "noise.csv": bytes(range(256)) * 20,
        "damaged.csv.gz": gzip.compress(TABLE.encode())[:-20],
        "prose.txt": b"We heard many stations this summer.\nIt was a good season.\n",
        "header.csv": b"time,freq,tx call,tx locator,rx call,rx locator\n",
        "list.json": b'[{"time": "2024',
        "damaged.parquet": b"PAR1 and no more",
    }
    for name, data in bad.items():
        (tmp_path / name).write_bytes(data)
        text = refusal(tmp_path / name)
        assert name in text
        assert ";" in text or ", " in text, text
    assert "no such file" in refusal(tmp_path / "absent.adi")
    with pytest.raises(InputError, match="no file"):
        gather_files([])


def test_no_permission(tmp_path, monkeypatch):
    """A file that may not be read is refused in one line."""
    path = tmp_path / "secret.adi"
    path.write_text(contact())

    def denied(self):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(type(path), "read_bytes", denied)
    assert "cannot be read (Permission denied)" in refusal(path)


def test_home_that_is_no_locator(tmp_path):
    """A home locator that is none is refused."""
    path = tmp_path / "log.adi"
    path.write_text(contact(MY_GRIDSQUARE=None))
    assert "home locator 'Bilbao'" in refusal(path, home="Bilbao")


def test_home_and_station_fill_what_the_log_leaves_out(tmp_path):
    """Home and station serve contacts and single-sided lists, and never overwrite what a row says."""
    log, spots_of = tmp_path / "log.adi", tmp_path / "heard.csv"
    log.write_text("<EOH>" + contact() + contact(CALL="Q3AB", STATION_CALLSIGN=None, MY_GRIDSQUARE=None))
    spots_of.write_text("time,freq,call,locator\n2024-06-09 14:18,50.313,Q5AB,JO22\n")
    got = gather_files([log, spots_of], home="jn11aa", station="Q1HOME").spots.set_index("tx_call")
    assert got.loc["Q2AB", ["rx_call", "rx_locator"]].tolist() == ["Q1OWN", "IN93"]
    assert got.loc["Q3AB", ["rx_call", "rx_locator"]].tolist() == ["Q1HOME", "JN11AA"]
    assert got.loc["Q5AB", ["rx_call", "rx_locator"]].tolist() == ["Q1HOME", "JN11AA"]


def test_beacons_give_places(tmp_path):
    """A beacon list is no spots; it fills in places that spots leave out, unless it contradicts itself."""
    beacons, heard = tmp_path / "beacons.csv", tmp_path / "heard.csv"
    beacons.write_text(
        "call,locator,freq MHz\nQ7BCN/B,JO22ab,50.413\nQ8BCN,JO33,\nQ8BCN,JN11,144.4\nnobody,,\n"
    )
    heard.write_text(
        "time,freq,heard,locator,heard by,own locator\n"
        + "".join(
            f"2024-06-09 14:1{i},50.4,{call},,Q1OWN,IN93\n" for i, call in enumerate(("Q7BCN/B", "Q8BCN"))
        )
    )
    got = gather_files([beacons, heard])
    assert got.beacons["freq_mhz"].tolist() == pytest.approx([50.413, float("nan"), 144.4], nan_ok=True)
    assert got.spots["tx_locator"].tolist() == ["JO22AB", ""]
    assert got.account["kept"].tolist() == [3, 2]
    assert got.set_aside["reason"].tolist() == ["A beacon needs a call sign and a locator"]


def test_listening_hours(tmp_path):
    """Declared hours keep station, band, start and end; an end before the start is set aside."""
    path = tmp_path / "hours.csv"
    path.write_text(
        "start,end,band\n2024-06-09 06:00,2024-06-09 09:00,6m\n2024-06-09 22:00,2024-06-09 02:00,2m\n"
        "2024-06-09 06:00,2024-06-09 09:00,6m\n"
    )
    got = gather_files([path], station="Q1OWN")
    assert got.listening.to_dict("records") == [
        {
            "station": "Q1OWN",
            "band": "6m",
            "start": pd.Timestamp("2024-06-09 06:00Z"),
            "end": pd.Timestamp("2024-06-09 09:00Z"),
        }
    ]
    assert got.account.loc[0, ["rows_in", "kept", "set_aside", "duplicates"]].tolist() == [3, 1, 1, 1]


def test_same_table_in_every_wrapping(tmp_path):
    """Plain, gzip, zip, zstd, JSON lines, a JSON list and Parquet hold the same reports."""
    rows = pd.read_csv(io.StringIO(TABLE), dtype="str").iloc[[0, 2, 3]]
    text = rows.to_csv(index=False)
    (tmp_path / "a.csv").write_text(text)
    (tmp_path / "b.csv.gz").write_bytes(gzip.compress(text.encode()))
    with zipfile.ZipFile(tmp_path / "c.zip", "w") as archive:
        archive.writestr("inside.csv", text)
    (tmp_path / "d.zst").write_bytes(pa.compress(text.encode(), codec="zstd", asbytes=True))
    records = [
        {name: cell for name, cell in row.items() if isinstance(cell, str)} for row in rows.to_dict("records")
    ]
    (tmp_path / "e.jsonl").write_text("\n".join(json.dumps(record) for record in records))
    (tmp_path / "f.json").write_text(json.dumps(records))
    rows.to_parquet(tmp_path / "g.parquet")
    (tmp_path / "h.csv").write_bytes(text.encode("utf-16"))
    paths = sorted(tmp_path.iterdir())
    got = gather_files(paths)
    assert got.account["rows_in"].tolist() == [3] * len(paths)
    assert got.account["kept"].tolist() == [3] + [0] * (len(paths) - 1)
    assert got.account["duplicates"].sum() == 3 * (len(paths) - 1)


def test_adx_is_the_same_as_adi(tmp_path):
    """The XML form of a log gives the rows of the other form; a cut end is set aside."""
    body = "".join(
        f"<RECORD><CALL>Q{i}AB</CALL><QSO_DATE>20240609</QSO_DATE><TIME_ON>1418</TIME_ON><BAND>6m</BAND>"
        "<MODE>SSB</MODE><GRIDSQUARE>JO22</GRIDSQUARE><STATION_CALLSIGN>Q1OWN</STATION_CALLSIGN>"
        f"<MY_GRIDSQUARE>IN93</MY_GRIDSQUARE><APP PROGRAMID='X' FIELDNAME='BAND_NOTE'>&lt;2m&gt;</APP></RECORD>"
        for i in range(2, 5)
    )
    whole = f"<?xml version='1.0' encoding='UTF-8'?>\n<ADX><HEADER><ADIF_VER>3.1.4</ADIF_VER></HEADER><RECORDS>{body}"
    (tmp_path / "log.adx").write_text(whole + "</RECORDS></ADX>")
    (tmp_path / "log.adi").write_text("<EOH>" + "".join(contact(CALL=f"Q{i}AB") for i in range(2, 5)))
    got = gather_files([tmp_path / "log.adx", tmp_path / "log.adi"])
    assert got.account["duplicates"].sum() == 3
    (tmp_path / "cut.adx").write_text(whole + "<RECORD><CALL>Q9")
    got = gather_files([tmp_path / "cut.adx"])
    assert got.account.loc[0, ["rows_in", "kept", "set_aside"]].tolist() == [4, 3, 1]


def test_xml_entities_are_refused(tmp_path):
    """A file that declares entities could grow without bound; no log does."""
    path = tmp_path / "log.adx"
    path.write_text('<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "c">]><ADX><RECORDS>&b;</RECORDS></ADX>')
    assert "entities" in refusal(path)


@pytest.mark.parametrize(
    "name", ["contest_weekend.adi", "contest_weekend.log", "log_mixed_bands.adif", "spots_50mhz_one_day.txt"]
)
def test_real_inputs(real_inputs, tmp_path, name):
    """Every real log and list imports, and its account adds up."""
    path = tmp_path / name
    path.write_bytes((real_inputs / name).read_bytes())
    got = gather_files([path], home="EM55")
    assert adds_up(got.account)
    assert got.account["set_aside"].sum() == 0
    assert got.account["kept"].sum() > 0


def test_contest_weekend(real_inputs):
    """The contest log and its ADIF form tell the same contacts; rovers keep their squares."""
    got = gather_files([real_inputs / "contest_weekend.adi", real_inputs / "contest_weekend.log"])
    # shared/real/README.md: 302 contacts, 218 on 6 m, 47 on 2 m
    assert got.account["kept"].sum() == 302
    assert got.account["duplicates"].sum() == 302
    assert (got.spots["band"] == "6m").sum() == 218
    assert (got.spots["band"] == "2m").sum() == 47
    rovers = got.spots[got.spots["tx_call"].str.endswith("/R")]
    assert rovers.groupby("tx_call")["tx_locator"].nunique().max() > 1


def test_large_log_is_one_account(tmp_path):
    """A longer log with a repeated half keeps every contact once."""
    path = tmp_path / "log.adi"
    text = season_log(seed=7, n=300)
    half = "<EOR>\n".join(text.split("<EOH>\n")[1].split("<EOR>\n")[:150]) + "<EOR>\n"
    path.write_text(text + half, encoding="utf-8")
    got = gather_files([path])
    assert got.account.loc[0, ["rows_in", "kept", "duplicates"]].tolist() == [450, 300, 150]


def test_many_files_are_named_in_little_time(tmp_path):
    """Daily files of six seasons get their names in a moment, those of one name with the folders above them."""
    paths = [tmp_path / f"{i % 40}" / f"log{i}.adi" for i in range(2000)]
    paths += [tmp_path / f"{i}" / "all" / "log.adi" for i in range(2000)]
    start = time.process_time()
    names = source_names(paths[::-1])
    assert time.process_time() - start < 3
    assert names["log7.adi"] == paths[7]
    assert names["7/all/log.adi"] == paths[2007]
    assert len(names) == 4000


def test_many_small_logs(tmp_path):
    """Hundreds of small logs in one archive take about as long as their rows in one log, and read alike."""
    logs = [
        "<EOH>" + contact(CALL=f"Q{i % 10}A{chr(65 + i // 10)}", TIME_ON="none" if i % 50 == 9 else "1418")
        for i in range(200)
    ]
    logs[3] += contact()[:-20]
    path = tmp_path / "year.zip"
    with zipfile.ZipFile(path, "w") as archive:
        for i, text in enumerate(logs):
            archive.writestr(f"{i:03}.adi", text)
    start = time.process_time()
    got = gather_files([path], home="IN93")
    assert time.process_time() - start < 5
    assert adds_up(got.account)
    assert got.account["set_aside"].tolist() == [int(i == 3 or i % 50 == 9) for i in range(200)]
    assert got.set_aside["source"].tolist() == [
        "year.zip/003.adi",
        *[f"year.zip/{i:03}.adi" for i in range(9, 200, 50)],
    ]
    assert set(got.spots["source_row"]) == {1}


def test_a_dummy_frequency_is_one_files_own(tmp_path):
    """What most rows of one log show outside their band is no frequency there; in another log it is doubted."""
    (tmp_path / "a.adi").write_text("<EOH>" + "".join(contact(CALL=f"Q{i}AB", FREQ="14.0") for i in range(6)))
    others = "".join(contact(CALL=f"Q{i}CD", FREQ="50.1") for i in range(6))
    (tmp_path / "b.adi").write_text("<EOH>" + contact(CALL="Q9ZZ", FREQ="14.0") + others)
    doubted = gather_files([tmp_path / "a.adi", tmp_path / "b.adi"]).spots.query("doubt != ''")
    assert doubted["tx_call"].tolist() == ["Q9ZZ"]


def test_names_that_are_no_text(tmp_path):
    """A file whose name is no UTF-8 is read and goes into a store, its odd bytes spelled out."""
    paths = [tmp_path / os.fsdecode(name) for name in (b"caf\xe9.adi", b"caf\xe8.adi")]
    for i, path in enumerate(paths):
        try:
            path.write_text("<EOH>" + contact(CALL=f"Q{i}AB"))
        except OSError:
            pytest.skip("the file system takes no such names")
    for got in (gather_files(paths), add_to_store(paths, store=tmp_path / "store")):
        assert got.account["source"].tolist() == [r"caf\xe8.adi", r"caf\xe9.adi"]


def test_links_without_an_end(tmp_path):
    """A link to itself, a link to a folder and a link to nowhere are one line each."""
    loop, nowhere = tmp_path / "loop.adi", tmp_path / "nowhere.adi"
    loop.symlink_to(loop)
    nowhere.symlink_to(tmp_path / "gone.adi")
    assert "loop.adi: cannot be read" in refusal(loop)
    assert "nowhere.adi: there is no such file" in refusal(nowhere)


def test_names_that_no_file_can_have(tmp_path):
    """A zero byte in the name of a file or of a store is one line."""
    assert "no such name" in refusal(f"{tmp_path}/a\x00b.adi")
    (tmp_path / "a.adi").write_text("<EOH>" + contact())
    for work in (lambda store: add_to_store([tmp_path / "a.adi"], store=store), read_store):
        with pytest.raises(InputError, match="store") as caught:
            work(f"{tmp_path}/s\x00t")
        assert str(caught.value).isprintable()


def test_reasons_and_repairs_are_sentences(tmp_path):
    """What is told of a row that is set aside begins as a sentence does."""
    path = tmp_path / "spots.csv"
    path.write_text(TABLE + "a,b,c,d,e,f,g,h,i\n")
    told = gather_files([path]).set_aside
    assert len(told) == 4
    assert told["reason"].str[0].str.isupper().all()
    assert told["repair"].str[0].str.isupper().all()

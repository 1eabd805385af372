"""The ways in which real files differ from what they should be, each made by us."""

import warnings
import zipfile

import pandas as pd
import pytest

from analysis.gather.files import gather_files
from analysis.gather.store import add_to_store
from tests.gather.logs import contact, record

HEADER = "time,freq,mode,tx call,tx locator,rx call,rx locator\n"


def gathered(tmp_path, text, *, name="log.adi", home="IN93", **options):
    path = tmp_path / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    got = gather_files([path], home=home, **options)
    assert (got.account["rows_in"] == got.account[["kept", "set_aside", "duplicates"]].sum(axis=1)).all()
    return got


def rows(tmp_path, text, **options):
    return gathered(tmp_path, text, **options).spots.set_index("tx_call")


def test_lengths_in_characters_and_in_bytes(tmp_path):
    """Both counts in one file."""
    name = "Zoë Ångström"
    by_byte = contact(CALL="Q3AB", NAME=name).replace(f"<NAME:{len(name)}>", f"<NAME:{len(name.encode())}>")
    assert list(rows(tmp_path, contact(NAME=name) + by_byte + contact(CALL="Q4AB")).index) == [
        "Q2AB",
        "Q3AB",
        "Q4AB",
    ]


@pytest.mark.parametrize(
    "dress",
    [
        lambda text: b"\xef\xbb\xbf" + text.encode(),
        lambda text: text.encode().decode("latin-1").encode(),
        lambda text: text.encode("cp1252"),
        lambda text: text.replace("\n", "\r\n").encode(),
        lambda text: text.replace("<", "\n<").encode(),
        lambda text: text.replace("\n", "").encode(),
        lambda text: text.encode("utf-16"),
        lambda text: text.lower().encode(),
    ],
    ids=[
        "mark",
        "encoded twice",
        "Windows-1252",
        "CRLF",
        "a tag a line",
        "one line",
        "UTF-16",
        "small letters",
    ],
)
def test_encodings_and_line_ends(tmp_path, dress):
    """Encodings, line ends and letter case do not change what a log says."""
    got = rows(tmp_path, dress(contact(NAME="Zoë") + contact(CALL="Q3AB", NOTES="one\ntwo")))
    assert list(got.index) == ["Q2AB", "Q3AB"]
    assert got["band"].tolist() == ["6m", "6m"]


@pytest.mark.parametrize("header", ["words with a < in them <EOH>", "# a\n# b <not:tag>\n<EOH>", "<EOH>", ""])
def test_headers(tmp_path, header):
    """Free text, comments or nothing above the first record."""
    assert list(rows(tmp_path, header + contact()).index) == ["Q2AB"]


def test_strange_fields(tmp_path):
    """Names that are none, empty values, JSON and line breaks in notes."""
    text = (
        contact(NOTES='{"a": [1, "<b>"]}\nsecond line')
        + contact(CALL="Q3AB", NAME="")
        + "<:3>abc<12:2>xy"
        + contact(CALL="Q4AB")
    )
    assert list(rows(tmp_path, text).index) == ["Q2AB", "Q3AB", "Q4AB"]


def test_band_and_frequency(tmp_path):
    """Band from frequency, frequency in kHz, contest names of bands, a dummy frequency for a whole log."""
    got = rows(
        tmp_path,
        contact(BAND=None, FREQ="144.300")
        + contact(CALL="Q3AB", FREQ="50110")
        + contact(CALL="Q4AB", BAND="50")
        + contact(CALL="Q5AB", BAND="1.2G")
        + contact(CALL="Q6AB", BAND="6M")
        + contact(CALL="Q7AB", FREQ="14.200"),
    )
    assert got["band"].tolist() == ["2m", "6m", "6m", "23cm", "6m", "6m"]
    assert got.loc["Q3AB", "freq_mhz"] == pytest.approx(50.11)
    assert pd.isna(got.loc["Q7AB", "freq_mhz"])
    assert "not in the stated band 6m" in got.loc["Q7AB", "doubt"]
    dummy = rows(tmp_path, "".join(contact(CALL=f"Q{i}CD", BAND="2m", FREQ="50.0") for i in range(8)))
    assert dummy["band"].tolist() == ["2m"] * 8
    assert dummy["freq_mhz"].isna().all()
    assert (dummy["doubt"] == "").all()


def test_newest_first_and_unsorted(tmp_path):
    """The order of records makes no difference."""
    records = [contact(CALL=f"Q{i}AB", TIME_ON=f"14{i}0") for i in range(6)]
    forward, back = rows(tmp_path, "".join(records)), rows(tmp_path, "".join(records[::-1]))
    pd.testing.assert_frame_equal(forward.drop(columns="source_row"), back.drop(columns="source_row"))


def test_across_midnight(tmp_path):
    """Contacts a few minutes apart on both sides of 00 UTC are that far apart."""
    got = rows(
        tmp_path, contact(TIME_ON="235930") + contact(CALL="Q3AB", QSO_DATE="20240610", TIME_ON="0002")
    )
    assert (got["time"].iloc[1] - got["time"].iloc[0]).total_seconds() == 150


def test_locators(tmp_path):
    """Absent, empty, five characters, mixed case, a digit 0 for O; the own one may change within a log."""
    texts = [None, "", "JO22a", "jO22Ab", "J022", "nowhere", "JO22AB11"]
    log = "".join(contact(CALL=f"Q{i}AB", GRIDSQUARE=text) for i, text in enumerate(texts))
    got = rows(tmp_path, log + contact(CALL="Q9AB", MY_GRIDSQUARE="IN83"))
    assert got["tx_locator"].tolist() == ["", "", "JO22", "JO22AB", "JO22", "", "JO22AB11", "JO22"]
    assert "nowhere" in got.loc["Q5AB", "doubt"]
    assert got["rx_locator"].iloc[-1] == "IN83"
    assert got["rx_locator"].iloc[0] == "IN93"


def test_other_locator_in_a_later_export(tmp_path):
    """The longer locator is kept, the other one is named."""
    first, later = tmp_path / "first.adi", tmp_path / "later.adi"
    first.write_text(contact(GRIDSQUARE="JO22"))
    later.write_text(contact(GRIDSQUARE="JO33AB"))
    got = gather_files([first, later])
    assert got.spots["tx_locator"].tolist() == ["JO33AB"]
    assert "JO22" in got.spots["doubt"].iloc[0]
    assert got.account["duplicates"].sum() == 1


def test_nowhere(tmp_path):
    """Latitude 0, longitude 0 is an unknown place, another place is a locator."""
    zero = {"GRIDSQUARE": None, "LAT": "N000 00.000", "LON": "E000 00.000"}
    place = {"GRIDSQUARE": None, "LAT": "S034 54.600", "LON": "W056 12.700"}
    got = rows(tmp_path, contact(**zero) + contact(CALL="Q3AB", **place))
    # QST, January 1989, worked example (from memory): 34.91 S, 56.21166 W is GF15VC
    assert got["tx_locator"].tolist() == ["", "GF15VC"]


def test_told_more_than_once(tmp_path):
    """Exact duplicates, re-exports with less in them, and the partner's log a minute apart are one contact."""
    own, again, partner = (tmp_path / name for name in ("own.adi", "own later.adi", "partner.adi"))
    own.write_text(contact(TIME_ON="141812", FREQ="50.110") + contact(TIME_ON="141812", FREQ="50.110"))
    again.write_text(contact(GRIDSQUARE=None) + contact(CALL="Q3AB", TIME_ON="1420"))
    partner.write_text(
        contact(
            CALL="Q1OWN", STATION_CALLSIGN="Q2AB", MY_GRIDSQUARE="JO22CD", GRIDSQUARE=None, TIME_ON="1419"
        )
    )
    got = gather_files([own, again, partner])
    assert got.spots["tx_call"].tolist() == ["Q2AB", "Q3AB"]
    assert got.spots["tx_locator"].iloc[0] == "JO22CD"
    assert got.spots["freq_mhz"].iloc[0] == pytest.approx(50.11)
    assert got.account.set_index("source")["duplicates"].to_dict() == {
        "own later.adi": 1,
        "own.adi": 1,
        "partner.adi": 1,
    }


def test_call_signs(tmp_path):
    """Portable, short, long and hashed calls are calls; a name and dots in brackets are none."""
    right = ["Q1A/P", "F/Q1ABC", "Q1A", "Q12ABCDEF", "<Q1ABCD>", "Q1ABC/MM", "q1ab"]
    got = gathered(
        tmp_path,
        "".join(
            contact(CALL=call, TIME_ON=f"14{i:02}") for i, call in enumerate([*right, "<...>", "friend"])
        ),
    )
    assert got.spots["tx_call"].tolist() == [call.strip("<>").upper() for call in right]
    assert len(got.set_aside) == 2


def test_modes(tmp_path):
    """A submode given as mode, a mode only allowed on import, and a submode under its mode agree."""
    got = rows(
        tmp_path,
        contact(MODE="PSK31") + contact(CALL="Q3AB", MODE="PSK", SUBMODE="PSK31") + contact(CALL="Q4AB", MODE="USB")
        + contact(CALL="Q5AB", MODE="SSB", SUBMODE="USB") + contact(CALL="Q6AB", MODE="MFSK", SUBMODE="FT4")
        + contact(CALL="Q7AB", MODE="FT4") + contact(CALL="Q8AB", MODE="CW", SUBMODE="nonsense"),
    )  # fmt: skip
    assert got["mode"].tolist() == ["PSK31", "PSK31", "SSB", "SSB", "FT4", "FT4", "CW"]


def test_spot_lists_kept_by_hand(tmp_path):
    """Blanks around tabs, a date above the rows, trailing commas, a sign-off that looks like a locator."""
    padded = "when \t freq \t heard \t locator \t by \n2024-06-09 14:18 \t 50.313 \t Q2AB \t JO22 \t \n"
    assert rows(tmp_path, padded, name="padded.txt")["tx_locator"].tolist() == ["JO22"]
    dated = "2024-06-09,\n14:18:15,Q2AB,JO22,50.313,FT8,-12,+08,,,\n14:19:00,Q3AB,,50.313,FT8,-02,+01,,,\n2024-06-10\n00:05:00,Q4AB,RR73,50.313,FT8,1,-1,,,\n"
    got = rows(tmp_path, dated, name="dated.txt", station="Q1OWN")
    assert got["time"].dt.day.tolist() == [9, 9, 10]
    assert got["tx_locator"].tolist() == ["JO22", "", ""]
    assert set(got["rx_call"]) == {"Q1OWN"}


def test_dates_that_are_left_out(tmp_path):
    """A date in the file's name serves its rows; without any date, and past midnight, rows are set aside."""
    list_of = "14:18,Q2AB,JO22,50.313\n14:20,Q3AB,JO22,50.313\n00:10,Q4AB,JO22,50.313\n"
    got = gathered(tmp_path, list_of, name="heard 2024-06-09.txt")
    assert got.spots["time"].dt.strftime("%Y-%m-%d").tolist() == ["2024-06-09"] * 2
    assert got.set_aside["source_row"].tolist() == [3]
    assert len(gathered(tmp_path, list_of, name="heard.txt").set_aside) == 3
    no_year = "9 June\n14:18,Q2AB,JO22,50.313\n14:20,Q3AB,JO22,50.313\n"
    assert len(gathered(tmp_path, no_year, name="heard.txt").set_aside) == 2
    named = gathered(tmp_path, no_year, name="summer 2024.txt")
    assert named.spots["time"].dt.strftime("%Y-%m-%d").tolist() == ["2024-06-09"] * 2


@pytest.mark.parametrize(
    ("header", "cell", "dbm"),
    [
        ("power W", "25", 43.98),
        ("power dBm", "37", 37),
        ("erp", "0.5W", 26.99),
        ("mW", "200", 23.01),
        ("pwr", "23 dBm", 23),
    ],
)
def test_power(tmp_path, header, cell, dbm):
    """Power in W, mW or dBm, by header or beside the number."""
    text = f"time,freq,tx,tx locator,rx,rx locator,{header}\n2024-06-09 14:18,50.313,Q2AB,JO22,Q1OWN,IN93,{cell}\n"
    assert rows(tmp_path, text, name="spots.csv").loc["Q2AB", "tx_power_dbm"] == pytest.approx(dbm, abs=0.01)


def test_future(tmp_path):
    """A date in the future is set aside, whatever the other rows say."""
    got = gathered(tmp_path, contact() + contact(CALL="Q3AB", QSO_DATE="20990609"))
    assert got.spots["tx_call"].tolist() == ["Q2AB"]
    assert "future" in got.set_aside["reason"].iloc[0]


def test_times_of_two_kinds(tmp_path):
    """HHMM beside HHMMSS; a record without a time is set aside."""
    got = gathered(
        tmp_path,
        contact(TIME_ON="1418") + contact(CALL="Q3AB", TIME_ON="141830") + contact(CALL="Q4AB", TIME_ON=None),
    )
    assert got.spots["time"].dt.second.tolist() == [0, 30]
    assert got.set_aside["field"].tolist() == ["time"]


def test_form_without_content(tmp_path):
    """Records without call, band or mode: those without a call or any band are set aside, one by one."""
    text = (
        record(QSO_DATE="20240609", TIME_ON="1418", BAND="6m")
        + contact(BAND=None)
        + contact(CALL="Q3AB", MODE=None)
    )
    got = gathered(tmp_path, text)
    assert got.set_aside["field"].tolist() == ["call", "band"]
    assert got.spots["mode"].tolist() == [""]


def test_ambiguous_dates_ask(tmp_path):
    """03/04/2024 alone is no date; the file is refused with the question, and the answer is obeyed."""
    from analysis.gather.problems import InputError

    text = "time,freq,tx,tx locator,rx,rx locator\n03/04/2024 14:18,50.313,Q2AB,JO22,Q1OWN,IN93\n"
    with pytest.raises(InputError, match="day or month"):
        gathered(tmp_path, text, name="spots.csv")
    template = tmp_path / "spots.csv.columns.toml"
    template.write_text(template.read_text().replace('date_order = "?"', 'date_order = "month first"'))
    assert rows(tmp_path, text, name="spots.csv")["time"].dt.month.tolist() == [3]


def test_a_time_before_there_were_such_contacts(tmp_path):
    """A slip of the century is set aside; the contact of a long life on the air stays."""
    path = tmp_path / "log.adi"
    path.write_text(contact(QSO_DATE="19240609") + contact(QSO_DATE="19510609"))
    got = gather_files([path])
    assert got.spots["time"].dt.year.tolist() == [1951]
    assert got.set_aside["found"].tolist() == ["19240609 1418"]


@pytest.mark.parametrize("station", ["", "Q1OWN"])
def test_a_log_that_names_nobody_is_placed_with_a_word(tmp_path, station):
    """Rows that name neither station nor place are put at home, and a note says so, from the store as well."""
    path, other = tmp_path / "log.adi", tmp_path / "other.adi"
    path.write_text("<EOH>" + contact(STATION_CALLSIGN=None, MY_GRIDSQUARE=None) + contact(CALL="Q3AB"))
    other.write_text("<EOH>" + contact(CALL="Q4AB"))
    options = {"home": "IN93", "station": station}
    for got in (
        gather_files([path, other], **options),
        add_to_store([path, other], store=tmp_path / "s", **options),
    ):
        assert got.notes.to_dict("records") == [
            {
                "source": "log.adi",
                "note": "rows that name neither station nor place: 1 of 2, put at IN93 as --home says",
            }
        ]
    assert gather_files([path, other]).notes.empty


def test_two_members_of_one_name(tmp_path):
    """An archive may hold one name twice; both are read."""
    path = tmp_path / "year.zip"
    with zipfile.ZipFile(path, "w") as archive, warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)
        archive.writestr("a.adi", "<EOH>" + contact())
        archive.writestr("a.adi", "<EOH>" + contact(CALL="Q3AB"))
        archive.writestr("a.adi (2)", "<EOH>" + contact(CALL="Q4AB"))
    got = gather_files([path])
    assert got.account["source"].tolist() == [
        "year.zip/a.adi",
        "year.zip/a.adi (2)",
        "year.zip/a.adi (2) (2)",
    ]
    assert sorted(got.spots["tx_call"]) == ["Q2AB", "Q3AB", "Q4AB"]


def test_digits_of_other_scripts_cost_their_own_record(tmp_path):
    """One record with such digits is set aside or doubted; the file is read."""
    path = tmp_path / "log.adi"
    path.write_text(
        "<EOH>" + contact(TIME_ON="١٤١٨") + contact(QSO_DATE="２０２４０６０９") + contact(LAT="٤٥")
    )
    got = gather_files([path])
    assert got.account[["kept", "set_aside"]].to_numpy().tolist() == [[1, 2]]


def test_halves_of_characters_in_json(tmp_path):
    """JSON can spell out half of a character; its cell and its name are read as far as they are text."""
    row = '{"time": "2024-06-09 14:18", "tx_call": "Q2AB", "tx_locator": "JO22", "freq": 50.3, "x\\ud800": "\\udfff"}\n'
    for text in (row, f"[{row.strip()},\n{row.strip()}]"):
        assert gathered(tmp_path, text, name="spots.json").account["kept"].tolist() == [1]

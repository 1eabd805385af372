"""Contacts told twice, logs in local time, and contest logs."""

import pytest

from analysis.gather.files import gather_files
from tests.gather.logs import contact

CONTEST = """START-OF-LOG: 3.0
CALLSIGN: Q1OWN
GRID-LOCATOR: IN93
QSO:    50 PH 2024-06-08 1802 Q1OWN         59  IN93   Q2AB/R        59  JO22
QSO:   144 CW 2024-06-08 1803 Q1OWN         599 001 IN93EK Q3AB      599 014 JN11AB
QSO:  1.2G DG 2024-06-08 1804 Q1OWN IN93 Q4AB JO22
QSO: 50313 DG 2024-06-08 1805 Q1OWN 59 12 Q5AB 59 7
X-QSO:  50 PH 2024-06-08 1806 Q1OWN 59 IN93 Q6AB 59 JO22
QSO:    50 PH 2024-06-08 Q1OWN IN93
SOAPBOX: QSO: none of this is a contact
END-OF-LOG:
"""


def gathered(tmp_path, **logs):
    paths = []
    for name, text in logs.items():
        paths.append(tmp_path / f"{name}.adi")
        paths[-1].write_text("<EOH>" + text)
    return gather_files(paths)


def test_contest_log(tmp_path):
    """Calls and locators are found among whatever else is exchanged; lines that are none are set aside."""
    path = tmp_path / "contest.log"
    path.write_text(CONTEST)
    got = gather_files([path])
    rows = got.spots.set_index("tx_call")
    assert rows["band"].to_dict() == {"Q2AB/R": "6m", "Q3AB": "2m", "Q4AB": "23cm", "Q5AB": "6m"}
    assert rows["mode"].tolist() == ["SSB", "CW", "DIGI", "DIGI"]
    assert rows["tx_locator"].tolist() == ["JO22", "JN11AB", "JO22", ""]
    assert rows["rx_locator"].tolist() == ["IN93", "IN93EK", "IN93", "IN93"]
    assert rows["freq_mhz"].dropna().tolist() == [50.313]
    assert rows["source_row"].tolist() == [4, 5, 6, 7]
    assert got.set_aside["source_row"].tolist() == [8, 9]


def test_rover_keeps_every_square(tmp_path):
    """A rover worked in one minute from two squares is two contacts, in one log and in two."""
    one = contact(CALL="Q2AB/R", GRIDSQUARE="JO22")
    two = contact(CALL="Q2AB/R", GRIDSQUARE="JO32")
    assert len(gathered(tmp_path, a=one + two).spots) == 2
    assert len(gathered(tmp_path, a=one, b=two).spots) == 2


@pytest.mark.parametrize(
    ("change", "contacts"),
    [
        ({"TIME_ON": "1420"}, 1),
        ({"TIME_ON": "1421"}, 2),
        ({"BAND": "2m"}, 2),
        ({"MODE": "CW"}, 2),
        ({"MODE": None}, 1),
        ({"GRIDSQUARE": "JO22XX"}, 1),
        ({"CALL": "Q2AC"}, 2),
    ],
    ids=str,
)
def test_what_is_the_same_contact(tmp_path, change, contacts):
    """Two exports tell one contact within two minutes, on one band, in modes that agree."""
    assert len(gathered(tmp_path, a=contact(), b=contact(**change)).spots) == contacts


def test_within_one_log_only_the_same_minute(tmp_path):
    """A log that works a station again a minute later means it."""
    assert len(gathered(tmp_path, a=contact(TIME_ON="141805") + contact(TIME_ON="1418")).spots) == 1
    assert len(gathered(tmp_path, a=contact(TIME_ON="1418") + contact(TIME_ON="1419")).spots) == 2


def test_heard_reports_are_never_joined(tmp_path):
    """Two receptions a quarter of a minute apart are two receptions."""
    path = tmp_path / "heard.csv"
    path.write_text(
        "time,freq,heard,locator,heard by,own locator\n2024-06-09 14:18:00,50.313,Q2AB,JO22,Q1OWN,IN93\n"
        "2024-06-09 14:18:15,50.313,Q2AB,JO22,Q1OWN,IN93\n"
    )
    assert len(gather_files([path]).spots) == 2


def test_log_in_local_time_is_noted_and_not_shifted(tmp_path):
    """Two logs that hold the same contacts two hours apart: a note, and every time as written."""
    calls = [f"Q{i}AB" for i in range(6)]
    own = "".join(contact(CALL=call, TIME_ON=f"1{i}00") for i, call in enumerate(calls))
    again = "".join(contact(CALL=call, TIME_ON=f"1{i + 2}01") for i, call in enumerate(calls))
    got = gathered(tmp_path, own=own, again=again)
    assert len(got.spots) == 12
    assert got.notes["source"].tolist() == ["again.adi"]
    assert "2 h later here than in own.adi" in got.notes["note"].iloc[0]
    assert gathered(tmp_path, own=own, again=own).notes.empty

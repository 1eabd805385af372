"""Notes on the FM broadcast band as listeners write them, and lists of its transmitters."""

import pandas as pd
import pytest

from analysis.gather.files import gather_files

SHAPES = {  # every one tells the same four receptions
    "locators": "utc,MHz,transmitter locator,listener,listener locator\n"
    "2024-06-12 14:32,98.4,JM75FU,Q1OWN,IN93EK\n2024-06-12 14:40,101.2,JM75FU,Q1OWN,IN93EK\n"
    "2024-06-12 14:41,89.9,JN62,Q1OWN,IN93EK\n2024-06-13 09:05,107.75,JM75FU,Q1OWN,IN93EK\n",
    "comma decimals": "Datum;Zeit;MHz;Sender;Standort;Hörer;Hörer Locator\n"
    "12.06.2024;14:32;98,4;Radio Luna;JM75FU;Anselm;IN93EK\n12.06.2024;14:40;101,2;Radio Sol;JM75FU;Anselm;IN93EK\n"
    "12.06.2024;14:41;89,9;Rete Uno;JN62;Anselm;IN93EK\n13.06.2024;09:05;107,75;Radio Luna;JM75FU;Anselm;IN93EK\n",
    "coordinates": "date,time,frequency,station,latitude,longitude,heard by,my square\n"
    "2024-06-12,14:32,98.4,Radio Luna,35.85,14.46,Q1OWN,IN93EK\n2024-06-12,14:40,101.2,Sol,35.85,14.46,Q1OWN,IN93EK\n"
    "2024-06-12,14:41,89.9,Uno,42.5,13.0,Q1OWN,IN93EK\n2024-06-13,09:05,107.75,Luna,35.85,14.46,Q1OWN,IN93EK\n",
    "one cell of coordinates": "time;freq;coordinates;listener;qth locator of listener\n"
    "2024-06-12 14:32;98.4;35,85 14,46;Q1OWN;IN93EK\n2024-06-12 14:40;101.2;35.85 N, 14.46 E;Q1OWN;IN93EK\n"
    "2024-06-12 14:41;89.9;N 42.5 / E 13.0;Q1OWN;IN93EK\n2024-06-13 09:05;107.75;JM75FU;Q1OWN;IN93EK\n",
    "kilohertz, own words": "quand (utc);kHz;émetteur;lieu;auditeur;carré auditeur\n"
    "2024-06-12 14:32;98400;Radio Luna;JM75FU;chez nous;IN93EK\n2024-06-12 14:40;101200;Sol;JM75FU;chez nous;IN93EK\n"
    "2024-06-12 14:41;89900;Uno;JN62;chez nous;IN93EK\n2024-06-13 09:05;107750;Luna;JM75FU;chez nous;IN93EK\n",
    "no header": "2024-06-12 14:32;98.4;Radio Luna;JM75FU;Q1OWN;IN93EK\n2024-06-12 14:40;101.2;Sol;JM75FU;Q1OWN;IN93EK\n"
    "2024-06-12 14:41;89.9;Uno;JN62;Q1OWN;IN93EK\n2024-06-13 09:05;107.75;Luna;JM75FU;Q1OWN;IN93EK\n",
}  # fmt: skip
TIMES = ["2024-06-12 14:32", "2024-06-12 14:40", "2024-06-12 14:41", "2024-06-13 09:05"]


def gathered(folder, home="", station="", **files):
    paths = []
    for name, text in files.items():
        paths.append(folder / f"{name}.csv")
        paths[-1].write_text(text, encoding="utf-8")
    return gather_files(paths, home=home, station=station)


@pytest.mark.parametrize("shape", SHAPES)
def test_every_note_becomes_a_spot_of_a_band_of_its_own(tmp_path, shape):
    found = gathered(tmp_path, notes=SHAPES[shape])
    spots = found.spots
    assert list(spots["time"].dt.strftime("%Y-%m-%d %H:%M")) == TIMES, found.guesses
    assert spots["band"].astype("str").eq("FM").all()
    assert list(spots["freq_mhz"]) == [98.4, 101.2, 89.9, 107.75]
    assert list(spots["tx_locator"].str[:4]) == ["JM75", "JM75", "JN62", "JM75"]
    assert spots["rx_locator"].eq("IN93EK").all()
    assert spots["rx_call"].ne("").all()
    assert spots["kind"].eq("heard").all()
    assert spots["tx_call"].ne("").all()
    assert spots["doubt"].eq("").all()
    assert found.set_aside.empty


NAMED = (
    "time,MHz,transmitter,listener\n2024-06-12 14:32,98.4,Monte Gris,Q1OWN\n2024-06-12 14:40,101.2,Sierra Baja,Q1OWN\n"
    "2024-06-12 14:41,89.9,MONTE  GRÍS,Q1OWN\n2024-06-13 09:05,107.75,Nowhere,Q1OWN\n"
)
PLACES = "name,locator\nMonte Gris,JM75FU\nSierra Baja,JN62\n"


@pytest.mark.parametrize(
    "places", [PLACES, "place;lat;lon;MHz\nMonte Gris;35,85;14,46;98,4\nSierra Baja;42,5;13,0;101,2\n"]
)
def test_names_are_placed_by_a_list_of_their_own(tmp_path, places):
    found = gathered(tmp_path, home="IN93EK", station="Q1OWN", notes=NAMED, places=places)
    assert list(found.spots["tx_locator"].str[:4]) == ["JM75", "JN62", "JM75"]
    assert found.spots["rx_locator"].eq("IN93EK").all()
    row = found.set_aside.iloc[0]
    assert len(found.set_aside) == 1
    assert row["found"] == "NOWHERE"
    assert "where the transmitter is" in row["reason"]
    account = found.account.set_index("source")
    assert (account["rows_in"] == account["kept"] + account["set_aside"] + account["duplicates"]).all()
    assert account.loc["notes.csv", "set_aside"] == 1


def test_a_listener_without_a_place_is_set_aside_unless_other_reports_tell_it(tmp_path):
    notes = "time,MHz,transmitter locator,listener\n2024-06-12 14:32,98.4,JM75FU,Q1OWN\n2024-06-12 15:32,98.4,JM75FU,Q2ELSE\n"
    alone = gathered(tmp_path, notes=notes)
    assert alone.spots.empty
    assert alone.set_aside["reason"].str.contains("where the listener is").all()
    spots = "time,freq,tx call,tx locator,rx call,rx locator,mode\n2024-06-12 14:00,50.313,Q5FAR,JM75,Q1OWN,IN93EK,FT8\n"
    both = gathered(tmp_path, notes=notes, spots=spots)
    kept = both.spots[both.spots["band"] == "FM"]
    assert list(kept["rx_call"]) == ["Q1OWN"]
    assert list(kept["rx_locator"]) == ["IN93EK"]


def test_broadcasts_among_amateur_spots_keep_their_names_and_slips_are_set_aside(tmp_path):
    spots = (
        "time,freq,tx call,tx locator,rx call,rx locator,mode\n2024-06-12 14:00,50.313,Q5FAR,JM75,Q1OWN,IN93EK,FT8\n"
        "2024-06-12 14:02,50.313,Q5FAS,JM76,Q1OWN,IN93EK,FT8\n2024-06-12 14:03,50.313,Q5FAT,JM77,Q1OWN,IN93EK,FT8\n"
        "2024-06-12 14:09,98.4,Radio Luna,JM75,Q1OWN,IN93EK,FM\n2024-06-12 14:11,98.4,Q5FAR,JM75,Q1OWN,IN93EK,FT8\n"
    )
    found = gathered(tmp_path, spots=spots)
    assert list(found.spots["band"].astype("str")) == ["6m", "6m", "6m", "FM"]
    assert found.spots["tx_call"].iloc[-1] == "RADIO LUNA"
    assert list(found.set_aside["field"]) == ["band"]


def test_declared_hours_name_the_band(tmp_path):
    hours = "station,band,start,end\nQ1OWN,FM,2024-06-12 14:00,2024-06-12 16:00\n"
    found = gathered(tmp_path, notes=SHAPES["locators"], hours=hours)
    assert list(found.listening["band"]) == ["FM"]


def test_a_number_alone_names_no_band():
    from analysis.gather.cells import values

    assert list(values.bands(pd.Series(["100", "FM", "145", "98.4"])).astype("str")) == ["", "FM", "2m", ""]

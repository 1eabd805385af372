"""Files of evidence are told by their headings and read row by row; nothing else is taken for one."""

import pandas as pd
import pytest

from analysis.gather.evidence import files, kinds
from analysis.gather.problems import InputError

FILES = {
    "noted.csv": "day issued,day meant,index,area\n2024-06-01,2024-06-03,5,\n2024-06-01,2024-05-03,5,IN93-IO70\n"
    "2024-06-01,x,5,\n2024-06-01,2024-06-02,abc,\n",
    "wetter.csv": "Datum;Luftdruck hPa;Temperatur (°C);Gewitter;warm front;wind kn\n"
    "01.06.2024;1013,2;20,1;ja;;12\n02.06.2024;1009,0;18;nein;x;7\n02.06.2024;1009;18;nein;;\n",
    "2024-06-12_00.csv": "height,temperature,dew point\n0,293.1,288.0\n100,292,287\n",
    "grid.asc": "ncols 2\nnrows 2\nxllcorner -2\nyllcorner 43\ncellsize 1\nNODATA_value -9999\n1 2\n3 -9999\n",
}
SPOTS = "date,utc,call heard,square heard,MHz,temperature\n2024-06-01,12:00,Q1A,IN93,50.1,20\n"


@pytest.fixture
def folder(tmp_path):
    """A folder with one file of each kind."""
    for name, text in FILES.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def test_kinds_are_told_by_headings(folder, tmp_path):
    """Each file is what its heading says; a spot table with a temperature in it stays a spot table."""
    told = {name: kinds.kind_of_file(folder / name) for name in FILES}
    assert list(told.values()) == ["forecasts", "weather", "soundings", "terrain"]
    (tmp_path / "spots.csv").write_text(SPOTS, encoding="utf-8")
    assert kinds.kind_of_file(tmp_path / "spots.csv") == ""
    evidence, others = files.parted([*map(folder.joinpath, FILES), tmp_path / "spots.csv"])
    assert len(evidence) == 4
    assert [path.name for path in others] == ["spots.csv"]


@pytest.mark.parametrize(
    "heads",
    [
        "Noted on;Valid for;Tropo index 0-10",
        "Day issued,Day meant,Index 0-10",
        "issued;meant;index (0 to 10)",
    ],
)
def test_the_scale_of_an_index_may_stand_in_its_heading(heads):
    """However people call the column and whatever scale they write beside it."""
    assert kinds.kind_of(heads.replace(";", ",").split(",")) == kinds.FORECASTS


def test_a_folder_of_soundings_stands_for_its_files(tmp_path):
    """A folder that holds evidence alone is taken whole; one with a log in it is searched for it, too."""
    for hour in ("00", "12"):
        (tmp_path / f"20240612{hour}.csv").write_text(FILES["2024-06-12_00.csv"], encoding="utf-8")
    evidence, others = files.parted([tmp_path])
    assert (len(evidence), others) == (2, [])
    times = files.gather_evidence(evidence).soundings["time"].unique()
    assert [f"{time:%d %H}" for time in times] == ["12 00", "12 12"]
    (tmp_path / "log.adi").write_text("<eoh>", encoding="utf-8")
    assert files.parted([tmp_path]) == (evidence, [tmp_path])


def test_rows_are_read_or_set_aside_with_their_reason(folder):
    """Dates, decimal commas, yes and no, kelvin; every row that cannot be used has a line, a reason, a repair."""
    found = files.gather_evidence(files.parted([folder])[0])
    assert found.forecasts["lead"].tolist() == [2.0]
    assert found.forecasts.iloc[0][["band", "mechanism"]].tolist() == ["2m", "TR"]
    assert found.weather.columns.tolist() == [
        "day",
        "pressure",
        "temperature",
        "thunder",
        "warm_front",
        "wind_kn",
    ]
    assert found.weather.iloc[0, 1:].tolist() == [1013.2, 20.1, 1.0, 0.0, 12.0]
    assert found.soundings["temperature_c"].round(2).tolist() == [19.95, 18.85]
    assert found.ground.at(lon=[-1.5, -0.5, 5], lat=[43.5, 44.5, 0])[:2].tolist() == [3, 2]
    odd = found.set_aside.groupby("source")["source_row"].agg(list).to_dict()
    assert {name: sorted(rows) for name, rows in odd.items()} == {"noted.csv": [3, 4, 5], "wetter.csv": [4]}
    account = found.account
    assert (account["rows_in"] == account["kept"] + account["set_aside"]).all()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("height,temperature,dew point\n0,20,15\n", "nothing says when"),
        ("ncols 2\nnrows 2\nxllcorner 0\nyllcorner 43\ncellsize 1\n1 2\n", "1 rows of 2"),
        ("ncols 1\nnrows 1\nxllcorner 600000\nyllcorner 43\ncellsize 100\n1\n", "degrees"),
        ("date,temperature\n", "no row"),
        ("date,temperature\n2024-06-01,mild\n", "no column of numbers"),
    ],
)
def test_a_file_that_cannot_be_used_is_one_line(tmp_path, text, said):
    """The line names the file and the repair."""
    path = tmp_path / "odd.txt"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=said):
        files.gather_evidence([path])


def test_nothing_brought_is_nothing():
    """Without files every table is empty, with its columns."""
    none = files.NO_EVIDENCE
    assert len(none.forecasts) == len(none.soundings) == len(none.account) == 0
    assert none.ground is None


def test_no_place_is_named_where_nobody_shall_be(folder):
    """Squares are cut to four characters, other words of areas get a number, the ground is left out."""
    found = files.gather_evidence([folder / "grid.asc"])
    noted = pd.DataFrame({"area": ["IN93kd-IO70ab", "Lantern Point", ""], "forecast": "mine"})
    hidden = files.nameless(files.replace(found, forecasts=noted))
    assert hidden.forecasts["area"].tolist() == ["IN93-IO70", "area 2", ""]
    assert set(hidden.forecasts["forecast"]) == {"forecast 1"}
    assert hidden.ground is None


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("time,Kp\n2024-05-10 15:00,8.67\n2024-05-10 18:00,9-\n", [(15, 8.67), (18, 8.67)]),
        ("date;time;Kp index\n10.05.2024;15:00;5+\n10.05.2024;18:00;4,33\n", [(15, 5.33), (18, 4.33)]),
        ("date,K index\n2024-05-10,5\n", [(hour, 5.0) for hour in range(0, 24, 3)]),
    ],
)
def test_a_planetary_index_is_read_in_thirds_and_days(tmp_path, text, expected):
    """Three-hour values with signs or decimals; a day's value stands for its eight spans."""
    (tmp_path / "field.csv").write_text(text, encoding="utf-8")
    found = files.gather_evidence(files.parted([tmp_path / "field.csv"])[0]).field
    assert [(time.hour, round(value, 2)) for time, value in found.itertuples(index=False)] == expected


def test_an_index_beyond_its_scale_is_set_aside(tmp_path):
    """The reason and the repair stand beside it."""
    (tmp_path / "field.csv").write_text(
        "time,Kp\n2024-05-10 15:00,48\n2024-05-10 18:00,4\n", encoding="utf-8"
    )
    found = files.gather_evidence([tmp_path / "field.csv"])
    assert list(found.field["index"]) == [4.0]
    assert "from 0 to 9" in found.set_aside["reason"].iloc[0]

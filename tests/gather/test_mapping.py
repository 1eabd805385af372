"""What a person answers about a table: obeyed, checked, and never turned against another table."""

import re
import zipfile

import pytest

from analysis.gather.files import gather_files
from analysis.gather.problems import InputError
from tests.gather.logs import contact
from tests.gather.shapes import SHAPES, season, written

LOCAL = (
    "local time,freq,heard,locator,heard by,own locator\n"
    "2024-06-09 16:18,50.313,Q2AB,JO22,Q1OWN,IN93\n2024-01-09 16:18,50.313,Q2AB,JO22,Q1OWN,IN93\n"
)
ENDING = ".columns.toml"


def asked(path):
    """The template that a table which cannot be told leaves beside it."""
    with pytest.raises(InputError, match="cannot tell"):
        gather_files([path])
    return path.with_name(path.name + ENDING)


def answer(template, old, new):
    template.write_text(template.read_text().replace(old, new))


@pytest.mark.parametrize(
    ("zone", "hours"),
    [("UTC", [16, 16]), ("+02:00", [14, 14]), ("-0330", [19, 19]), ("Europe/Madrid", [15, 14])],
)
def test_local_time_is_shifted_by_the_users_word_alone(tmp_path, zone, hours):
    """A header that says local time is asked about; then the zone that is named counts, summer time and all."""
    path = tmp_path / "spots.csv"
    path.write_text(LOCAL)
    answer(asked(path), 'zone = "?"', f'zone = "{zone}"')
    assert gather_files([path]).spots["time"].dt.hour.tolist() == hours


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('zone = "?"', 'zone = "Mars/Phobos"', "zone is 'Mars/Phobos'"),
        ('zone = "?"', "zone = ", "is no TOML"),
        ('"heard by" = "rx_call"', '"heard by" = "tx_call"', "two columns are 'tx_call'"),
        ('"heard" = "tx_call"', '"heard" = "call"', "column 'heard' has 'call'"),
    ],
)
def test_wrong_answers_are_refused(tmp_path, old, new, said):
    """An answer that cannot be meant is one line with the name of the file to mend."""
    path = tmp_path / "spots.csv"
    path.write_text(LOCAL)
    answer(asked(path), old, new)
    with pytest.raises(InputError, match=said) as caught:
        gather_files([path])
    assert "spots.csv.columns.toml" in str(caught.value)


def test_answer_for_another_table_never_exchanges_sides(tmp_path):
    """A table of as many columns whose rows say the opposite is asked about again."""
    silent = SHAPES[4]  # headerless: receiver's call before the transmitter's, frequencies settle it
    few, many = tmp_path / "few.csv", tmp_path / "many.csv"
    few.write_text(written(season(seed=3).head(6), silent))
    template = asked(few)
    for column, word in (("1", "tx_call"), ("2", "rx_call"), ("3", "tx_locator"), ("4", "rx_locator")):
        answer(template, f'"{column}" = "?"', f'"{column}" = "{word}"')
    many.write_text(written(season(seed=3), silent))
    with pytest.raises(InputError, match=r"who transmitted: few\.csv\.columns\.toml says column '1'"):
        gather_files([many])


def test_answer_for_another_shape_is_not_overwritten(tmp_path):
    """Another table under an old name gets a template of its own."""
    path = tmp_path / "spots.csv"
    path.write_text(LOCAL)
    answer(first := asked(path), 'zone = "?"', 'zone = "+02:00"')
    kept = first.read_text()
    path.write_text(LOCAL.replace("freq", "qrg"))
    with pytest.raises(InputError, match=r"spots\.csv\.2\.columns\.toml"):
        gather_files([path])
    assert first.read_text() == kept


def test_archive_of_several_files(tmp_path):
    """Each file in an archive is a file of its own; what an operating system adds is none."""
    path = tmp_path / "year.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("club/a.adi", "<EOH>" + contact())
        archive.writestr("b.adi", "<EOH>" + contact(CALL="Q3AB"))
        archive.writestr("__MACOSX/._b.adi", "x")
    got = gather_files([path])
    assert got.account["source"].tolist() == ["year.zip/b.adi", "year.zip/club/a.adi"]
    assert got.account["kept"].tolist() == [1, 1]


@pytest.mark.parametrize("day", ["06-09", "09.06.", "9 Jun", "Jun 9"])
@pytest.mark.parametrize("name", ["log 2024.csv", "log.csv"])
def test_days_without_a_year(tmp_path, day, name):
    """The file's name gives the year; where nothing does, the rows are set aside."""
    path = tmp_path / name
    path.write_text(f"date;time;call;locator;MHz\n{day};14:18;Q2AB;JO22;50.313\n")
    got = gather_files([path])
    if "2024" in name:
        assert got.spots["time"].dt.strftime("%m-%d").tolist() == ["06-09"]
    else:
        assert got.set_aside["field"].tolist() == ["time"]
    assert got.beacons.empty


def test_hours_of_listening_beside_one_date(tmp_path):
    """Times of day beside a date run past midnight where the end comes first."""
    path = tmp_path / "hours.csv"
    path.write_text("date;from;to;band\n09.06.2024;22:00;01:30;6m\n")
    got = gather_files([path], station="Q1OWN").listening.iloc[0]
    assert (got["end"] - got["start"]).total_seconds() == 3.5 * 3600


def test_own_list_of_who_heard_us(tmp_path):
    """Without a column of its own the station that was heard is ours, at home."""
    path = tmp_path / "us.csv"
    path.write_text("time,freq,heard by,locator heard by\n2024-06-09 16:18,50.313,Q2AB,JO22\n")
    got = gather_files([path], station="Q1OWN", home="IN93").spots.iloc[0]
    assert [got[name] for name in ("tx_call", "tx_locator", "rx_call", "rx_locator")] == [
        "Q1OWN",
        "IN93",
        "Q2AB",
        "JO22",
    ]


POINTS = (
    "Tag;Zeit;Rufzeichen;Feld;MHz\n"
    "01. 04. 2022;00.08.37;Q2AB;JO22;50.313\n13. 04. 2022;00.09.05;Q3AB;JO33;50.313\n"
)


def test_spaced_dates_and_dotted_times(tmp_path):
    """Blanks behind the points of a date and points in a time of day need no question."""
    path = tmp_path / "log.csv"
    path.write_text(POINTS)
    got = gather_files([path], home="IN93")
    assert got.spots["time"].astype("str").tolist() == [
        "2022-04-01 00:08:37+00:00",
        "2022-04-13 00:09:05+00:00",
    ]
    path.write_text(
        POINTS.replace(".37", "").replace(".05", "")
    )  # hours and minutes alone, the header says so
    got = gather_files([path], home="IN93")
    assert got.spots["time"].astype("str").tolist() == [
        "2022-04-01 00:08:00+00:00",
        "2022-04-13 00:09:00+00:00",
    ]


@pytest.mark.parametrize("header", [True, False])
def test_a_persons_answer_wins(tmp_path, header):
    """Cells that look like nothing to the recogniser are what a person says they are, the first time."""
    path = tmp_path / "log.csv"
    lines = (
        "a;b;c;d;e;f\n" * header + "2022 04 01;18.02;Q2AB;Q1OWN;JO22;6m\n2022 04 13;8.31;Q3AB;Q1OWN;JO33;6m\n"
    )
    path.write_text(lines)
    names = "abcdef" if header else "012345"
    template = asked(path)
    words = dict(zip(names, ("date", "clock", "tx_call", "rx_call", "tx_locator", "band"), strict=True))
    text = template.read_text()
    for name, word in words.items():
        text = re.sub(rf'^"{name}" = "[^"]*"', f'"{name}" = "{word}"', text, flags=re.MULTILINE)
    template.write_text(text)
    got = gather_files([path], home="IN93")
    assert got.spots["time"].dt.strftime("%H:%M").tolist() == ["18:02", "08:31"]
    assert [file.name for file in tmp_path.iterdir() if file.name.endswith(ENDING)] == [template.name]


def test_an_answer_that_no_cell_bears_out_is_contradicted_once(tmp_path):
    """One line says which value contradicts which word; no second template is written."""
    path = tmp_path / "spots.csv"
    path.write_text(LOCAL)
    template = asked(path)
    answer(template, 'zone = "?"', 'zone = "UTC"')
    answer(template, '"locator" = "tx_locator"', '"locator" = "tx_power"')
    with pytest.raises(
        InputError, match=r"spots\.csv\.columns\.toml: column 'locator' is tx_power, but no .*'JO22'"
    ):
        gather_files([path])
    assert sorted(tmp_path.iterdir()) == [path, template]


def test_an_order_that_is_needed_is_asked_for_once_more(tmp_path):
    """Saying that no order of day and month is needed is contradicted by a date that needs one."""
    path = tmp_path / "spots.csv"
    path.write_text(
        LOCAL.replace("local time", "time")
        .replace("2024-06-09", "03/04/2024")
        .replace("2024-01-09", "03/04/2024")
    )
    answer(asked(path), 'date_order = "?"', 'date_order = "not needed"')
    with pytest.raises(
        InputError, match=r"spots\.csv\.columns\.toml: date_order is 'not needed', but .*'03/04/2024 16:18'"
    ):
        gather_files([path])


def test_no_template_passes_over_what_is_needed(tmp_path):
    """Where no time was found, no column is set to ignore that may be one."""
    path = tmp_path / "log.csv"
    path.write_text("a;b;c;d;e\nx1;8~37;Q2AB;Q1OWN;fine\nx2;9~05;Q3AB;Q1OWN;good\n")
    text = asked(path).read_text()
    assert {line[:9] for line in text.splitlines() if line[:1] == '"'} >= {'"a" = "?"', '"b" = "?"'}
    assert '"e" = "ignore"' in text

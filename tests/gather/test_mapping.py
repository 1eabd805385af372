"""What a person answers about a table: obeyed, checked, and never turned against another table."""

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

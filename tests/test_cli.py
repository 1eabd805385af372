"""The command line as a user meets it: one clear line, the right exit code, nothing half-written."""

import errno
import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from analysis import cli

GOOD = (
    "made by hand\n<EOH>\n"
    "<CALL:5>QA1AA <QSO_DATE:8>20240610 <TIME_ON:4>1015 <BAND:2>6m <MODE:2>CW <GRIDSQUARE:4>JN61 <EOR>\n"
)


def run(capsys, *arguments):
    """Exit code and what was said on stderr."""
    code = cli.main([str(argument) for argument in arguments])
    return code, capsys.readouterr().err


def write(folder, name, content):
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


BROKEN = {
    "cut.adi": "no header\n<EOH>\n<CALL:5>QA1",
    "photo.adi": b"\x89PNG\r\n\x1a\n" + bytes(range(256)),
    "nowhere.csv": "utc,heard,heard by,band,mode\n2024-06-10 10:15,QA1AA,QB1BB,6m,FT8\n",
    "empty.adi": "",
}


@pytest.mark.parametrize("name", BROKEN)
def test_broken_file_gets_one_line(name, tmp_path, capsys):
    """A file that cannot be used is named in one line, exit 2, and nothing is left behind."""
    path = write(tmp_path, name, BROKEN[name])
    code, said = run(capsys, "review", path, "--home", "IN93", "--out", tmp_path / "out")
    assert code == cli.BAD_INPUT
    assert said.count("\n") == 1
    assert name in said
    assert os.listdir(tmp_path) == [name]  # noqa: PTH208 - every entry, hidden ones too


def test_folder_gets_one_line(tmp_path, capsys):
    """A folder in place of a file."""
    (tmp_path / "logs").mkdir()
    code, said = run(capsys, "review", tmp_path / "logs", "--home", "IN93", "--out", tmp_path / "out")
    assert (code, said.count("\n")) == (cli.BAD_INPUT, 1)
    assert "logs" in said


def test_unreadable_file_gets_one_line(tmp_path, capsys, monkeypatch):
    """A file without read permission (the superuser may read everything, so the refusal is staged)."""
    path = write(tmp_path, "locked.adi", GOOD)

    def refuse(*args, **kwargs):
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr("pathlib.Path.open", refuse)
    monkeypatch.setattr("pathlib.Path.read_bytes", refuse)
    code, said = run(capsys, "review", path, "--home", "IN93", "--out", tmp_path / "out")
    assert (code, said.count("\n")) == (cli.BAD_INPUT, 1)
    assert "locked.adi" in said


def test_missing_file_gets_one_line(tmp_path, capsys):
    """A name that leads nowhere."""
    code, said = run(capsys, "review", tmp_path / "gone.adi", "--home", "IN93", "--out", tmp_path / "out")
    assert (code, said.count("\n")) == (cli.BAD_INPUT, 1)
    assert "gone.adi" in said


def test_no_home_gets_one_line(tmp_path, capsys):
    """A log that does not say where it was made, and no --home."""
    path = write(tmp_path, "log.adi", GOOD)
    code, said = run(capsys, "review", path, "--out", tmp_path / "out")
    assert (code, said.count("\n")) == (cli.BAD_INPUT, 1)
    assert "--home" in said


def test_wrong_home_gets_one_line(tmp_path, capsys):
    """--home that is no locator."""
    path = write(tmp_path, "log.adi", GOOD)
    code, said = run(capsys, "review", path, "--home", "ZZ99", "--out", tmp_path / "out")
    assert (code, said.count("\n")) == (cli.BAD_INPUT, 1)
    assert "ZZ99" in said


def test_foreign_folder_is_left_alone(tmp_path, capsys):
    """--out that holds something else is not overwritten."""
    mine = tmp_path / "photos"
    mine.mkdir()
    write(mine, "holiday.txt", "keep me")
    code, said = run(capsys, "review", "--out", mine)
    assert (code, said.count("\n")) == (cli.BAD_INPUT, 1)
    assert [path.name for path in mine.iterdir()] == ["holiday.txt"]


def test_our_own_fault_leaves_a_report(tmp_path, capsys, monkeypatch):
    """A fault of ours is exit 1 and one line that names the report file, never a traceback."""
    from analysis import review

    def fail(*args, **kwargs):
        raise ZeroDivisionError("made up")

    monkeypatch.setattr(review, "review", fail)
    code, said = run(capsys, "review", "--out", tmp_path / "out")
    assert (code, said.count("\n")) == (cli.OUR_FAULT, 1)
    report = said.strip().split()[-1]
    with open(report, encoding="utf-8") as file:  # noqa: PTH123 - the name as printed
        assert "made up" in file.read()
    os.unlink(report)  # noqa: PTH108


def test_what_cannot_be_written_is_named(tmp_path, capsys, monkeypatch):
    """A folder that cannot be made is the user's to mend: its name, exit 2, no report of a fault."""
    from analysis import review

    monkeypatch.setattr(review, "open_tables", lambda folder: None)
    write(tmp_path, "file", "in the way")
    code, said = run(capsys, "card", "--out", tmp_path / "file" / "sub" / "card.pdf")
    assert (code, said.count("\n")) == (cli.BAD_INPUT, 1)
    assert str(tmp_path / "file") in said


MACHINE = {
    "a full disk": (OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)), "no space is left"),
    "a full disk at a file": (OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), "out/a.csv"), "out/a.csv"),
    "a full disk in a notebook": (
        RuntimeError("notebook 01.ipynb: OSError: " + os.strerror(errno.ENOSPC)),
        "space",
    ),
    "a full quota": (OSError(errno.EDQUOT, os.strerror(errno.EDQUOT)), "no space is left"),
    "a full disk under a database": (
        sqlite3.OperationalError("database or disk is full"),
        "no space is left",
    ),
    "no memory": (MemoryError("Unable to allocate 3 GiB"), "memory does not suffice"),
    "no memory for a thread": (RuntimeError("can't start new thread"), "memory does not suffice"),
    "no memory in a notebook": (RuntimeError("notebook 01.ipynb: MemoryError"), "memory does not suffice"),
}


@pytest.mark.parametrize("name", MACHINE)
def test_what_the_machine_refuses_is_no_fault_of_ours(name, tmp_path, capsys, monkeypatch):
    """One line that says what to do, exit 2, no report; also where another error hides the first."""
    from analysis import review

    fault, expected = MACHINE[name]

    def refuse(*args, **kwargs):
        try:
            raise fault
        except Exception as first:
            raise ValueError("hides it") from first

    for failing in (refuse, lambda *args, **kwargs: (_ for _ in ()).throw(fault)):
        monkeypatch.setattr(review, "review", failing)
        code, said = run(capsys, "review", "--out", tmp_path / "out")
        assert (code, said.count("\n")) == (cli.BAD_INPUT, 1)
        assert expected in said
        assert "fault of ours" not in said


def test_a_fault_whose_report_cannot_be_written_is_still_one_line(tmp_path, capsys, monkeypatch):
    """The folder of temporary files is full as well."""
    from analysis import review

    def fail(*args, **kwargs):
        raise ZeroDivisionError

    def full(*args, **kwargs):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(review, "review", fail)
    monkeypatch.setattr("tempfile.mkstemp", full)
    code, said = run(capsys, "review", "--out", tmp_path / "out")
    assert (code, said.count("\n")) == (cli.OUR_FAULT, 1)
    assert "ZeroDivisionError" in said


@pytest.mark.skipif(os.name != "posix", reason="a home that is no folder, as only POSIX systems have it")
def test_a_home_that_cannot_be_written_is_no_hindrance(tmp_path):
    """Nothing is kept then, and notebooks are signed all the same."""
    script = (
        "from pathlib import Path; from analysis import folders, shipped, workbook\n"
        "workbook.trust(shipped.notebook_paths()[:1]); print(folders.cache_folder())"
    )
    homeless = {name: value for name, value in os.environ.items() if not name.startswith("XDG_")}
    done = subprocess.run(
        [sys.executable, "-c", script],
        env=homeless | {"HOME": "/dev/null/home"},
        capture_output=True,
        text=True,
        check=True,
    )
    assert not Path(done.stdout.strip()).exists()
    assert not Path(done.stdout.strip()).is_relative_to("/dev/null")


SPEAKS = (
    "import sys; from analysis import cli, review\n"
    "class Gathered: account = guesses = notes = None\n"
    "def gather(*args, **kwargs): print('caf\\u00e9 \\u2265 \\udce9' + ' more' * 50_000); raise SystemExit(cli.DONE)\n"
    "review.gather = gather\n"
    "sys.exit(cli.main(['gather', 'a', '--store', 'b']))"
)


def test_what_the_screen_cannot_show_stops_nothing():
    """A terminal that knows ASCII only, and a name that is no text at all."""
    narrow = os.environ | {"PYTHONIOENCODING": "ascii"}
    done = subprocess.run([sys.executable, "-c", SPEAKS], env=narrow, capture_output=True, check=False)
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout.startswith(rb"caf\xe9 \u2265 \udce9")


@pytest.mark.skipif(os.name != "posix", reason="a pipe as POSIX systems have it")
def test_a_reader_who_has_enough_gets_no_error():
    """`seasonbook gather ... | head -1`."""
    process = subprocess.Popen(
        [sys.executable, "-c", SPEAKS.replace("raise SystemExit(cli.DONE)", "sys.stdout.flush()")],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    process.stdout.close()
    with process.stderr:
        assert process.stderr.read() == b""
    assert process.wait() == cli.DONE


def test_card_is_a_pdf(tmp_path, capsys, monkeypatch):
    """Another ending is refused before anything is written."""
    from analysis import review

    monkeypatch.setattr(review, "open_tables", lambda folder: None)
    code, said = run(capsys, "card", "--out", tmp_path / "card.png")
    assert (code, said.count("\n")) == (cli.BAD_INPUT, 1)
    assert ".pdf" in said
    assert not list(tmp_path.iterdir())


def test_gather_says_what_it_guessed(tmp_path, capsys):
    """A column that no name explains is told with how sure the guess is, and sample cells."""
    path = write(
        tmp_path,
        "spots.csv",
        "when,call heard,square heard,heard by,listener square,MHz,mode\n"
        + "".join(f"2024-06-10 10:{k}:00,QA{k}A,JN61,QB1BB,IN93,50.313,FT8\n" for k in range(15, 25)),
    )
    assert cli.main(["gather", str(path), "--store", str(tmp_path / "store"), "--home", "IN93"]) == cli.DONE
    said = capsys.readouterr().out
    assert "column 'when' read as time" in said
    assert "2024-06-10 10:15:00" in said
    assert "column 'mode'" not in said
    more = write(tmp_path, "log.adi", GOOD.replace("QA1AA", "QB1BB"))
    assert cli.main(["gather", str(more), "--store", str(tmp_path / "store"), "--home", "IN93"]) == cli.DONE
    assert "column 'when'" not in capsys.readouterr().out


def test_gather_says_how_many_rows_may_be_wrong(tmp_path, capsys):
    """A square that nobody could have been in is kept, counted beside its file and pointed at."""
    rows = "".join(
        f"2024-06-10 {k:02}:15:00,QA2A,{'JN61' if k != 12 else 'QF56'},QB1BB,IN93,50.313,FT8\n"
        for k in range(1, 23)
    )
    path = write(tmp_path, "spots.csv", "time,tx call,tx locator,rx call,rx locator,MHz,mode\n" + rows)
    assert cli.main(["gather", str(path), "--store", str(tmp_path / "store")]) == cli.DONE
    said = capsys.readouterr().out.splitlines()
    assert said[0].split()[-1] == "doubted"
    assert said[1].split() == ["spots.csv", "22", "22", "0", "0", "1"]
    assert "1 of the rows kept may be wrong; tables/doubts.csv" in said[2]


@pytest.mark.skipif(os.name != "posix", reason="a name that is no text to the machine's settings")
def test_no_setting_of_language_or_clock_changes_what_is_read(tmp_path, capsys):
    """Plain ASCII settings, an odd time zone and a folder with an accent: the same account and the same notes."""
    folder = tmp_path / "été"
    folder.mkdir()
    rows = "".join(f"10.06.2024;23:5{k};QA{k}ı;JN61;QB1BB;IN93;50,313\n" for k in range(9))
    write(folder, "juin é.csv", ("Datum;UTC;tx call;tx locator;rx call;rx locator;MHz\n" + rows))
    assert cli.main(["gather", str(folder), "--store", str(tmp_path / "a"), "--quiet"]) == cli.DONE
    told = capsys.readouterr().out
    bare = {"LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0", "TZ": "Pacific/Kiritimati"}
    line = [sys.executable, "-m", "analysis.cli", "gather", folder, "--store", tmp_path / "b", "--quiet"]
    done = subprocess.run(line, env=os.environ | bare, capture_output=True, check=True)
    assert done.stdout.decode("ascii").encode().decode("unicode_escape") == told
    manifests = [(tmp_path / name / "manifest.json").read_bytes() for name in "ab"]
    assert manifests[0] == manifests[1]


def test_a_file_is_no_review(tmp_path, capsys):
    """Whoever names a log after --review is told that it is a file."""
    (tmp_path / "log.adi").write_text("x<EOH>\n", encoding="utf-8")
    order = ["plan", "--review", str(tmp_path / "log.adi"), "--out", str(tmp_path / "plan")]
    assert cli.main(order) == cli.BAD_INPUT
    assert "is a file; name the folder that a review left" in capsys.readouterr().err

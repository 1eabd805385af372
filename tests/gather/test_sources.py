"""Folders and archives named as a whole: every log and table in them is read, and what is none is told."""

import zipfile
from functools import partial

import pytest

from analysis.gather.files import gather_files
from analysis.gather.problems import InputError
from analysis.gather.reading import sources
from analysis.gather.store import add_to_store
from tests.gather.logs import contact

LETTER = "Dear members,\n\nhere are our logs of the summer, all of them in UTC.\n\n73, the club\n"
LOG = "<EOH>" + contact()
OTHER = "<EOH>" + contact(CALL="Q3AB")


@pytest.fixture
def archive(tmp_path):
    """A log beside what people pack with it."""
    path = tmp_path / "club.zip"
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr("log.adi", LOG)
        packed.writestr("letter.txt", LETTER)
        packed.writestr("mast.jpg", b"\xff\xd8\xff picture")
        packed.writestr("nothing.txt", "")
        packed.writestr("begun.adi", "my log\n<EOH>\n<CALL:4>Q2")
        packed.writestr("begun.log", "START-OF-LOG: 3.0\nCALLSIGN: Q1OWN\n")
    return path


def told(gathered):
    """What was left out, by file."""
    return gathered.notes.set_index("source")["note"].to_dict()


def test_letter_in_an_archive(archive):
    """What is no log or table is left out in one line each; the log is read, and the account lists all."""
    got = gather_files([archive])
    assert len(got.spots) == 1
    left_out = {
        f"club.zip/{name}" for name in ("letter.txt", "mast.jpg", "nothing.txt", "begun.adi", "begun.log")
    }
    assert told(got).keys() == left_out
    assert told(got)["club.zip/mast.jpg"].startswith("left out: is a JPEG picture")
    account = got.account.set_index("source")
    assert account["rows_in"].to_dict() == {"club.zip/log.adi": 1, **dict.fromkeys(left_out, 0)}


def test_letter_in_a_store(archive, tmp_path):
    """A store tells the same, each time."""
    for _ in range(2):
        got = add_to_store([archive], store=tmp_path / "store")
        assert len(got.spots) == 1
        assert told(got) == told(gather_files([archive]))


def test_named_letter_is_refused(tmp_path):
    """A file that the user named himself is refused, and so is a damaged one in an archive."""
    path = tmp_path / "letter.txt"
    path.write_text(LETTER)
    with pytest.raises(InputError, match=r"letter\.txt: no column of call signs"):
        gather_files([path])


def test_question_in_an_archive_is_asked(tmp_path):
    """A table whose columns cannot be told apart stops the gathering: its rows are wanted."""
    path = tmp_path / "club.zip"
    rows = "2024-06-09 14:18,50.313,Q2AB,JO22,Q1OWN,IN93\n" + "2024-06-09 14:19,50.313,Q3AB,JO33,Q4AB,IN93\n"
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr("log.adi", LOG)
        packed.writestr("spots.csv", rows)
    with pytest.raises(InputError, match="cannot tell"):
        gather_files([path])


@pytest.mark.parametrize("store", [False, True])
def test_nothing_but_letters(archive, tmp_path, store):
    """Where every file is left out there is nothing to gather, and a store is not begun with them."""
    (tmp_path / "folder").mkdir()
    (tmp_path / "folder" / "letter.txt").write_text(LETTER)
    gather = partial(add_to_store, store=tmp_path / "store") if store else gather_files
    with pytest.raises(InputError, match="none of the 1 files found is a log"):
        gather([tmp_path / "folder"])
    if store:
        assert len(add_to_store([archive], store=tmp_path / "store").account) == 6


def test_folder_is_all_files_in_it(tmp_path):
    """Files of a folder and its folders, but nothing hidden, no template, and nothing that we made."""
    folder = tmp_path / "my logs"
    for name in (
        "2023/may.adi",
        "2024.adi",
        ".hidden.adi",
        ".git/log.adi",
        "x.csv.columns.toml",
        "letter.txt",
    ):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text({"2023/may.adi": LOG, "letter.txt": LETTER}.get(name, OTHER))
    (folder / "review" / ".seasonbook").mkdir(parents=True)
    (folder / "review" / "account.csv").write_text("source,rows_in\na,1\n")
    add_to_store([folder / "2024.adi"], store=folder / "store")
    got = gather_files([folder])
    assert got.account["source"].tolist() == ["2024.adi", "letter.txt", "may.adi"]
    assert sorted(got.spots["tx_call"]) == ["Q2AB", "Q3AB"]


def test_file_named_beside_its_folder(tmp_path):
    """It is read once, and refused if it is no log: the user named it."""
    (tmp_path / "log.adi").write_text(LOG)
    (tmp_path / "letter.txt").write_text(LETTER)
    assert len(gather_files([tmp_path, tmp_path / "log.adi"]).account) == 2
    with pytest.raises(InputError, match=r"letter\.txt"):
        gather_files([tmp_path, tmp_path / "letter.txt"])


def test_empty_folder(tmp_path):
    """One line that names the folder."""
    with pytest.raises(InputError, match="is a folder that holds no log"):
        gather_files([tmp_path])


def test_a_name_that_is_empty():
    """An unknown variable of the shell does not stand for the working folder."""
    with pytest.raises(InputError, match="name of a file is empty"):
        gather_files([""])


def test_a_whole_disk_is_no_folder_of_logs(tmp_path, monkeypatch):
    """More files than any club has are refused before one of them is read."""
    monkeypatch.setattr(sources, "MOST_FILES", 2)
    for number in range(3):
        (tmp_path / f"{number}.adi").write_text(LOG)
    with pytest.raises(InputError, match="holds more than 2 files"):
        gather_files([tmp_path])

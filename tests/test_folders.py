"""What a command fills anew: ours is replaced, everybody else's stays, whenever the process dies."""

import errno
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from analysis import folders
from analysis.gather.problems import InputError

TODAY = datetime.now(UTC).date().isoformat()
no_fork = pytest.mark.skipif(not hasattr(os, "fork"), reason="the system has no fork")


def fill(out, *, product="review", **content):
    """Fill `out` with a few files; `a__b_txt` stands for a/b.txt."""
    with folders.refilled(out, product=product) as new:
        for name, text in content.items():
            path = new / name.replace("__", "/").replace("_", ".")
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text)


def content(folder, *, ours=False):
    """Every file under a folder and its text, our own notes left out."""
    files = {
        path.relative_to(folder).as_posix(): path for path in sorted(folder.rglob("*")) if path.is_file()
    }
    return {
        name: path.read_text() for name, path in files.items() if ours or not name.startswith(".seasonbook")
    }


def test_what_we_made_is_replaced_and_what_we_make_no_more_is_removed(tmp_path):
    """A second run leaves its own files only; an empty folder of ours goes too."""
    fill(tmp_path / "out", article_md="old", figures__a_svg="old", figures__b_svg="old")
    fill(tmp_path / "out", article_md="new", card_pdf="new")
    assert content(tmp_path / "out") == {"article.md": "new", "card.pdf": "new"}
    assert not (tmp_path / "out" / "figures").exists()
    assert folders.put_aside(tmp_path / "out") == []


def test_a_changed_file_is_put_aside_under_a_dated_name(tmp_path):
    """Twice on one day gives two names, and both are told when they come."""
    out = tmp_path / "out"
    fill(out, article_md="first")
    for turn, name in enumerate((f"article.{TODAY}.md", f"article.{TODAY}-2.md"), start=1):
        (out / "article.md").write_text(f"my words {turn}")
        fill(out, article_md=f"made {turn}")
        assert folders.put_aside(out) == [name]
        assert (out / name).read_text() == f"my words {turn}"
        assert (out / "article.md").read_text() == f"made {turn}"
    fill(out, article_md="made 3")
    assert folders.put_aside(out) == []
    assert (out / f"article.{TODAY}.md").read_text() == "my words 1"


def test_a_foreign_file_stays_where_it_is(tmp_path):
    """Photos, an own notebook, a file in a folder of ours that is made no more."""
    out = tmp_path / "out"
    fill(out, notebooks__01_ipynb="made", tables__spots_csv="made")
    for name in ("photos/mast.jpg", "notebooks/mine.ipynb", "tables/mine.csv"):
        (out / name).parent.mkdir(exist_ok=True)
        (out / name).write_text("mine")
    fill(out, notebooks__01_ipynb="new")
    mine = {"photos/mast.jpg": "mine", "notebooks/mine.ipynb": "mine", "tables/mine.csv": "mine"}
    assert content(out) == {"notebooks/01.ipynb": "new"} | mine


def test_a_changed_file_that_is_made_no_more_stays(tmp_path):
    """It is the user's now."""
    fill(tmp_path / "out", a_md="made", b_md="made")
    (tmp_path / "out" / "b.md").write_text("mine")
    fill(tmp_path / "out", a_md="made")
    assert content(tmp_path / "out") == {"a.md": "made", "b.md": "mine"}


@pytest.mark.parametrize("kind", ["file", "folder", "link to a file", "link to a folder"])
def test_whatever_stands_in_the_way_is_put_aside(tmp_path, kind):
    """Where a folder of ours must be, and where a file must be; nothing outside is written through a link."""
    out, elsewhere = tmp_path / "out", tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "precious.txt").write_text("mine")
    fill(out, a_md="made")
    for name in ("figures", "card.pdf"):
        if kind == "file":
            (out / name).write_text("mine")
        elif kind == "folder":
            (out / name).mkdir()
            (out / name / "mine.txt").write_text("mine")
        else:
            (out / name).symlink_to(elsewhere / "precious.txt" if kind == "link to a file" else elsewhere)
    fill(out, a_md="new", figures__a_svg="new", card_pdf="new")
    assert (out / "figures" / "a.svg").read_text() == "new"
    assert (out / "card.pdf").read_text() == "new"
    expected = {f"card.{TODAY}.pdf"} | (set() if kind == "folder" else {f"figures.{TODAY}"})
    assert set(folders.put_aside(out)) == expected
    assert all(os.path.lexists(out / name) for name in expected)
    assert content(elsewhere) == {"precious.txt": "mine"}
    if kind == "folder":
        assert (out / "figures" / "mine.txt").read_text() == "mine"


def test_two_products_in_one_folder_leave_one_another_alone(tmp_path):
    """A plan made into a review's folder: neither removes what the other made."""
    fill(tmp_path / "out", a_md="review", product="review")
    fill(tmp_path / "out", b_md="plan", product="plan")
    fill(tmp_path / "out", a_md="review again", product="review")
    assert content(tmp_path / "out") == {"a.md": "review again", "b.md": "plan"}
    assert folders.put_aside(tmp_path / "out") == []


@pytest.mark.parametrize("where", ["deep/new", "older"])
def test_a_failure_leaves_everything_as_it_was(tmp_path, where):
    """Nothing is left of a first run, and nothing changes in an older one."""
    fill(tmp_path / "older", a_md="made")
    before = content(tmp_path, ours=True)

    def fail():
        with folders.refilled(tmp_path / where, product="review") as new:
            (new / "a.md").write_text("half")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail()
    assert content(tmp_path, ours=True) == before
    assert not (tmp_path / "deep").exists()


def test_what_a_killed_run_left_is_swept(tmp_path):
    """Its half-made files go with the next run, and nothing else does."""
    left = tmp_path / "out" / folders.OURS / folders.NEW
    left.mkdir(parents=True)
    (left / "half.md").write_text("half")
    (tmp_path / "out" / "mine.txt").write_text("mine")
    fill(tmp_path / "out", a_md="made")
    assert content(tmp_path / "out") == {"a.md": "made", "mine.txt": "mine"}
    assert not left.exists()


REFUSED = {
    "photos": "holds what no command of ours left there",
    "file": "is a file",
    "nowhere": "is a link that leads nowhere",
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_not_ours_is_refused_before_any_work(tmp_path, name):
    """One line, and not a byte is written."""
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "mast.jpg").write_text("mine")
    (tmp_path / "file").write_text("mine")
    (tmp_path / "nowhere").symlink_to(tmp_path / "gone")
    before = content(tmp_path, ours=True)
    with pytest.raises(InputError, match=REFUSED[name]), folders.refilled(tmp_path / name, product="plan"):
        pytest.fail("the work began")
    assert content(tmp_path, ours=True) == before


def test_this_folder_and_a_link_are_followed(tmp_path, monkeypatch):
    """--out . in a new folder, and --out LINK."""
    (tmp_path / "real").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "real")
    fill(tmp_path / "link", a_md="by the link")
    monkeypatch.chdir(tmp_path / "real")
    fill(Path(), b_md="from within")
    assert content(tmp_path / "real") == {"b.md": "from within"}
    assert (tmp_path / "link").is_symlink()


def test_a_second_command_is_told_to_wait(tmp_path):
    """Two at once do not spoil one another."""
    with folders.refilled(tmp_path / "out", product="review") as new:
        (new / "a.md").write_text("first")
        with pytest.raises(InputError, match="written by another command"):
            fill(tmp_path / "out", a_md="second")
    assert content(tmp_path / "out") == {"a.md": "first"}


def test_an_unreadable_list_is_refused(tmp_path):
    """Without it nobody knows what is the user's."""
    fill(tmp_path / "out", a_md="made")
    (tmp_path / "out" / folders.OURS / folders.MADE).write_text("{")
    with pytest.raises(InputError, match=r"made\.json: cannot be read"):
        fill(tmp_path / "out", a_md="new")
    assert (tmp_path / "out" / "a.md").read_text() == "made"


def died_after(out, steps):
    """Whether a run that dies before its `steps`-th step of the file system came to its end."""
    child = os.fork()
    if child:
        return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 9
    left = iter(range(steps))

    def counted(original):
        def step(path, *arguments, **options):
            if next(left, None) is None:
                os._exit(9)
            return original(path, *arguments, **options)

        return step

    for name in ("replace", "rename", "unlink", "rmdir"):
        setattr(Path, name, counted(getattr(Path, name)))
    try:
        fill(out, **{f"{name}_md": f"new {name}" for name in "abce"})
    finally:
        os._exit(0)


@no_fork
@pytest.mark.parametrize("repair", ["reading", "repeating"])
def test_a_death_at_any_step_is_made_good(tmp_path, repair):
    """Before the list is there all is old, after it all is new; what the user changed or added is never lost."""
    steps, seen = 0, set()
    while True:
        out = tmp_path / str(steps)
        fill(out, a_md="old a", b_md="old b", d_md="old d")
        (out / "b.md").write_text("mine")
        (out / "c.md").write_text("mine too")
        died = died_after(out, steps)
        if repair == "reading":
            folders.finish(out)
        else:
            fill(out, a_md="new a", b_md="new b", c_md="new c", e_md="new e")
        left = content(out)
        if left["a.md"] == "old a":
            expected = {"a.md": "old a", "b.md": "mine", "c.md": "mine too", "d.md": "old d"}
        else:
            expected = {f"{name}.md": f"new {name}" for name in "abce"}
            expected |= {f"b.{TODAY}.md": "mine", f"c.{TODAY}.md": "mine too"}
        assert left == expected, steps
        seen.add(left["a.md"])
        if not died:
            break
        steps += 1
    assert steps > 8
    assert seen == ({"old a", "new a"} if repair == "reading" else {"new a"})


def test_a_single_file_that_differs_is_put_aside(tmp_path):
    """An edited draft gets a dated name; the same bytes again leave no trace."""
    draft = tmp_path / "deep" / "draft.md"
    assert folders.write_file(draft, lambda path: path.write_text("made")) is None
    assert folders.write_file(draft, lambda path: path.write_text("made")) is None
    draft.write_text("my words")
    aside = folders.write_file(draft, lambda path: path.write_text("made anew"))
    assert aside == draft.with_name(f"draft.{TODAY}.md")
    assert content(draft.parent) == {"draft.md": "made anew", aside.name: "my words"}


def test_a_single_file_is_written_whole_or_not_at_all(tmp_path):
    """A failure amid the writing leaves the earlier file, and nothing beside it."""

    def fail(path):
        path.write_text("half")
        raise OSError(28, "No space left on device")

    (tmp_path / "draft.md").write_text("my words")
    with pytest.raises(OSError, match="No space"):
        folders.write_file(tmp_path / "draft.md", fail)
    assert content(tmp_path) == {"draft.md": "my words"}


def refill_for_ever(out):
    """A child process that refills `out` until it is killed."""
    child = os.fork()
    if child:
        return child
    try:
        rng = random.Random()
        while True:
            names = rng.sample(range(40), 20)
            fill(out, **{f"{name}_md": f"made {rng.random()}" * 50 for name in names})
    finally:
        os._exit(1)


@no_fork
def test_kills_at_random_moments_lose_nothing(tmp_path):
    """A process that refills a folder is killed fifty times; what the user wrote between is all there."""
    rng, out, mine = random.Random(4), tmp_path / "out", set()
    fill(out, a_md="made")
    for turn in range(50):
        child = refill_for_ever(out)
        time.sleep(rng.uniform(0, 0.08))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        for name in rng.sample(range(40), 5):
            file = out / f"{name}.md"
            mine.discard(file.read_text() if file.exists() else "")  # the user's own hand replaces it
            mine.add(f"mine {turn} {name}")
            file.write_text(f"mine {turn} {name}")
    fill(out, a_md="made")
    assert mine - set(content(out).values()) == set()
    assert not (out / folders.OURS / folders.NEW).exists()


@pytest.fixture
def small_disk(tmp_path):
    """A file system of one megabyte."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", str(disk)]
    if sys.platform != "linux" or subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("no right to mount a small file system")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


@pytest.mark.parametrize("free_kb", [0, 4, 200, 700])
def test_a_full_disk_changes_nothing(small_disk, free_kb):
    """Wherever in the work the disk fills up: the older files and the user's are all there, and a repeat works."""
    out, ballast = small_disk / "out", small_disk / "ballast"
    fill(out, a_md="old" * 10_000, b_md="old")
    (out / "b.md").write_text("mine")
    (out / "mine.txt").write_text("mine too")
    before = content(out)
    usage = shutil.disk_usage(small_disk)
    ballast.write_bytes(bytes(max(0, usage.free - free_kb * 1024)))
    with pytest.raises(OSError, match=os.strerror(errno.ENOSPC)):
        fill(out, a_md="new" * 100_000, b_md="new" * 100_000, c_md="new" * 100_000)
    assert content(out) == before
    ballast.unlink()
    fill(out, a_md="new", b_md="new")
    assert content(out) == {"a.md": "new", "b.md": "new", f"b.{TODAY}.md": "mine", "mine.txt": "mine too"}


def test_a_folder_that_vanishes_is_told(tmp_path):
    """What is half made is removed from under the command: one line names it, and a repeat works."""

    def fill_nothing():
        with folders.refilled(tmp_path / "out", product="review") as new:
            shutil.rmtree(new)
            (new / "page.html").write_text("x")

    with pytest.raises(InputError, match="was removed while we wrote in it"):
        fill_nothing()
    fill(tmp_path / "out", page_html="x")
    assert (tmp_path / "out" / "page.html").read_text() == "x"


def test_a_folder_that_vanishes_and_is_made_again_is_told(tmp_path):
    """What was made before is missing: nothing takes its place in part, and the older files stay."""
    fill(tmp_path / "out", a_md="old", b_md="old")

    def fill_half():
        with folders.refilled(tmp_path / "out", product="review") as new:
            (new / "a.md").write_text("new")
            shutil.rmtree(new)
            new.mkdir()
            (new / "b.md").write_text("new")

    with pytest.raises(InputError, match="was removed while we wrote in it"):
        fill_half()
    assert content(tmp_path / "out") == {"a.md": "old", "b.md": "old"}


def test_a_file_that_vanishes_is_told(tmp_path):
    """One of the files just made is gone when it is read again."""

    def fill_half():
        with folders.refilled(tmp_path / "out", product="review") as new:
            (new / "captions.json").read_text()

    with pytest.raises(InputError, match="was removed while we wrote in it"):
        fill_half()

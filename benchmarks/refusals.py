"""The file system refuses, or the process dies, at each step: is all of the user's there, and does a repeat work?

python -m benchmarks.refusals --most 60

Each command is run over a folder that an earlier run filled and a user changed. At one step of the file system
(opening, making, renaming or removing something in that folder) the step is refused: the disk is full, may not
be written, fails, has lost what was there; or the user presses Ctrl-C; or the process dies. What goes into a
review is worked out once and its notebooks are left out: the folder is under test.
"""

from __future__ import annotations

import argparse
import contextlib
import errno
import io
import os
import shutil
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from analysis import cli, folders, review
from analysis.gather.store import read_store
from benchmarks import faults
from tests.gather.logs import contact, season_log
from tests.test_anonymous import FILES

STEPS = ("open", "os.mkdir", "os.rename", "os.remove", "os.rmdir", "os.scandir", "os.listdir")
REFUSALS: dict[str, Callable[[str], BaseException]] = {
    name: lambda path, number=number: OSError(number, os.strerror(number), path)
    for name, number in (
        ("disk full", errno.ENOSPC),
        ("no right", errno.EACCES),
        ("read-only", errno.EROFS),
        ("disk fails", errno.EIO),
        ("vanished", errno.ENOENT),
    )
}
REFUSALS["Ctrl-C"] = lambda _path: KeyboardInterrupt()
_watched = {"folder": "", "step": 0, "at": -1, "refuse": None}


def _hook(event: str, given: tuple) -> None:
    """Count the steps in the watched folder; refuse the one asked for."""
    if not _watched["folder"] or event not in STEPS or not isinstance(given[0], (str, Path)):
        return
    if str(given[0]).startswith(_watched["folder"]):
        _watched["step"] += 1
        if _watched["step"] == _watched["at"]:
            raise _watched["refuse"](str(given[0]))


def ran(command: list[str], *, folder: Path, at: int = -1, refuse=None) -> tuple[int, str, int]:
    """Exit code, what was said on stderr, and how many steps were taken in the folder."""
    said = io.StringIO()
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(said):
        _watched.update(folder=str(folder), step=0, at=at, refuse=refuse)
        try:
            code = cli.main([*command, "--quiet"])
        finally:
            _watched["folder"] = ""
    return code, said.getvalue(), _watched["step"]


def died(command: list[str], *, folder: Path, at: int) -> None:
    """Run the command in a process of its own that ends without a word at one step."""
    child = os.fork()
    if child == 0:
        ran(command, folder=folder, at=at, refuse=lambda _path: os._exit(9))
        os._exit(0)
    os.waitpid(child, 0)


def tried(command: list[str], folder: Path, again: Callable[[], set[bytes]], *, most: int) -> Counter:
    """Every refusal at up to `most` steps each; `again` makes the folder and gives what must not be lost."""
    done: Counter = Counter()
    again()
    steps = ran(command, folder=folder)[2]
    for name, refuse in [*REFUSALS.items(), ("death", None)]:
        for at in np.unique(np.linspace(1, steps, min(most, steps)).round().astype(int)):
            mine = again()
            if refuse is None:
                died(command, folder=folder, at=at)
            else:
                code, said, _ = ran(command, folder=folder, at=at, refuse=refuse)
                done[_how(name, code, said)] += 1
            done[name] += 1
            done["lost"] += len(mine - _contents(folder))
            done["failed repeats"] += ran(command, folder=folder)[0] != cli.DONE
            done["lost"] += len(mine - _contents(folder))
    return done


def _how(name: str, code: int, said: str) -> str:
    if "fault of ours" in said or said.count("\n") > 1:
        return f"NOT ONE CLEAR LINE ({name}): {said[:200]!r}"
    return {cli.DONE: "done without it", cli.BAD_INPUT: "one line"}.get(code, "stopped")


def _contents(folder: Path) -> set[bytes]:
    return {path.read_bytes() for path in folder.rglob("*") if path.is_file() and path.stat().st_size < 100}


def _stores(place: Path) -> Iterator[tuple[list[str], Path, Callable]]:
    """A gathering into a store that holds another log, beside a file of the user's."""
    (place / "small.adi").write_text("<EOH>" + contact())
    (place / "log.adi").write_text(season_log(seed=4, n=30))
    store = place / "store"

    def again() -> set[bytes]:
        if store.exists():
            rows = len(read_store(store).spots)
            assert rows == 31, f"{rows} rows after a repeat"
            shutil.rmtree(store)
        ran(["gather", str(place / "small.adi"), "--store", str(store)], folder=store)
        (store / "spots" / "mine.adi").write_bytes(b"mine")
        return {b"mine"}

    yield ["gather", str(place / "log.adi"), "--store", str(store)], store, again


def _folders(place: Path) -> Iterator[tuple[list[str], Path, Callable]]:
    """A review, a plan, an article, a card over earlier ones that a user changed."""
    logs = place / "logs"
    logs.mkdir()
    for name, text in FILES.items():
        (logs / name).write_text(text)
    tables = review.analyse(review.gather([logs]), owner=review.Owner(home="IN93"))
    faults._quick()
    review.analyse = lambda *args, **kwargs: tables
    made = str(place / "made")
    assert ran(["review", str(logs), "--home", "IN93", "--out", made], folder=place / "x")[0] == cli.DONE
    turns = iter(range(10**9))
    for name, line in (
        ("review", ["review", str(logs), "--home", "IN93"]),
        ("plan", ["plan", "--review", made, "--band", "6m"]),
        ("article.md", ["article", "--review", made]),
        ("article.odt", ["article", "--review", made]),
        ("card.pdf", ["card", "--review", made]),
    ):
        folder = place / "out" / name.split(".")[0]
        out = folder / name if "." in name else folder

        def again(folder=folder, out=out) -> set[bytes]:
            turn = next(turns)
            if out == folder:
                folders.finish(folder)
                return faults._touched(folder, turn)
            folder.mkdir(parents=True, exist_ok=True)
            out.write_bytes(f"mine {turn}".encode())
            return {out.read_bytes()}

        folder.mkdir(parents=True, exist_ok=True)
        if out == folder:
            ran([*line, "--out", str(out)], folder=place / "x")
        yield [*line, "--out", str(out)], folder, again


def main() -> None:
    """One line for each command: how often each refusal, what was lost, which repeats failed, how it ended."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--most", type=int, default=20)
    parser.add_argument("--only", nargs="*", default=["gather", "review", "plan", "article", "card"])
    asked = parser.parse_args()
    sys.addaudithook(_hook)
    with tempfile.TemporaryDirectory() as place:
        for make in (_stores, _folders):
            for command, folder, again in make(Path(place)):
                if command[0] not in asked.only:
                    continue
                print(f"{command[0]}: {dict(tried(command, folder, again, most=asked.most))}", flush=True)


if __name__ == "__main__":
    main()

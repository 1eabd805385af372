"""Deaths and refusals amid a review or a plan: is what the user changed or added all there, and does a repeat work?

python -m benchmarks.faults --turns 100 --whole 3

Each turn takes a folder with a finished review (or plan) in which a user has changed and added files, starts
the same command over it and lets something happen at a random moment. The `--turns` leave out the notebooks,
which take a minute; the `--whole` ones are the command itself. The full disk is a small file system in memory
and needs the rights to mount one.
"""

from __future__ import annotations

import argparse
import contextlib
import multiprocessing
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

from analysis import cli, folders, products, review
from tests.test_anonymous import FILES

CHANGED = ("article.md", "tables/openings.csv", "plan.ics", "hours.csv")
ADDED = {"photos/mast.jpg": b"picture", "notebooks/mine.ipynb": b"{}", "mine.txt": b"words"}
MB = 2**20


def main() -> None:
    """Print one line per kind of fault: turns, lost files, repeats that failed, and how the command ended."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--turns", type=int, default=100)
    parser.add_argument("--whole", type=int, default=0)
    asked = parser.parse_args()
    context = multiprocessing.get_context("fork")  # a child has everything imported and starts at once
    with tempfile.TemporaryDirectory() as place:
        logs = Path(place, "logs")
        logs.mkdir()
        for name, text in FILES.items():
            (logs / name).write_text(text)
        commands = {
            "review": ["review", *map(str, sorted(logs.iterdir())), "--home", "IN93"],
            "plan": ["plan", "--review", f"{place}/made", "--band", "6m"],
        }
        _quick()
        (Path(place, "made") / "notebooks").mkdir(parents=True)
        review.kept_tables.save(
            review.analyse(review.gather(sorted(logs.iterdir())), owner=review.Owner(home="IN93")),
            Path(place, "made/tables"),
        )
        for fault, disturb in FAULTS.items():
            for name, command in commands.items():
                out = Path(place, fault, name)
                out.parent.mkdir(exist_ok=True)
                print(f"{fault}, {name}: {_turns(command, out, disturb, asked.turns, context)}", flush=True)
        if asked.whole:
            out = Path(place, "whole")
            print(f"kill, whole review: {_whole(commands['review'], out, asked.whole)}", flush=True)


def _turns(command: list[str], out: Path, disturb: Callable, turns: int, context) -> dict:
    """Disturb the command so many times over one folder that the user keeps changing."""
    rng, ended, lost, failed = random.Random(7), Counter(), 0, 0
    with _disk(out, small=disturb is _full):
        seconds = _timed(command, out, context)
        for turn in range(turns):
            mine = _touched(out, turn)
            ended[disturb(command, out, rng, seconds, context)] += 1
            folders.finish(out)
            lost += len(mine - _contents(out))
            if turn % 10 == 9:
                failed += _child(command, out, context).wait() != cli.DONE
                lost += len(mine - _contents(out))
    return {"turns": turns, "lost files": lost, "failed repeats": failed, "ended": dict(ended)}


def _touched(out: Path, turn: int) -> set[bytes]:
    """Change and add files as a user would; what they hold now must be found afterwards."""
    out.mkdir(exist_ok=True)
    mine = {}
    for name in CHANGED:
        if (out / name).exists():
            mine[name] = f"mine {turn} {name}".encode()
    for name, content in (mine | ADDED).items():
        (out / name).parent.mkdir(exist_ok=True)
        (out / name).write_bytes(content)
    return {*mine.values(), *ADDED.values()}


def _contents(out: Path) -> set[bytes]:
    return {path.read_bytes() for path in out.rglob("*") if path.is_file() and path.stat().st_size < 100}


class _child:
    """The command in a forked process; `wait` gives its exit code, negative for a signal."""

    def __init__(self, command, out, context):
        def work():
            with (
                Path(os.devnull).open("w") as nowhere,
                contextlib.redirect_stdout(nowhere),
                contextlib.redirect_stderr(nowhere),
            ):
                os._exit(cli.main([*command, "--out", str(out)]))

        self.process = context.Process(target=work)
        self.process.start()

    def wait(self, seconds=None):
        self.process.join(seconds)
        return self.process.exitcode


def _timed(command, out, context) -> float:
    start = time.perf_counter()
    assert _child(command, out, context).wait() == cli.DONE
    return time.perf_counter() - start


def _kill(command, out, rng, seconds, context, *, by=signal.SIGKILL) -> str:
    child = _child(command, out, context)
    child.wait(rng.uniform(0, 1.1 * seconds))
    if child.process.is_alive():
        os.kill(child.process.pid, by)
    return _how(child.wait())


def _interrupt(command, out, rng, seconds, context) -> str:
    return _kill(command, out, rng, seconds, context, by=signal.SIGINT)


def _vanish(command, out, rng, seconds, context) -> str:
    """The half-made files are removed from under the command."""
    child = _child(command, out, context)
    child.wait(rng.uniform(0, seconds))
    shutil.rmtree(out / folders.OURS / folders.NEW, ignore_errors=True)
    return _how(child.wait())


def _full(command, out, rng, seconds, context) -> str:
    """A file of somebody else's leaves a random rest of the disk."""
    ballast = out.parent / "ballast"
    free = shutil.disk_usage(out.parent).free
    ballast.write_bytes(bytes(max(0, free - rng.randrange(0, 4 * MB))))
    ended = _how(_child(command, out, context).wait())
    ballast.unlink()
    return ended


FAULTS = {
    "kill": _kill,
    "Ctrl-C": _interrupt,
    "vanishing folder": _vanish,
    "full disk": _full,
}


def _how(code: int) -> str:
    names = {cli.DONE: "done", cli.BAD_INPUT: "one line", cli.OUR_FAULT: "stopped or fault of ours"}
    return names.get(code, f"signal {-code}")


@contextlib.contextmanager
def _disk(out: Path, *, small: bool) -> Iterator[None]:
    """A file system of 48 MB where `out` will be, or the one that is there."""
    if not small:
        yield
        return
    subprocess.run(["mount", "-t", "tmpfs", "-o", "size=48m", "tmpfs", out.parent], check=True)
    try:
        yield
    finally:
        subprocess.run(["umount", out.parent], check=True)


def _whole(command: list[str], out: Path, turns: int) -> dict:
    """The command as a user runs it, notebooks and all, killed within its first hundred seconds."""
    rng, lost, line = random.Random(8), 0, [sys.executable, "-m", "analysis.cli", *command, "--out", out]
    subprocess.run(line, check=True, capture_output=True)
    for turn in range(turns):
        mine = _touched(out, turn)
        process = subprocess.Popen(line, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(rng.uniform(0, 100))
        process.kill()
        process.wait()
        folders.finish(out)
        lost += len(mine - _contents(out))
    mended = subprocess.run(line, check=False, capture_output=True).returncode == cli.DONE
    swept = not (out / folders.OURS / folders.NEW).exists()
    return {
        "turns": turns,
        "lost files": lost + len(mine - _contents(out)),
        "repeat works": mended,
        "swept": swept,
    }


def _quick() -> None:
    """Leave out the notebooks and all but the first pictures: what is under test is the folder."""

    def fill(folder: Path, tables) -> None:
        review.kept_tables.save(tables, folder / "tables")
        (folder / "notebooks").mkdir()
        (folder / "notebooks" / "00_start.ipynb").write_text("{}")
        (folder / "figures").mkdir()
        (folder / "figures" / "captions.json").write_text("{}")
        (folder / "article.md").write_text("made " + str(time.time_ns()) * 10)
        (folder / "ten_lines.md").write_text("made")
        (folder / "review.html").write_text("made " * 100_000)

    review._fill = fill
    products._plan_pictures = lambda *args, **kwargs: iter(())


if __name__ == "__main__":
    main()

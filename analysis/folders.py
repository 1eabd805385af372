"""Folders and files that a command fills anew, and what others put or changed there, which it never touches.

    DIR/.seasonbook/made.json    what we made in DIR, by name and fingerprint; what was put aside
    DIR/.seasonbook/new/         what a running command has made so far
    DIR/.seasonbook/lock         held by the one command that writes in DIR

A command fills `new`. When that is complete, `made.json` says so in one step of the file system; then each
file moves to its place. A death before that step leaves everything as it was, and the next command throws
`new` away. A death after it is made good by the next command that opens the folder, which moves the rest.
"""

from __future__ import annotations

import atexit
import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import UTC, datetime
from functools import cache
from itertools import count
from pathlib import Path
from typing import Any

import platformdirs

from analysis.gather.locks import hold
from analysis.gather.problems import InputError

OURS, MADE, NEW, LOCK = ".seasonbook", "made.json", "new", "lock"
HERE = ".here"  # in NEW while it is being filled


@contextmanager
def refilled(out: str | Path, *, product: str) -> Iterator[Path]:
    """A folder to fill, empty but for one hidden file of ours; on leaving, what is in it takes its place in `out`.

    What an earlier run of the same product left in `out` is replaced or, if it is no longer made, removed.
    A file that somebody changed since, or that we did not make, stays; where a new one needs its place it
    gets a dated name, which `put_aside` tells.

    Parameters
    ----------
    out : path
        Made if there is none; a link to a folder is followed.
    product : str
        Whose files these are: review, plan, figures.

    Raises
    ------
    InputError
        Before any work: if `out` is a file, holds what no command of ours left there, or is being written.
    """
    refuse_foreign(out)
    folder = Path(out)
    born = [one for one in (folder, *folder.parents) if not one.exists()]
    try:
        with _held(folder):
            _finish(folder)
            new = folder / OURS / NEW
            shutil.rmtree(new, ignore_errors=True)
            new.mkdir()
            (new / HERE).touch()
            whole = False
            try:
                yield new
                (new / HERE).unlink()  # not there where `new` was emptied: what is in it now is not all
                whole = True
                _announce(folder, product)
                _finish(folder)
            except Exception as error:
                if whole or not _emptied(new, error):
                    raise
                gone = (
                    "was removed while we wrote in it; see what empties the folder, then repeat the command"
                )
                raise InputError(f"{new}: {gone}") from error
            finally:
                if not _made(folder)["unfinished"]:
                    shutil.rmtree(new, ignore_errors=True)
    finally:
        _leave_no_trace(folder, born)


def _emptied(new: Path, error: Exception) -> bool:
    """Whether somebody removed from `new` what a command had made there."""
    missed = isinstance(error, FileNotFoundError) and str(error.filename).startswith(str(new))
    return missed or not (new / HERE).exists()


@cache
def cache_folder() -> Path:
    """Folder for what is kept only to save time: the user's own, or a private one where that cannot be written."""
    folder = Path(platformdirs.user_cache_dir("seasonbook"))
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            return folder
    except OSError:
        passing = tempfile.mkdtemp(prefix="seasonbook-")
        atexit.register(shutil.rmtree, passing, ignore_errors=True)
        return Path(passing)


def refuse_foreign(out: str | Path) -> None:
    """Refuse what `refilled` cannot fill, before any work.

    Raises
    ------
    InputError
        If `out` is a file, a link that leads nowhere, or holds what no command of ours left there.
    """
    folder = Path(out)
    if folder.is_symlink() and not folder.exists():
        raise InputError(f"{folder}: is a link that leads nowhere; name a folder after --out")
    if folder.exists() and not folder.is_dir():
        raise InputError(f"{folder}: is a file; name a folder after --out")
    if folder.is_dir() and not (folder / OURS).is_dir() and any(folder.iterdir()):
        raise InputError(
            f"{folder}: holds what no command of ours left there; name a new or empty folder after --out"
        )


def finish(out: str | Path) -> None:
    """Move the rest to its place, where a command died when everything was made but not everything moved."""
    folder = Path(out)
    if _made(folder)["unfinished"]:
        with _held(folder):
            _finish(folder)


def put_aside(out: str | Path) -> list[str]:
    """Dated names, within `out`, of the changed or foreign files that the last command made room by renaming."""
    return _made(Path(out))["kept"]


def write_file(out: str | Path, write: Callable[[Path], Any]) -> Path | None:
    """Let `write` make one file; a file with another content that stands at its place is put aside.

    Returns
    -------
    Path or None
        The dated name of the file that stood there, if there was one and it was not the same.

    Raises
    ------
    InputError
        If `out` is a folder.
    """
    path = Path(out)
    if path.is_dir():
        raise InputError(f"{path}: is a folder; name a file after --out")
    path.parent.mkdir(parents=True, exist_ok=True)
    fresh = path.with_name(f".{path.stem}{OURS}-{NEW}{path.suffix}")
    try:
        write(fresh)
        aside = None
        if os.path.lexists(path) and _fingerprint(path) != _fingerprint(fresh):
            aside = _dated(path)
            path.rename(aside)
        fresh.replace(path)
    finally:
        fresh.unlink(missing_ok=True)
    return aside


def _made(folder: Path) -> dict[str, Any]:
    """What `made.json` says; nothing if there is none."""
    path = folder / OURS / MADE
    try:
        return json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return {"unfinished": "", "kept": [], "files": {}}
    except (OSError, ValueError):
        raise InputError(
            f"{path}: cannot be read as the list of what was made here; name another folder after --out"
        ) from None


def _note(folder: Path, made: dict[str, Any]) -> None:
    """Write `made.json` as a whole or not at all."""
    path = folder / OURS / MADE
    fresh = path.with_suffix(".new")
    with fresh.open("w", encoding="utf-8") as stream:
        json.dump(made, stream, indent=1, sort_keys=True)
        stream.flush()
        os.fsync(stream.fileno())
    fresh.replace(path)


def _announce(folder: Path, product: str) -> None:
    """Say that `new` is complete: from here the next command finishes what a death leaves undone."""
    made = _made(folder)
    for name, mark in _prints(folder / OURS / NEW).items():
        known = made["files"].get(name, {"marks": []})
        made["files"][name] = {"by": product, "marks": [*known["marks"], mark], "new": True}
    _note(folder, made | {"unfinished": product, "kept": []})


def _finish(folder: Path) -> None:
    """Move what is in `new` to its place, and remove what the same product made earlier and makes no more."""
    made = _made(folder)
    if not made["unfinished"]:
        return
    new = folder / OURS / NEW
    for name in sorted(_prints(new)):
        _make_room(folder, name, made)
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (new / name).replace(folder / name)
    for name, entry in made["files"].items():
        old = entry["by"] == made["unfinished"] and not entry.get("new")
        if old and _fingerprint(folder / name) in entry["marks"]:
            (folder / name).unlink()
            _remove_empty(folder, name)
    left = {
        name: {"by": entry["by"], "marks": entry["marks"][-1:]}
        for name, entry in made["files"].items()
        if entry.get("new") or entry["by"] != made["unfinished"]
    }
    _note(folder, made | {"unfinished": "", "files": left})
    shutil.rmtree(new, ignore_errors=True)


def _make_room(folder: Path, name: str, made: dict[str, Any]) -> None:
    """Give a dated name to what stands at the place of a new file and is not as we made it."""
    place = folder / name
    above = [folder / one for one in reversed(Path(name).parents) if one != Path()]
    in_the_way = [one for one in above if os.path.lexists(one) and (one.is_symlink() or not one.is_dir())]
    if not in_the_way and os.path.lexists(place):
        in_the_way = [place] if _fingerprint(place) not in made["files"][name]["marks"] else []
    for one in in_the_way[:1]:
        aside = _dated(one)
        # Noted before it is done: a death between the two leaves a name too many, never one too few.
        made["kept"] = sorted({*made["kept"], aside.relative_to(folder).as_posix()})
        _note(folder, made)
        one.rename(aside)


def _dated(path: Path) -> Path:
    """A free name beside `path` that bears today's date."""
    today = datetime.now(UTC).date().isoformat()
    for turn in count(1):
        tail = today if turn == 1 else f"{today}-{turn}"
        name = path.with_name(f"{path.stem}.{tail}{path.suffix}")
        if not os.path.lexists(name):
            return name
    raise AssertionError("unreachable")


def _prints(folder: Path) -> dict[str, str]:
    """Fingerprint of every file under `folder`, by its name within it."""
    if not folder.is_dir():
        return {}
    files = (path for path in sorted(folder.rglob("*")) if path.is_file())
    return {path.relative_to(folder).as_posix(): _fingerprint(path) for path in files}


def _fingerprint(path: Path) -> str:
    """SHA-256 of a file; empty for a link, a folder or nothing, which are never ours."""
    if path.is_symlink() or not path.is_file():
        return ""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def _remove_empty(folder: Path, name: str) -> None:
    """Remove the folders above a removed file that it leaves empty."""
    for one in Path(name).parents:
        if one == Path() or any((folder / one).iterdir()):
            return
        (folder / one).rmdir()


def _leave_no_trace(folder: Path, born: list[Path]) -> None:
    """Where nothing was finished, remove our own folder and those made for it."""
    ours = folder / OURS
    if (ours / MADE).exists() or (ours / NEW).exists():
        return
    with suppress(OSError):
        (ours / LOCK).unlink(missing_ok=True)
        ours.rmdir()
        for one in born:
            one.rmdir()


@contextmanager
def _held(folder: Path) -> Iterator[None]:
    """Hold the folder. The system lets go of the lock when a process dies."""
    ours = folder / OURS
    ours.mkdir(parents=True, exist_ok=True)
    with (ours / LOCK).open("a+b") as stream:
        try:
            hold(stream, wait=False)
        except OSError:
            raise InputError(
                f"{folder}: is being written by another command; repeat this one when it has ended"
            ) from None
        yield

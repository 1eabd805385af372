"""What a user named, file by file: folders and archives opened, each file under a short name."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from analysis.gather.problems import InputError, printable
from analysis.gather.reading import contents

MOST_FILES = 20_000  # in a folder; more than any club's logs, fewer than a whole disk (judgement)
TEMPLATE = ".columns.toml"  # how the answers about a table's columns end, which are no data


@dataclass(frozen=True)
class File:
    """One file: its short name, where it lies or would lie, its bytes.

    `named`: whether the user named it, and not a folder or an archive that holds it.
    """

    source: str
    beside: Path
    data: bytes
    named: bool


def every_file(paths: Iterable[str | Path]) -> Iterator[File]:
    """Each file of those named and of the folders named, archives unpacked.

    Raises
    ------
    InputError
        If none was named, a folder holds none, or one of them cannot be opened.
    """
    paths = list(paths)
    if "" in paths:  # a variable that the shell did not know; it would stand for the working folder
        raise InputError("a name of a file is empty; name the file, or . for all files in this folder")
    given = [Path(path) for path in paths]
    named = source_names([path for path in given if not path.is_dir()]).values()
    held = [file for path in given if path.is_dir() for file in inside(path)]
    whole = {os.path.realpath(path) for path in named}
    names = source_names([*named, *held])
    if not names:
        raise InputError("no file was named; give at least one log or spot table")
    for source, path in names.items():
        yield from opened(path, source=source, named=os.path.realpath(path) in whole)


def inside(folder: Path) -> list[Path]:
    """Files in a folder and its folders, but for hidden ones, our own templates, stores and reviews."""
    found: list[Path] = []
    for place, folders, names in os.walk(folder):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        if _is_ours(Path(place)):
            folders.clear()
            continue
        found += [
            Path(place, name) for name in names if not name.startswith(".") and not name.endswith(TEMPLATE)
        ]
        if len(found) > MOST_FILES:
            raise InputError(
                f"{folder}: holds more than {MOST_FILES} files; name the folder of the logs alone"
            )
    if not found:
        raise InputError(
            f"{folder}: is a folder that holds no log or table of yours; name another, or the files themselves"
        )
    return found


def _is_ours(folder: Path) -> bool:
    """Whether a command of ours filled the folder."""
    return (folder / ".seasonbook").is_dir() or (
        (folder / "manifest.json").is_file() and (folder / ".lock").is_file()
    )


def opened(path: Path, *, source: str, named: bool = True) -> Iterator[File]:
    """Each file in a file (more than one in an archive)."""
    for member, data in contents.members(path):
        beside = path.with_name(f"{path.name}-{Path(member).name}") if member else path
        yield File(f"{source}/{member}" if member else source, beside, data, named and not member)


def source_names(paths: list[Path]) -> dict[str, Path]:
    """A short name for each file, in an order that does not depend on the order given.

    A name is as many last parts of a path as set it apart from all others.
    """
    try:
        whole = {Path(os.path.realpath(path)).parts[::-1]: path for path in paths}
    except ValueError as fault:  # a name holds what no name can
        raise InputError(f"{printable(str(paths))}: no such names ({fault}); check them") from None
    names: dict[str, Path] = {}
    depth, rest = 1, sorted(whole)
    while rest:
        times_told = Counter(parts[:depth] for parts in rest)
        alone = {parts for parts in rest if times_told[parts[:depth]] == 1}
        names |= {_name(parts[:depth]): whole[parts] for parts in sorted(alone)}
        depth, rest = depth + 1, [parts for parts in rest if parts not in alone]
    return dict(sorted(names.items()))


def _name(parts: tuple[str, ...]) -> str:
    """Parts of a path, innermost first, as text; bytes that are no text are spelled out."""
    return os.fsencode("/".join(parts[::-1])).decode("utf-8", "backslashreplace")

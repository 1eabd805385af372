"""The folder of a season store: its list of files, its parts, its lock.

Every step is there as a whole or not at all, and only files that bear a name of ours are ever
removed. A folder is a store from the moment it has a manifest, which is written before any part.
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from analysis.gather.locks import hold
from analysis.gather.problems import InputError

SCHEMA = 3  # counts the forms that a store has had
MANIFEST = "manifest.json"
OTHERS = ("beacons", "listening", "set_aside", "guesses", "notes")
PART = re.compile(
    rf"spots/band=[0-9a-z.]+/month=[0-9]{{4}}-[0-9]{{2}}/[0-9a-f]{{24}}\.parquet|others/[0-9a-f]{{24}}\.(?:{'|'.join(OTHERS)})\.parquet"
)
HALF_WRITTEN = re.compile(r"\.(?P<name>.+)\.[0-9]+\.new")


def manifest(folder: Path) -> dict[str, Any]:
    """Which files are in the store: `schema`, and `files` by the hash of their bytes; none where there is no store.

    Raises
    ------
    InputError
        If the list cannot be read, names what is no part of a store, or is of a newer version.
    """
    path = folder / MANIFEST
    if not path.exists():
        return {"schema": SCHEMA, "files": {}}
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
        version, entries = int(found["schema"]), dict(found["files"])
        if version > SCHEMA:
            raise InputError(f"{folder}: was made by a newer version (schema {version}); update this one")
        files = {key: _entry({"home": "", "station": ""} | entry) for key, entry in entries.items()}
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        raise InputError(
            f"{path}: cannot be read as a list of gathered files; restore it or start a new store"
        ) from None
    return {"schema": SCHEMA, "files": files}


def _entry(entry: dict[str, Any]) -> dict[str, Any]:
    """One file's entry, if it holds what it must and names parts of a store alone.

    Schema 1 did not record with which home and station a file was gathered, schema 2 had a number of
    rows where a part's hash stands now: what is unknown is empty.
    """
    if not all(isinstance(entry[name], str) for name in ("source", "home", "station")):
        raise ValueError("a name is no text")
    if not all(PART.fullmatch(place) for place in entry["parts"]):
        raise ValueError("a part outside the store")
    parts = {place: hashed if isinstance(hashed, str) else "" for place, hashed in entry["parts"].items()}
    numbers = {"rows_in": int(entry["rows_in"]), "early": int(entry.get("early", 0))}
    return entry | numbers | {"parts": parts}


def keep(folder: Path, found: dict[str, Any]) -> None:
    """Put a new manifest in place of the old one: the step that makes a gathering count."""
    replace(folder / MANIFEST, (json.dumps(found, indent=1, sort_keys=True) + "\n").encode())


def replace(path: Path, data: bytes) -> None:
    """Write a file so that it is there as a whole or not at all, whatever happens meanwhile."""
    temporary = path.with_name(f".{path.name}.{os.getpid()}.new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with temporary.open("wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        temporary.replace(path)
        _sync_folder(path.parent)
    except OSError as fault:
        with suppress(OSError):
            temporary.unlink(missing_ok=True)
        raise InputError(
            f"{path}: cannot be written ({fault.strerror}); mend that and run the same command again, "
            "the store is as it was before"
        ) from None


def _sync_folder(folder: Path) -> None:
    if os.name == "posix":  # elsewhere a folder cannot be opened, and the rename is as safe as it gets
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def sweep(folder: Path, found: dict[str, Any]) -> None:
    """Remove what an interrupted gathering left behind: files of ours that no manifest names."""
    named = {place for entry in found["files"].values() for place in entry["parts"]}
    for place in _ours(folder):
        if place not in named:
            (folder / place).unlink(missing_ok=True)


def _ours(folder: Path) -> Iterator[str]:
    """Places of the parts and half-written files in a folder, by their names alone."""
    for pattern in (".*.new", "spots/band=*/month=*/*", "spots/band=*/month=*/.*", "others/*", "others/.*"):
        for path in sorted(folder.glob(pattern)):
            place = path.relative_to(folder).as_posix()
            half = HALF_WRITTEN.fullmatch(path.name)
            whole = place.removesuffix(path.name) + half["name"] if half else place
            if PART.fullmatch(whole) or (half and whole == MANIFEST):
                yield place


@contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Hold the store, made if there is none; a second gathering waits. A process that dies lets go of it.

    Raises
    ------
    InputError
        If the folder holds anything else, and then nothing in it is touched; if it cannot be written.
    """
    _refuse_foreign(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        stream = (folder / ".lock").open("a+b")
    except (OSError, ValueError) as fault:  # a name may hold what no name can
        why = getattr(fault, "strerror", None) or str(fault)
        raise InputError(
            f"{folder}: cannot be written ({why}); choose another folder for the store"
        ) from None
    with stream:
        hold(stream, wait=True)
        if not (folder / MANIFEST).exists():
            keep(folder, manifest(folder))
        yield


def _refuse_foreign(folder: Path) -> None:
    """A folder without a manifest may hold nothing but what the beginning of a store leaves there."""
    names = sorted(path.name for path in folder.iterdir()) if folder.is_dir() else []
    others = [name for name in names if name != ".lock" and not HALF_WRITTEN.fullmatch(name)]
    if not others or (folder / MANIFEST).exists():
        return
    if any(_ours(folder)):
        raise InputError(
            f"{folder}: holds parts of a season store but lacks its {MANIFEST}; restore it, or name another folder"
        )
    raise InputError(f"{folder}: holds {others[0]} and is no season store; name another folder after --store")

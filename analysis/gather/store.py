"""A season store: what was gathered, kept as a Parquet data set that grows file by file.

    spots/band=6m/month=2024-06/<file>.parquet    checked rows of one file, never changed again
    others/<file>.<table>.parquet                 beacons, listening hours and rows set aside
    manifest.json                                 which files are in, with their hashes

A gathering is in the store when the new manifest has replaced the old one, a single step of the
file system. Everything else is written before under names that no manifest knows yet, so a kill at
any moment leaves the store as it was. Rows are merged when they are read: what is stored does not
depend on the order of gathering.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pandas as pd

from analysis.gather import files, spots
from analysis.gather.problems import InputError, no_rows

SCHEMA = 2
MANIFEST = "manifest.json"
OTHERS = ("beacons", "listening", "set_aside", "guesses")
RETRIES = 3


def add_to_store(paths, *, store: str | Path, home: str = "", station: str = "") -> files.Gathered:
    """Add files to a season store; files that are in it already change nothing.

    Parameters
    ----------
    paths : sequence of str or Path
        As in `files.gather_files`.
    store : str or Path
        Folder of the store, made if there is none.
    home, station : str
        As in `files.gather_files`; the same file with another home replaces its earlier rows.

    Returns
    -------
    Gathered
        The whole store afterwards, merged.

    Raises
    ------
    InputError
        If a file cannot be used (then none of them is added) or the store cannot be.
    """
    folder = Path(store)
    named = files.source_names([Path(path) for path in paths])
    with _locked(folder):
        manifest = _manifest(folder)
        _sweep(folder, manifest)
        news = {
            key: entry
            for source, path in named.items()
            for name, beside, data in files.opened(path, source=source)
            for key, entry in _added(data, beside, name, folder, manifest, home=home, station=station)
        }
        if news:
            manifest["files"] |= news
            _replace(folder / MANIFEST, _as_json(manifest))
    return read_store(folder)


def read_store(store: str | Path) -> files.Gathered:
    """Read a whole season store, merged.

    Raises
    ------
    InputError
        If the folder is no store, was made by a newer version, or lacks a part of it.
    """
    folder = Path(store)
    for attempt in range(RETRIES):
        manifest = _manifest(folder)
        if not manifest["files"]:
            raise InputError(f"{folder}: is an empty season store; gather files into it first")
        try:
            return files.merged({entry["source"]: _stored(folder, entry) for entry in _in_order(manifest)})
        except FileNotFoundError as fault:  # replaced while we read: the new manifest tells where to look
            if attempt == RETRIES - 1:
                raise InputError(
                    f"{folder}: lacks {Path(fault.filename).name}; gather the files again into a new store"
                ) from None
    raise AssertionError("unreachable")


def _in_order(manifest: dict[str, Any]) -> list[dict[str, Any]]:
    return sorted(manifest["files"].values(), key=lambda entry: entry["source"])


def _manifest(folder: Path) -> dict[str, Any]:
    path = folder / MANIFEST
    if not path.exists():
        return {"schema": SCHEMA, "files": {}}
    try:
        manifest = json.loads(path.read_text(encoding="utf-8"))
        version = int(manifest["schema"])
    except (OSError, ValueError, KeyError, TypeError):
        raise InputError(
            f"{path}: cannot be read as a list of gathered files; restore it or start a new store"
        ) from None
    if version > SCHEMA:
        raise InputError(f"{folder}: was made by a newer version (schema {version}); update this one")
    return _migrated(manifest)


def _migrated(manifest: dict[str, Any]) -> dict[str, Any]:
    """Bring an older manifest up to date; columns that older parts lack become unknown when they are read.

    Schema 1 did not record with which home and station a file was gathered.
    """
    if manifest["schema"] == 1:
        entries = {key: {"home": "", "station": ""} | entry for key, entry in manifest["files"].items()}
        manifest = manifest | {"schema": 2, "files": entries}
    return manifest


def _added(
    data: bytes, beside: Path, source: str, folder: Path, manifest: dict[str, Any], *, home: str, station: str
) -> Iterator[tuple[str, dict[str, Any]]]:
    """Write the parts of one file and yield its entry of the manifest; nothing if it is in already."""
    key = hashlib.sha256(data).hexdigest()
    known = manifest["files"].get(key)
    if known and (known["home"], known["station"]) == (home, station):
        return
    taken = {entry["source"] for other, entry in manifest["files"].items() if other != key}
    label = known["source"] if known else source
    label = f"{label} ({key[:8]})" if label in taken else label
    read = files.read_bytes(data, beside=beside, source=label, home=home, station=station)
    stem = hashlib.sha256(f"{key}\n{home}\n{station}".encode()).hexdigest()[:24]
    parts = dict(_written(folder, read, stem=stem))
    yield key, {"source": label, "rows_in": read.rows_in, "home": home, "station": station, "parts": parts}


def _written(folder: Path, read: files.Read, *, stem: str) -> Iterator[tuple[str, int]]:
    """Write a file's tables as parts; yield each part's place in the store and its number of rows."""
    month = read.spots["time"].dt.strftime("%Y-%m")
    for (band, when), rows in read.spots.groupby([read.spots["band"].astype("str"), month], observed=True):
        place = f"spots/band={band}/month={when}/{stem}.parquet"
        _replace(folder / place, _as_parquet(rows.drop(columns="band")))
        yield place, len(rows)
    for name in OTHERS:
        table = getattr(read, name)
        if len(table):
            place = f"others/{stem}.{name}.parquet"
            _replace(folder / place, _as_parquet(table))
            yield place, len(table)


def _stored(folder: Path, entry: dict[str, Any]) -> files.Read:
    """Tables of one file as they were gathered."""
    tables: dict[str, list[pd.DataFrame]] = {name: [] for name in ("spots", *OTHERS)}
    for place in entry["parts"]:
        rows = pd.read_parquet(io.BytesIO((folder / place).read_bytes()))
        if place.startswith("spots/"):
            tables["spots"].append(rows.assign(band=place.split("/")[1].removeprefix("band=")))
        else:
            tables[place.rsplit(".", 2)[1]].append(rows)
    gathered = [spots.as_spots(rows) for rows in tables["spots"]]
    return files.as_read(
        entry["rows_in"],
        spots_of=pd.concat(gathered, ignore_index=True) if gathered else None,
        beacons=next(iter(tables["beacons"]), None),
        listening=next(iter(tables["listening"]), None),
        set_aside=[no_rows(), *tables["set_aside"]],
        guesses=next(iter(tables["guesses"]), None),
    )


def _as_parquet(table: pd.DataFrame) -> bytes:
    return table.reset_index(drop=True).to_parquet(None, compression="zstd")


def _as_json(manifest: dict[str, Any]) -> bytes:
    return (json.dumps(manifest, indent=1, sort_keys=True) + "\n").encode()


def _replace(path: Path, data: bytes) -> None:
    """Write a file so that it is there as a whole or not at all, whatever happens meanwhile."""
    path.parent.mkdir(parents=True, exist_ok=True)
    temporary = path.with_name(f".{path.name}.{os.getpid()}.new")
    with temporary.open("wb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())
    temporary.replace(path)
    _sync_folder(path.parent)


def _sync_folder(folder: Path) -> None:
    if os.name == "posix":  # elsewhere a folder cannot be opened, and the rename is as safe as it gets
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _sweep(folder: Path, manifest: dict[str, Any]) -> None:
    """Remove what an interrupted gathering left behind: parts that no manifest names."""
    named = {folder / place for entry in manifest["files"].values() for place in entry["parts"]}
    for room in ("spots", "others"):
        for path in (folder / room).rglob("*"):
            if path.is_file() and path not in named:
                path.unlink()


@contextmanager
def _locked(folder: Path) -> Iterator[None]:
    """Hold the store; a second gathering waits. The system lets go of the lock when a process dies."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        stream = (folder / ".lock").open("a+b")
    except OSError as fault:
        raise InputError(
            f"{folder}: cannot be written ({fault.strerror}); choose another folder for the store"
        ) from None
    with stream:
        if sys.platform == "win32":
            import msvcrt

            stream.seek(0)
            msvcrt.locking(stream.fileno(), msvcrt.LK_LOCK, 1)
        else:
            import fcntl

            fcntl.flock(stream, fcntl.LOCK_EX)
        yield

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
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pandas as pd

from analysis.gather import files, shelf, spots
from analysis.gather.joining import merge
from analysis.gather.problems import InputError, no_rows, one_line

RETRIES = 3
DAMAGE = (OSError, ValueError, KeyError, TypeError, RuntimeError, MemoryError)  # Arrow's own are among them


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
        If a file cannot be used (then none of them is added), or the folder cannot be a store or
        holds anything else (then it is left as it is).
    """
    folder = Path(store)
    named = files.source_names([Path(path) for path in paths])
    with shelf.locked(folder):
        manifest = shelf.manifest(folder)
        shelf.sweep(folder, manifest)
        news = {
            key: entry
            for source, path in named.items()
            for name, beside, data in files.opened(path, source=source)
            for key, entry in _added(data, beside, name, folder, manifest, home=home, station=station)
        }
        if news:
            shelf.keep(folder, manifest | {"files": manifest["files"] | news})
    return read_store(folder)


def read_store(store: str | Path) -> files.Gathered:
    """Read a whole season store, merged.

    Raises
    ------
    InputError
        If the folder is no store, was made by a newer version, or a part of it is absent or damaged.
    """
    folder = Path(store)
    for attempt in range(RETRIES):
        entries = sorted(shelf.manifest(folder)["files"].values(), key=lambda entry: entry["source"])
        if not entries:
            raise InputError(f"{folder}: is an empty season store; gather files into it first")
        try:
            return files.merged({entry["source"]: _stored(folder, entry) for entry in entries})
        except InputError:  # replaced while we read: the new manifest tells where to look
            if attempt == RETRIES - 1:
                raise
    raise AssertionError("unreachable")


def _added(
    data: bytes, beside: Path, source: str, folder: Path, manifest: dict[str, Any], *, home: str, station: str
) -> Iterator[tuple[str, dict[str, Any]]]:
    """Write the parts of one file and yield its entry of the manifest; nothing if it is in already."""
    key = _hash(data)
    known = manifest["files"].get(key)
    if known and (known["home"], known["station"]) == (home, station) and _whole(folder, known):
        return
    taken = {entry["source"] for other, entry in manifest["files"].items() if other != key}
    label = known["source"] if known else source
    label = f"{label} ({key[:8]})" if label in taken else label
    read = files.read_bytes(data, beside=beside, source=label, home=home, station=station)
    stem = _hash(f"{key}\n{home}\n{station}".encode())[:24]
    parts = dict(_written(folder, read, stem=stem))
    yield key, {"source": label, "rows_in": read.rows_in, "home": home, "station": station, "parts": parts}


def _written(folder: Path, read: files.Read, *, stem: str) -> Iterator[tuple[str, str]]:
    """Write a file's tables as parts; yield each part's place in the store and the hash of its bytes."""
    month = read.spots["time"].dt.strftime("%Y-%m")
    for (band, when), rows in read.spots.groupby([read.spots["band"].astype("str"), month], observed=True):
        place = f"spots/band={band}/month={when}/{stem}.parquet"
        yield place, _put(folder / place, rows.drop(columns="band"))
    for name in shelf.OTHERS:
        table = getattr(read, name)
        if len(table):
            place = f"others/{stem}.{name}.parquet"
            yield place, _put(folder / place, table)


def _put(path: Path, table: pd.DataFrame) -> str:
    """Write one part and return the hash of its bytes."""
    data = table.reset_index(drop=True).to_parquet(None, compression="zstd")
    shelf.replace(path, data)
    return _hash(data)


def _hash(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _whole(folder: Path, entry: dict[str, Any]) -> bool:
    """Whether every part of a file can be read: one that cannot is mended by gathering the file again."""
    try:
        _stored(folder, entry)
    except InputError:
        return False
    return True


def _stored(folder: Path, entry: dict[str, Any]) -> files.Read:
    """Tables of one file as they were gathered."""
    tables: dict[str, list[pd.DataFrame]] = {name: [] for name in ("spots", *shelf.OTHERS)}
    for place, hashed in entry["parts"].items():
        part = _part(folder, place, hashed=hashed, source=entry["source"])
        name = "spots" if place.startswith("spots/") else place.rsplit(".", 2)[1]
        tables[name].append(part)
    return files.as_read(
        entry["rows_in"],
        spots_of=merge.stacked(tables["spots"]).sort_values("source_row", ignore_index=True, kind="stable")
        if tables["spots"]
        else None,
        beacons=next(iter(tables["beacons"]), None),
        listening=next(iter(tables["listening"]), None),
        set_aside=[no_rows(), *tables["set_aside"]],
        guesses=next(iter(tables["guesses"]), None),
        notes=next(iter(tables["notes"]), None),
    )


def _part(folder: Path, place: str, *, hashed: str, source: str) -> pd.DataFrame:
    """One part of a file; InputError, with what mends it, if it is absent or damaged."""
    try:
        data = (folder / place).read_bytes()
        if hashed not in ("", _hash(data)):
            raise ValueError("its bytes have changed")
        part = pd.read_parquet(io.BytesIO(data))
        if place.startswith("spots/"):
            return spots.as_spots(part.assign(band=place.split("/")[1].removeprefix("band=")))
    except FileNotFoundError:
        why = "is absent"
    except DAMAGE as fault:
        why = f"is damaged ({one_line(fault)})"
    else:
        return part
    raise InputError(f"{folder / place}: {why}; gather {source} into the store again, which mends it")

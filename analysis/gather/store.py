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
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pandas as pd
import pyarrow as pa
from pyarrow import parquet

from analysis import progress
from analysis.gather import files, shelf, spots
from analysis.gather.problems import InputError, no_rows, one_line
from analysis.gather.reading.sources import File, every_file
from analysis.gather.rows.checks import FUTURE

RETRIES = 3  # judgement: a list of files that others keep changing is told, not awaited
NAMES = pa.dictionary(pa.int32(), pa.string())
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
    with shelf.locked(folder):
        manifest = shelf.manifest(folder)
        shelf.sweep(folder, manifest)
        with progress.stage("gathering", unit="rows"):
            news = dict(_added(every_file(paths), folder, manifest, home=home, station=station))
        if news:
            entries = manifest["files"] | news
            files.refuse_left_out([entry["rows_in"] for entry in entries.values()])
            shelf.keep(folder, manifest | {"files": entries})
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
            with progress.stage("reading the store", total=sum(e["rows_in"] for e in entries), unit="rows"):
                stored = _stored(folder, entries)
            return files.merged([stored])
        except InputError:  # replaced while we read: the new manifest tells where to look
            if attempt == RETRIES - 1:
                raise
    raise AssertionError("unreachable")


def sources(store: str | Path) -> set[str]:
    """Names of the files that are in a season store; none where there is no store yet."""
    return {entry["source"] for entry in shelf.manifest(Path(store))["files"].values()}


def _added(
    found: Iterable[File],
    folder: Path,
    manifest: dict[str, Any],
    *,
    home: str,
    station: str,
) -> Iterator[tuple[str, dict[str, Any]]]:
    """Write the parts of files that are not in yet; yield the hash of each and its entry of the manifest."""
    keys: dict[str, str] = {}
    new = _not_in_yet(found, folder, manifest["files"], keys, told={"home": home, "station": station})
    for read in files.read_all(new, home=home, station=station):
        turns = {
            source: manifest["files"].get(keys[source], {"early": 0})["early"] for source in read.rows_in
        }
        stems = {
            source: _hash(f"{keys[source]}\n{home}\n{station}{turn or ''}".encode())[:24]
            for source, turn in turns.items()
        }
        future = set(read.set_aside.loc[read.set_aside["reason"].eq(FUTURE), "source"])
        parts: dict[str, dict[str, str]] = {source: {} for source in read.rows_in}
        for source, place, hashed in _written(folder, read, stems=stems):
            parts[source][place] = hashed
        for source, rows_in in read.rows_in.items():
            entry = {"source": source, "rows_in": rows_in, "home": home, "station": station}
            early = turns[source] + 1 if source in future else 0
            yield keys[source], entry | {"parts": parts[source], "early": early}


def _not_in_yet(
    found: Iterable[File],
    folder: Path,
    entries: dict[str, Any],
    keys: dict[str, str],
    *,
    told: dict[str, str],
) -> Iterator[File]:
    """Files that the store lacks, or holds with another home, in damaged parts, or gathered too early.

    Too early, by a clock that may have been wrong, are those whose rows lay in the future; their entries
    count in `early` how often. Each comes under a name of its own; `keys` learns its hash by that name.
    """
    for file in found:
        key = _hash(file.data)
        known = entries.get(key)
        if key in keys.values() or (known and _stands(folder, known, told)):
            continue
        taken = {entry["source"] for other, entry in entries.items() if other != key} | keys.keys()
        label = known["source"] if known else file.source
        label = f"{label} ({key[:8]})" if label in taken else label
        keys[label] = key
        yield replace(file, source=label)


def _stands(folder: Path, known: dict[str, Any], told: dict[str, str]) -> bool:
    """Whether a file in the store need not be read again."""
    return not known["early"] and known | told == known and _whole(folder, known)


def _written(folder: Path, read: files.Read, *, stems: dict[str, str]) -> Iterator[tuple[str, str, str]]:
    """Write tables as parts; yield of each part the file, the place in the store and the hash of its bytes."""
    month = read.spots["time"].dt.strftime("%Y-%m")
    keys = [read.spots["source"].astype("str"), read.spots["band"].astype("str"), month]
    for (source, band, when), rows in read.spots.groupby(keys, observed=True):
        place = f"spots/band={band}/month={when}/{stems[source]}.parquet"  # type: ignore[index]
        yield source, place, _put(folder / place, rows.drop(columns="band"))  # type: ignore[misc]
    for name in shelf.OTHERS:
        table = getattr(read, name)
        for source, rows in table.groupby(table["source"].astype("str")):
            place = f"others/{stems[source]}.{name}.parquet"
            yield source, place, _put(folder / place, rows)


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
        for place, hashed in entry["parts"].items():
            _part(folder, place, hashed=hashed, source=entry["source"])
    except InputError:
        return False
    return True


def _stored(folder: Path, entries: list[dict[str, Any]]) -> files.Read:
    """Tables of files as they were gathered."""
    parts: dict[str, list[pa.Table]] = {name: [] for name in ("spots", *shelf.OTHERS)}
    for entry in entries:
        progress.add(entry["rows_in"])
        for place, hashed in entry["parts"].items():
            name = "spots" if place.startswith("spots/") else place.rsplit(".", 2)[1]
            parts[name].append(_part(folder, place, hashed=hashed, source=entry["source"]))
    tables = {name: _one_table(found) for name, found in parts.items() if found}
    if "spots" in tables:
        rows = tables["spots"].sort_values(["source", "source_row"], kind="stable", ignore_index=True)
        tables["spots_of"] = spots.as_spots(rows)
    rows_in = {entry["source"]: entry["rows_in"] for entry in entries}
    set_aside = [no_rows(), *([tables["set_aside"]] if "set_aside" in tables else [])]
    rest = {name: tables.get(name) for name in ("spots_of", "beacons", "listening", "guesses", "notes")}
    return files.as_read(rows_in, set_aside=set_aside, **rest)


def _one_table(parts: list[pa.Table]) -> pd.DataFrame:
    """Parts one under the other; columns that older parts lack are unknown there."""
    return pa.concat_tables(parts, promote_options="permissive").to_pandas(ignore_metadata=True)


def _part(folder: Path, place: str, *, hashed: str, source: str) -> pa.Table:
    """One part of a file; InputError, with what mends it, if it is absent or damaged."""
    try:
        data = (folder / place).read_bytes()
        if hashed not in ("", _hash(data)):
            raise ValueError("its bytes have changed")
        part = parquet.read_table(pa.BufferReader(data))
        for i, field in enumerate(part.schema):
            if pa.types.is_dictionary(field.type):  # wide enough for the names of all parts together
                part = part.set_column(i, field.name, part[i].cast(NAMES))
        if place.startswith("spots/"):
            band = pa.repeat(place.split("/")[1].removeprefix("band="), len(part))
            part = part.append_column("band", band.dictionary_encode().cast(NAMES))
    except FileNotFoundError:
        why = "is absent"
    except DAMAGE as fault:
        why = f"is damaged ({one_line(fault)})"
    else:
        return part
    raise InputError(f"{folder / place}: {why}; gather {source} into the store again, which mends it")

"""Finished stages of a review, kept in the user's cache folder so that a repeat goes on from what was finished.

    stages/<stage>-<mark>/names.json, and a Parquet file for each of its tables

A mark changes with the inputs of a stage, with our code and with the libraries that count. What is kept only
saves time: it is bounded, the longest unused goes first, and whatever cannot be read is made anew.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import suppress
from importlib import metadata
from pathlib import Path

import pandas as pd
import pyarrow as pa

from analysis import progress
from analysis.folders import cache_folder
from analysis.shipped import source_files
from analysis.tables import fingerprint

WORTH_S = 3.0  # what was done sooner is not worth the disk (judgement; no number rests on it)
MOST_BYTES = 4_000_000_000  # of all that is kept (judgement)
NAMES, HALF = "names.json", ".half-"
NAME = re.compile(rf"[a-z]+-[0-9a-f]{{32}}|{re.escape(HALF)}\w+")
LIBRARIES = ("numpy", "pandas", "pyarrow", "pyproj", "scipy", "statsmodels")
Stage = dict[str, pd.DataFrame]


def mark(*inputs: pd.DataFrame | str) -> str:
    """Thirty-two hexadecimal digits that change when an input, our code or a library does."""
    digest = hashlib.sha256(fingerprint(source_files()).encode())
    versions = [sys.version, *(f"{name} {metadata.version(name)}" for name in LIBRARIES)]
    digest.update("\n".join(versions).encode())
    for one in inputs:
        if isinstance(one, str):
            digest.update(f"{len(one)}:{one}".encode())
            continue
        digest.update(f"{len(one)}:{[(name, str(kind)) for name, kind in one.dtypes.items()]}".encode())
        for name in one:
            digest.update(pd.util.hash_pandas_object(one[name], index=False).to_numpy().tobytes())
    return digest.hexdigest()[:32]


def kept(what: str, made_from: str, make: Callable[[], Stage]) -> Stage:
    """The tables of a stage, kept from an earlier time or made now by calling `make`.

    Parameters
    ----------
    what : str
        Name of the stage, lower-case letters.
    made_from : str
        `mark` of everything that `make` leans on.
    make : callable
        Without arguments; the tables it returns are kept if they took long.
    """
    folder = cache_folder() / "stages" / f"{what}-{made_from}"
    with suppress(OSError, ValueError, pa.ArrowException):  # damaged, or only half there: it is made anew
        if folder.is_dir():
            with progress.stage(f"reading what was finished before: {what}"):
                names = json.loads((folder / NAMES).read_text(encoding="utf-8"))
                stage = {name: pd.read_parquet(folder / f"{name}.parquet") for name in names}
                os.utime(folder)
                return stage
    began = time.monotonic()
    stage = make()
    if time.monotonic() - began >= WORTH_S:
        with suppress(OSError):  # a full disk or a lost right costs the next review time, not this one
            _keep(folder, stage)
    return stage


def _keep(folder: Path, stage: Stage) -> None:
    folder.parent.mkdir(mode=0o700, exist_ok=True)
    fresh = Path(tempfile.mkdtemp(dir=folder.parent, prefix=HALF))
    try:
        for name, table in stage.items():
            table.to_parquet(fresh / f"{name}.parquet", compression="zstd")
        (fresh / NAMES).write_text(json.dumps(list(stage)), encoding="utf-8")
        shutil.rmtree(folder, ignore_errors=True)  # a damaged one
        fresh.replace(folder)
    finally:
        shutil.rmtree(fresh, ignore_errors=True)
    sweep(folder.parent, most_bytes=MOST_BYTES)


def sweep(folder: Path, *, most_bytes: int) -> None:
    """Remove the longest unused of our stages until the rest fits, and those left half-made a day ago."""
    held = 0
    ours = [(path.stat().st_mtime, path) for path in folder.iterdir() if NAME.fullmatch(path.name)]
    for used, path in sorted(ours, reverse=True):
        half = path.name.startswith(HALF)
        held += 0 if half else sum(part.stat().st_size for part in path.iterdir())
        if held > most_bytes or (half and time.time() - used > 86_400):
            shutil.rmtree(path, ignore_errors=True)

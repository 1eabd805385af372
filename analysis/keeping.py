"""Finished stages of a review, kept in the user's cache folder so that a repeat goes on from what was finished.

    stages/<stage>-<mark>.pickle

A mark changes with the inputs of a stage, with our code and with the libraries that count. What is kept only
saves time: it is bounded, the longest unused goes first, and whatever cannot be read is made anew.
"""

from __future__ import annotations

import hashlib
import os
import pickle
import re
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import suppress
from importlib import metadata
from pathlib import Path
from typing import Any

import pandas as pd

from analysis import progress
from analysis.folders import cache_folder
from analysis.shipped import source_files
from analysis.tables import fingerprint

WORTH_S = 3.0  # what was done sooner is not worth the disk (judgement; no number rests on it)
MOST_BYTES = 4_000_000_000  # of all that is kept (judgement)
NAME = re.compile(r"[a-z]+-[0-9a-f]{32}\.pickle|\.[a-z0-9_]+\.stage")
LIBRARIES = ("numpy", "pandas", "pyarrow", "pyproj", "scipy", "statsmodels")


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


def kept(what: str, made_from: str, make: Callable[[], Any]) -> Any:
    """The result of a stage, kept from an earlier time or made now by calling `make`.

    Parameters
    ----------
    what : str
        Name of the stage, lower-case letters.
    made_from : str
        `mark` of everything that `make` leans on.
    make : callable
        Without arguments; what it returns is kept if it took long.
    """
    folder = cache_folder() / "stages"
    path = folder / f"{what}-{made_from}.pickle"
    with suppress(Exception):  # damaged, or of a library that changed under us: it is made anew
        if _private(folder) and path.is_file():
            with progress.stage(f"reading what was finished before: {what}"):
                result = pickle.loads(path.read_bytes())
                path.touch()
                return result
    began = time.monotonic()
    result = make()
    if time.monotonic() - began >= WORTH_S:
        with suppress(OSError):  # a full disk or a lost right costs the next review time, not this one
            _keep(path, result)
    return result


def _keep(path: Path, result: Any) -> None:
    path.parent.mkdir(mode=0o700, exist_ok=True)
    if not _private(path.parent):
        return
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".stage")
    try:
        with os.fdopen(handle, "wb") as stream:
            pickle.dump(result, stream, protocol=pickle.HIGHEST_PROTOCOL)
        Path(name).replace(path)
    finally:
        Path(name).unlink(missing_ok=True)
    sweep(path.parent, most_bytes=MOST_BYTES)


def sweep(folder: Path, *, most_bytes: int) -> None:
    """Remove the longest unused of our files until the rest fits, and those left half-written a day ago."""
    ours = [(path.stat(), path) for path in folder.iterdir() if NAME.fullmatch(path.name)]
    held = 0
    for about, path in sorted(ours, key=lambda one: -one[0].st_mtime):
        half = path.suffix == ".stage"
        held += 0 if half else about.st_size
        if held > most_bytes or (half and time.time() - about.st_mtime > 86_400):
            path.unlink(missing_ok=True)


def _private(folder: Path) -> bool:
    """Whether nobody else can write there: what is kept is read back as objects."""
    if not hasattr(os, "getuid"):  # Windows: the user's own profile
        return True
    about = folder.stat()
    return about.st_uid == os.getuid() and not about.st_mode & 0o022

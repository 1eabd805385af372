"""The finished tables of one review: kept in a folder, read back by notebooks and pages."""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import tempfile
import time
from contextlib import suppress
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Any

import pandas as pd

from analysis.gather.problems import InputError

TIMES = {
    "openings": ["start", "end"],
    "days": ["first", "last"],
    "listening": ["start", "end"],
    "signs": ["start"],
    "ladder": ["start"],
    "beacons_heard": ["first", "last"],
    "muf": ["start", "time"],
    "patches": ["start", "end"],
    "soundings": ["time"],
}  # UTC
HALF = ".half-demo-"
KEPT = re.compile(rf"demo-[0-9a-f]{{12}}|{re.escape(HALF)}\w+")
UNUSED_S = 7 * 86_400.0  # judgement: whoever goes back to an older code waits a minute or two
DATES = {"windows": ["start"], "days": ["day"], "soundings": ["day"]}  # days of a calendar, in no time zone
TEXT = (  # columns of words; a file that happens to hold none of them must still read them as words
    *(
        "against",
        "area",
        "axis",
        "band",
        "basis",
        "best_bearing",
        "by",
        "call",
        "check",
        "column",
        "date",
        "direction",
        "drift_reason",
        "ended",
        "factor",
        "farthest_mechanism",
        "field",
    ),
    *(
        "forecast",
        "found",
        "grade",
        "listener",
        "joined",
        "kind",
        "locator",
        "means",
        "mechanism",
        "mechanisms",
        "method",
        "note",
        "other",
        "path_type",
        "reason",
        "repair",
    ),
    *(
        "samples",
        "rung",
        "scope",
        "score",
        "sign",
        "source",
        "stable",
        "station",
        "step",
        "target",
        "target_band",
        "tier",
        "unit",
        "up_reason",
        "upper",
        "verdict",
        "what",
        "which",
        "why",
    ),
)
DOUBTED = ["source", "source_row", "doubt", "time", "band", "tx_call", "tx_locator", "rx_call", "rx_locator"]
GUARD = "'"
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠", GUARD)  # first signs of a cell
FORMAT = 4  # raise it when a table changes so that an older folder cannot be read rightly


@dataclass(frozen=True)
class About:
    """What a review was made from: its home locator, files, last report and the version that made it."""

    home: str
    station: str
    club: str
    zone: str
    sources: list[str]
    data_until: str
    version: str
    format: int = FORMAT


@dataclass(frozen=True)
class Tables:
    """Every table of a finished review; the columns are listed in DEVELOPERS.md."""

    about: About
    spots: pd.DataFrame
    beacons: pd.DataFrame
    set_aside: pd.DataFrame
    guesses: pd.DataFrame
    notes: pd.DataFrame
    account: pd.DataFrame
    openings: pd.DataFrame
    days: pd.DataFrame
    sensitivity: pd.DataFrame
    patches: pd.DataFrame
    listening: pd.DataFrame
    signs: pd.DataFrame
    leads: pd.DataFrame
    indicators: pd.DataFrame
    ladder: pd.DataFrame
    rungs: pd.DataFrame
    voice_levels: pd.DataFrame
    beacons_heard: pd.DataFrame
    muf: pd.DataFrame
    chain: pd.DataFrame
    forecasts: pd.DataFrame
    forecast_levels: pd.DataFrame
    weather: pd.DataFrame
    neighbours: pd.DataFrame
    soundings: pd.DataFrame
    land_sea: pd.DataFrame
    daily: pd.DataFrame
    season: pd.DataFrame
    seasons: pd.DataFrame
    estimates: pd.DataFrame
    windows: pd.DataFrame
    hours: pd.DataFrame
    verification: pd.DataFrame
    reliability: pd.DataFrame
    compared: pd.DataFrame
    published: pd.DataFrame
    key_numbers: dict[str, Any]


def save(tables: Tables, folder: Path) -> None:
    """Write every table into `folder`: the spots as Parquet, the others as CSV, the numbers as JSON."""
    folder.mkdir(parents=True, exist_ok=True)
    tables.spots.to_parquet(folder / "spots.parquet", compression="zstd")
    write_doubts(tables.spots, folder)
    for name in _csv_names():
        write_csv(getattr(tables, name), folder / f"{name}.csv")
    write_json(folder / "key_numbers.json", tables.key_numbers)
    write_json(folder / "about.json", asdict(tables.about))


def write_doubts(spots: pd.DataFrame, folder: Path) -> None:
    """Write the rows that were kept with a doubt as `doubts.csv`, which a person can read."""
    write_csv(spots.loc[spots["doubt"] != "", DOUBTED], folder / "doubts.csv")


def load(folder: str | Path) -> Tables:
    """Read the tables that `save` wrote.

    Raises
    ------
    InputError
        If `folder` holds no finished review, or one of another format.
    """
    folder = Path(folder)
    try:
        about = About(**json.loads((folder / "about.json").read_text(encoding="utf-8")))
    except (OSError, TypeError, ValueError) as error:
        raise InputError(f"{folder}: holds no finished review; run the review again") from error
    if about.format != FORMAT:
        raise InputError(f"{folder}: was made by Seasonbook {about.version}; run the review again")
    csv = {name: _read_csv(folder / f"{name}.csv") for name in _csv_names()}
    numbers = json.loads((folder / "key_numbers.json").read_text(encoding="utf-8"))
    return Tables(about, pd.read_parquet(folder / "spots.parquet"), key_numbers=numbers, **csv)


def kept(folder: Path, make) -> Tables:
    """Tables kept in `folder`, made by calling `make` the first time; two at once do not spoil it.

    What other states of the code left beside it goes when it has not been used for a week.
    """
    if not folder.is_dir():
        folder.parent.mkdir(parents=True, exist_ok=True)
        fresh = Path(tempfile.mkdtemp(dir=folder.parent, prefix=HALF))
        save(make(), fresh)
        try:
            fresh.replace(folder)
        except OSError:  # another process was first; its tables are the same
            shutil.rmtree(fresh)
    with suppress(OSError):  # it only saves room
        os.utime(folder)
        _sweep(folder.parent)
    return load(folder)


def _sweep(folder: Path) -> None:
    """Remove kept tables that nobody has used for a week, and those left half-made."""
    for path in folder.iterdir():
        if KEPT.fullmatch(path.name) and time.time() - path.stat().st_mtime > UNUSED_S:
            shutil.rmtree(path, ignore_errors=True)


def fingerprint(paths) -> str:
    """Twelve hexadecimal digits that change when any byte of the files, or their order, does."""
    digest = hashlib.sha256()
    for path in paths:
        digest.update(path.name.encode() + path.read_bytes())
    return digest.hexdigest()[:12]


def _csv_names() -> list[str]:
    return [field.name for field in fields(Tables) if field.name not in ("about", "spots", "key_numbers")]


def _read_csv(path: Path) -> pd.DataFrame:
    table = pd.read_csv(path, dtype=dict.fromkeys(TEXT, "str"))
    for name in TIMES.get(path.stem, []):
        table[name] = pd.to_datetime(table[name], utc=True, format="ISO8601")
    for name in DATES.get(path.stem, []):
        table[name] = pd.to_datetime(table[name])
    words = table.columns[table.columns.isin(TEXT)]
    table[words] = table[words].fillna("").apply(lambda cells: cells.str.removeprefix(GUARD))
    untold = table.columns[table.dtypes == "object"]  # a table without rows: neither words nor dates
    return table.astype(dict.fromkeys(untold, "float64"))


def write_csv(table: pd.DataFrame, path: Path, **form: Any) -> None:
    """Write a table as CSV in which no cell is a formula to a spreadsheet.

    Cells of words that begin as a formula does, or with an apostrophe, get an apostrophe before them,
    which `load` takes away again. Numbers need none.

    Parameters
    ----------
    form : dict, optional
        More of pandas' own options, such as `float_format`.

    References
    ----------
    OWASP Foundation, CSV Injection (from memory): the signs that a spreadsheet takes for a formula.
    """
    words = [name for name in table if not pd.api.types.is_numeric_dtype(table[name])]
    words = [name for name in words if not pd.api.types.is_datetime64_any_dtype(table[name])]
    table.assign(**{name: table[name].astype("object").map(_guarded) for name in words}).to_csv(  # type: ignore[arg-type]
        path, index=False, **form
    )


def _guarded(cell: Any) -> Any:
    return GUARD + cell if isinstance(cell, str) and cell.startswith(FORMULA) else cell


def write_json(path: Path, content) -> None:
    """Write JSON that a person can read and that is the same whenever the content is."""
    path.write_text(json.dumps(content, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")

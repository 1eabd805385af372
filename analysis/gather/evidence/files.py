"""Files of evidence among the files that a user names, each told by its own heading, into checked tables."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path

import pandas as pd

from analysis.gather import problems
from analysis.gather.evidence import kinds, rows, terrain
from analysis.gather.files import Gathered
from analysis.gather.problems import InputError
from analysis.gather.reading import contents
from analysis.gather.reading.sources import inside

NAME_TIME = (
    r"(?<![0-9])(20[0-9]{2})[-_.]?([01][0-9])[-_.]?([0-3][0-9])(?:[-_. T]*([0-2][0-9])(?![0-9])|(?=[^0-9]|$))"
)
EMPTY = {
    kinds.FORECASTS: ("forecast", "issued", "meant", "lead", "area", "band", "mechanism", "index"),
    kinds.WEATHER: ("day",),
    kinds.SOUNDINGS: ("time", *rows.LEVELS.values()),
    kinds.FIELD: ("time", "index"),
}


@dataclass(frozen=True)
class Evidence:
    """What a user brought beside the reports; tables without rows, and no ground, where nothing was brought.

    `forecasts`: `forecast issued meant lead area band mechanism index`; `weather`: `day` and a column each of
    what was noted; `soundings`: levels, `time height_m pressure_hpa temperature_c dew_point_c humidity`;
    `field`: a planetary index of the Earth's field, `time index`, the value (0 to 9) from each time on;
    `account` and `set_aside` as in `gather.files.Gathered`.
    """

    forecasts: pd.DataFrame
    weather: pd.DataFrame
    soundings: pd.DataFrame
    field: pd.DataFrame
    ground: terrain.Terrain | None
    account: pd.DataFrame
    set_aside: pd.DataFrame


def parted(paths) -> tuple[list[Path], list]:
    """Files of evidence, and all others; a folder stays among the others if it holds anything else."""
    evidence, others = [], []
    for one in paths:
        path = Path(one)
        files = sorted(inside(path)) if str(one) and path.is_dir() else [path]
        told = [file for file in files if kinds.kind_of_file(file)]
        evidence += told
        if len(told) < len(files):
            others.append(one)  # as it was named, so that an empty name is still told as one
    return evidence, others


def gather_evidence(paths) -> Evidence:
    """Read files of evidence.

    Parameters
    ----------
    paths : sequence of path
        As `parted` found them.

    Raises
    ------
    InputError
        If a file as a whole cannot be used.
    """
    found: dict[str, list[pd.DataFrame]] = {kind: [] for kind in EMPTY}
    ground, account, odd = None, [], [problems.no_rows()]
    for path in sorted(map(Path, paths)):
        kind, data = kinds.kind_of_file(path), _bytes(path)
        if kind == kinds.TERRAIN:
            if ground is not None:
                raise InputError(f"{path}: is a second grid of heights; name one that covers the stations")
            ground = terrain.parse(data.decode("utf-8", "replace"), source=path.name)
            continue
        read = _rows(kind, data, path)
        found[kind].append(read.good)
        odd.append(read.set_aside)
        account.append((path.name, len(read.good) + len(read.set_aside), len(read.good), len(read.set_aside)))
    tables = {
        kind: pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=list(EMPTY[kind]))
        for kind, parts in found.items()
    }
    tables[kinds.WEATHER] = tables[kinds.WEATHER].drop_duplicates("day", ignore_index=True)
    columns = ["source", "rows_in", "kept", "set_aside"]
    return Evidence(
        **tables,
        ground=ground,
        account=pd.DataFrame(account, columns=columns).assign(duplicates=0),
        set_aside=pd.concat(odd, ignore_index=True),
    )


def _bytes(path: Path) -> bytes:
    """Bytes of a file, unpacked."""
    return b"\n".join(data for _, data in contents.members(path))


def _rows(kind: str, data: bytes, path: Path) -> rows.Rows:
    table = rows.read(data, source=path.name)
    if kind == kinds.FORECASTS:
        return rows.forecasts(table, source=path.name)
    if kind == kinds.WEATHER:
        return rows.weather(table, source=path.name)
    if kind == kinds.FIELD:
        return rows.field(table, source=path.name)
    return rows.soundings(table, source=path.name, time=named_time(path.name))


def named_time(name: str) -> pd.Timestamp | None:
    """Day and hour (UTC) in a file's name, like 2024-06-12_12 or 2024061200; noon where no hour is given."""
    found = re.findall(NAME_TIME, name)
    if len(found) != 1:
        return None
    year, month, day, hour = found[0]
    time = pd.to_datetime(f"{year}-{month}-{day} {hour or '12'}:00", utc=True, errors="coerce")
    return None if time is pd.NaT else time  # type: ignore[return-value]


def with_account(gathered: Gathered, evidence: Evidence) -> Gathered:
    """What was gathered, with the evidence's files in the account and their odd rows set aside.

    What was said of such a file when a folder was searched for reports is taken back.
    """
    if evidence.account.empty:
        return gathered
    told = gathered.account["rows_in"].eq(0) & gathered.account["source"].isin(evidence.account["source"])
    again = gathered.account.loc[told, "source"]
    account = pd.concat([gathered.account[~told], evidence.account], ignore_index=True)
    return replace(
        gathered,
        account=account.fillna(0).astype(gathered.account.dtypes),
        set_aside=pd.concat([gathered.set_aside, evidence.set_aside], ignore_index=True),
        notes=gathered.notes[~gathered.notes["source"].isin(again)].reset_index(drop=True),
    )


def nameless(evidence: Evidence) -> Evidence:
    """The same evidence without what the user wrote of places; no ground, which squares of four characters blur."""
    named = {
        area: f"area {n}" for n, area in enumerate(sorted(set(evidence.forecasts["area"]) - {""}), start=1)
    }
    located = rows.areas(pd.Series(list(named), dtype="str")).notna().all(axis=1)
    named |= {area: _coarse(area) for area, known in zip(list(named), located, strict=True) if known}
    kept = evidence.forecasts
    files = {name: f"forecast {n}" for n, name in enumerate(sorted(set(kept["forecast"])), start=1)}
    hidden = kept.assign(area=kept["area"].replace(named), forecast=kept["forecast"].replace(files))
    none = evidence.account.iloc[:0]
    return replace(
        evidence, forecasts=hidden, ground=None, account=none, set_aside=evidence.set_aside.iloc[:0]
    )


def _coarse(area: str) -> str:
    """Squares of four characters in place of longer ones."""
    return "-".join(square[:4] for square in re.findall(r"[A-Ra-r]{2}[0-9]{2}\w*", area))


NO_EVIDENCE = gather_evidence([])

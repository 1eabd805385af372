"""Every file a club has, of whatever kind, into one checked spot table with an account of its rows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from analysis import progress
from analysis.gather import problems, spots
from analysis.gather.cells import times, values
from analysis.gather.columns import broadcasts, mapping
from analysis.gather.columns import meaning as columns
from analysis.gather.joining import both_logs, clocks, contacts, doubts, merge, several_squares
from analysis.gather.problems import InputError, NothingOfOurs, printable
from analysis.gather.reading import adif, adx, cabrillo, contents, records, sources
from analysis.gather.reading import delimited as tables
from analysis.gather.reading.sources import File
from analysis.gather.rows import broadcasts as broadcast_rows
from analysis.gather.rows import checks
from analysis.gather.rows import known as tabular

BEACONS: dict[str, Any] = {"call": "str", "locator": "str", "freq_mhz": "float64"}
LISTENING: dict[str, Any] = {"station": "str", "band": "str", "start": times.UTC_TIME, "end": times.UTC_TIME}
BATCH = 20_000  # records, or
BATCH_FILES = 1000  # logs that are checked at once
HEAD = 1 << 20  # bytes from which the kind of a text file is seen


@dataclass(frozen=True)
class Gathered:
    """What a set of files holds.

    `spots`: rows of the spot table, sorted by time; `beacons`: `call locator freq_mhz`;
    `listening`: `station band start end`, as declared; `set_aside`: `problems.SET_ASIDE`;
    `account`: `source rows_in kept set_aside duplicates doubted`, one line per file; `guesses`: what each
    column of a table was taken for (`columns.GUESSES`); `notes`: `source note`, what else was seen.
    """

    spots: pd.DataFrame
    beacons: pd.DataFrame
    listening: pd.DataFrame
    set_aside: pd.DataFrame
    account: pd.DataFrame
    guesses: pd.DataFrame
    notes: pd.DataFrame


@dataclass(frozen=True)
class Read:
    """What one file holds, or several, before all are merged; each table has a column `source`.

    `rows_in`: rows found, by source.
    """

    rows_in: dict[str, int]
    spots: pd.DataFrame
    beacons: pd.DataFrame
    listening: pd.DataFrame
    set_aside: pd.DataFrame
    guesses: pd.DataFrame
    notes: pd.DataFrame


@dataclass(frozen=True)
class Log:
    """Records of one log, not yet checked; `rest` is what stood behind the last whole one."""

    source: str
    records: list[dict[str, str]]
    rest: dict[str, str]


def gather_files(paths: Iterable[str | Path], *, home: str = "", station: str = "") -> Gathered:
    """Read files of any kind and merge them into one spot table.

    Parameters
    ----------
    paths : sequence of str or Path
        Logs, spot tables, beacon lists and tables of listening hours, or folders and archives of them;
        what a file is, is seen from its contents. Their order makes no difference.
    home : str
        Locator of the station whose logs these are, for contacts that do not name their own.
    station : str
        Call sign of that station, for rows that do not name it.

    Returns
    -------
    Gathered
        For every file: rows in = kept + set aside + duplicates.

    Raises
    ------
    InputError
        If a file as a whole cannot be used; one line says why and what to do.

    Examples
    --------
    >>> from analysis import gather_files, shipped
    >>> gathered = gather_files([shipped.DEMO / "club_log.adi"], home="IN93")
    >>> row = gathered.account.iloc[0]
    >>> bool(row["rows_in"] == row["kept"] + row["set_aside"] + row["duplicates"])
    True
    """
    with progress.stage("reading", unit="rows"):
        parts = list(read_all(sources.every_file(paths), home=home, station=station))
    refuse_left_out([n for part in parts for n in part.rows_in.values()])
    return merged(parts)


def refuse_left_out(rows_in: list[int]) -> None:
    """InputError where every file was left out; `rows_in` are the rows found in each."""
    if rows_in and not any(rows_in):
        raise InputError(
            f"none of the {len(rows_in)} files found is a log or a table of reports; name others, or export the contacts as ADIF"
        )


def read_all(found: Iterable[File], *, home: str = "", station: str = "") -> Iterator[Read]:
    """Read files of any kind. See `gather_files`.

    Logs are checked many at a time, which takes little longer than checking one. What is no log or
    table at all is left out with a note where a folder or an archive holds it.
    """
    logs: list[Log] = []
    for file in found:
        with progress.stage(f"reading {printable(file.source)} ({len(file.data) / 1e6:,.1f} MB)"):
            read = _read_or_left_out(file, home=home, station=station)
        progress.add(sum(read.rows_in.values()) if isinstance(read, Read) else len(read.records))
        if isinstance(read, Read):
            yield read
            continue
        logs.append(read)
        if sum(len(log.records) for log in logs) >= BATCH or len(logs) >= BATCH_FILES:
            yield checked_logs(logs, home=home, station=station)
            logs = []
    if logs:
        yield checked_logs(logs, home=home, station=station)


def _read_or_left_out(file: File, *, home: str, station: str) -> Read | Log:
    try:
        return parsed(file.data, beside=file.beside, source=file.source, home=home, station=station)
    except NothingOfOurs as told:
        if file.named:
            raise
        note = f"left out: {str(told).removeprefix(f'{printable(file.source)}: ')}"
    notes = pd.DataFrame({"source": [file.source], "note": [note]}, dtype="str")
    return as_read({file.source: 0}, set_aside=[problems.no_rows()], notes=notes)


def parsed(data: bytes, *, beside: Path, source: str, home: str, station: str) -> Read | Log:
    """Read one file, seeing from its contents what it is; a log only as far as its records."""
    if data.startswith(b"PAR1"):
        table = records.read_parquet(data, source=source)
        return _table(beside, table, source=source, home=home, station=station)
    data = contents.as_utf8(data, source=source)
    head = data[:HEAD].decode("utf-8", "ignore")
    if adx.looks_like_adx(head):
        found, cut = adx.parse(data.decode("utf-8"), source=source)
        return _log(source, found, {"": "</record>"} if cut else {})
    if records.looks_like_json(head):
        table = records.read_json(data.decode("utf-8"), source=source)
        return _table(beside, table, source=source, home=home, station=station)
    if adif.looks_like_adif(head):
        return _log(source, *adif.parse(data.decode("utf-8")))
    if cabrillo.looks_like_cabrillo(head):
        return _contest_log(data.decode("utf-8"), source=source, home=home, station=station)
    return _table(beside, tables.read_table(data, source=source), source=source, home=home, station=station)


def _log(source: str, found: list[dict[str, str]], rest: dict[str, str]) -> Log:
    if not found:
        raise NothingOfOurs(f"{source}: no whole record was found, the log is cut short; export it again")
    return Log(source, found, rest)


def checked_logs(logs: list[Log], *, home: str, station: str) -> Read:
    """Check the records of logs, as if they were one log's."""
    raw = adif.rows([record for log in logs for record in log.records])
    sizes = [len(log.records) for log in logs]
    codes = np.repeat(np.arange(len(logs)), sizes)
    raw["source"] = pd.Categorical.from_codes(
        codes, categories=pd.Index([log.source for log in logs], dtype="str")
    )
    raw["source_row"] = np.concatenate([np.arange(1, size + 1) for size in sizes])
    cut = [log for log in logs if log.rest]
    odd = problems.set_aside(
        [len(log.records) + 1 for log in cut],
        source=[log.source for log in cut],
        field="record",
        found=[" ".join(log.rest.values()) for log in cut],
        reason="the last record is cut short",
        repair="export the log again",
    )
    rows_in = {log.source: len(log.records) + bool(log.rest) for log in logs}
    return _spots(raw, odd, rows_in=rows_in, home=home, station=station)


def _contest_log(text: str, *, source: str, home: str, station: str) -> Read:
    raw, odd = cabrillo.rows(text, source=source)
    if raw.empty and odd.empty:
        raise NothingOfOurs(f"{source}: the contest log holds no contact (QSO: line); export it again")
    raw["source"] = values.constant(source, index=raw.index)
    return _spots(raw, odd, rows_in={source: len(raw) + len(odd)}, home=home, station=station)


def _spots(
    raw: pd.DataFrame, odd: pd.DataFrame, *, rows_in: dict[str, int], home: str, station: str, guesses=None
) -> Read:
    """Check the raw rows of files; `odd` are rows that their reader has set aside already."""
    good, bad = checks.checked(raw, home=home, station=station)
    notes = checks.placed(raw, home=home)
    return as_read(rows_in, spots_of=good, set_aside=[odd, bad], guesses=guesses, notes=notes)


def _table(path: Path, table: tables.Table, *, source: str, home: str, station: str) -> Read:
    odd = tabular.odd_rows(table, source=source)
    rows_in = {source: len(table.lines) + len(odd)}
    if len(table.lines) == 0:
        raise NothingOfOurs(
            f"{source}: no rows of a table were found; export the spots as CSV with one header line"
        )
    table = tabular.with_year(table, source=source)
    told = mapping.from_beside(path, table, source=source)
    fm = None if told else broadcasts.recognise(table.cells, header=table.header)
    found = told or fm or columns.recognise(table.cells, header=table.header)
    kind = tabular.kind_of_table(found)
    if not (told or fm or kind) and (places := broadcasts.recognise_places(table.cells, header=table.header)):
        fm, found, kind = places, places, "beacons"
    guesses = columns.as_table(found, table.cells, source=source)
    rows_of = broadcast_rows if fm else tabular
    if kind == "listening":
        hours, bad = tabular.listening_rows(table, found, source=source, station=station)
        return as_read(rows_in, listening=hours.assign(source=source), set_aside=[odd, bad], guesses=guesses)
    if kind == "beacons" and not found.question:
        beacons, bad = rows_of.beacon_rows(table, found, source=source)
        return as_read(rows_in, beacons=beacons.assign(source=source), set_aside=[odd, bad], guesses=guesses)
    if found.question:
        raise mapping.ask(path, table, found, source=source)
    if not fm:
        tabular.refuse(found, source=source)
    raw = rows_of.spot_rows(table, found, source=source)
    if "tx_call" not in raw:
        raw["tx_call"] = station
    raw["source"] = values.constant(source, index=raw.index)
    return _spots(raw, odd, rows_in=rows_in, home=home, station=station, guesses=guesses)


def as_read(
    rows_in: dict[str, int],
    *,
    spots_of=None,
    beacons=None,
    listening=None,
    set_aside: list,
    guesses=None,
    notes=None,
) -> Read:
    """Tables of files, those that they do not hold empty; `set_aside` is a list of tables."""

    def empty(kinds: dict[str, Any]) -> pd.DataFrame:
        return pd.DataFrame(
            {name: pd.Series(dtype=kind) for name, kind in (kinds | {"source": "str"}).items()}
        )

    return Read(
        rows_in=rows_in,
        spots=spots.as_spots(pd.DataFrame()) if spots_of is None else spots_of,
        beacons=empty(BEACONS) if beacons is None else beacons,
        listening=empty(LISTENING) if listening is None else listening,
        set_aside=pd.concat(set_aside, ignore_index=True),
        guesses=columns.no_guesses() if guesses is None else guesses,
        notes=empty({"note": "str"}) if notes is None else notes,
    )


@progress.stage("merging what was read")
def merged(parts: list[Read]) -> Gathered:
    """Merge what the files hold, exact repetitions counted and dropped."""
    tables_of = {
        "spots": merge.stacked([part.spots for part in parts]),
        "beacons": pd.concat([part.beacons for part in parts], ignore_index=True),
        "listening": pd.concat([part.listening for part in parts], ignore_index=True),
    }
    set_aside = pd.concat([part.set_aside for part in parts], ignore_index=True)
    exact = merge.exact_duplicates(tables_of["spots"])
    tables_of["spots"], told_again = contacts.join_contacts(tables_of["spots"], known=~exact)
    repeated = {
        "spots": exact | told_again,
        "beacons": tables_of["beacons"].duplicated(list(BEACONS)).to_numpy(),
        "listening": tables_of["listening"].duplicated(list(LISTENING)).to_numpy(),
    }
    kept = {name: table[~repeated[name]] for name, table in tables_of.items()}
    beacons = kept["beacons"][list(BEACONS)].astype(BEACONS).reset_index(drop=True)
    filled = merge.fill_from_beacons(kept["spots"].reset_index(drop=True), beacons)
    kept["spots"], unplaced = broadcast_rows.placed(filled)
    set_aside = pd.concat([set_aside, unplaced], ignore_index=True)
    duplicates = pd.concat(
        [tables_of[name].loc[mask, "source"].astype("str") for name, mask in repeated.items()]
    )
    account = merge.account(
        rows_in=pd.Series({source: n for part in parts for source, n in part.rows_in.items()}),
        kept=[table["source"] for table in kept.values()],
        set_aside=set_aside["source"],
        duplicates=duplicates,
    )
    rows = kept["spots"].reset_index(drop=True)
    rows["tx_locator"] = both_logs.own_squares(rows)
    told = doubts.doubts(rows, logs=both_logs.owners(tables_of["spots"]))
    rows["doubt"] = told.where(~rows["band"].isin(values.RECEIVE_ONLY), rows["doubt"])  # names are no calls
    doubted = rows.loc[rows["doubt"] != "", "source"].astype("str").value_counts()
    account["doubted"] = account["source"].map(doubted).fillna(0).astype("int64")
    return Gathered(
        spots=merge.in_time(rows),
        beacons=beacons,
        listening=kept["listening"][list(LISTENING)].astype(LISTENING).reset_index(drop=True),
        set_aside=set_aside,
        account=account,
        guesses=pd.concat([part.guesses for part in parts], ignore_index=True),
        notes=pd.concat(
            [*(part.notes for part in parts), clocks.offsets(rows), several_squares.rovers(rows)],
            ignore_index=True,
        ),
    )

"""Every file a club has, of whatever kind, into one checked spot table with an account of its rows."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd

from analysis.gather import adif, checks, columns, contents, merge, problems, spots, tables, times, values
from analysis.gather.problems import InputError

BEACONS: dict[str, Any] = {"call": "str", "locator": "str", "freq_mhz": "float64"}
LISTENING: dict[str, Any] = {"station": "str", "band": "str", "start": times.UTC_TIME, "end": times.UTC_TIME}


@dataclass(frozen=True)
class Gathered:
    """What a set of files holds.

    `spots`: rows of the spot table, sorted by time; `beacons`: `call locator freq_mhz`;
    `listening`: `station band start end`, as declared; `set_aside`: `problems.SET_ASIDE`;
    `account`: `source rows_in kept set_aside duplicates`, one line per file.
    """

    spots: pd.DataFrame
    beacons: pd.DataFrame
    listening: pd.DataFrame
    set_aside: pd.DataFrame
    account: pd.DataFrame


@dataclass(frozen=True)
class Read:
    """What one file holds before files are merged; each table has a column `source`."""

    rows_in: int
    spots: pd.DataFrame
    beacons: pd.DataFrame
    listening: pd.DataFrame
    set_aside: pd.DataFrame


def gather_files(paths, *, home: str = "", station: str = "") -> Gathered:
    """Read files of any kind and merge them into one spot table.

    Parameters
    ----------
    paths : sequence of str or Path
        Logs, spot tables, beacon lists and tables of listening hours; what a file is, is seen from
        its contents. Their order makes no difference.
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
    """
    named = source_names([Path(path) for path in paths])
    if not named:
        raise InputError("no file was named; give at least one log or spot table")
    parts = {
        source: read_file(path, source=source, home=home, station=station) for source, path in named.items()
    }
    return merged(parts)


def source_names(paths: list[Path]) -> dict[str, Path]:
    """A short name for each file, in an order that does not depend on the order given."""
    unique = sorted(
        {path.resolve(): path for path in paths}.values(), key=lambda path: path.resolve().parts[::-1]
    )
    names: dict[str, Path] = {}
    for path in unique:
        parts = path.resolve().parts
        depth = next(
            (
                n
                for n in range(1, len(parts))
                if sum(other.resolve().parts[-n:] == parts[-n:] for other in unique) == 1
            ),
            len(parts),
        )
        names["/".join(parts[-depth:])] = path
    return dict(sorted(names.items()))


def read_file(path: Path, *, source: str, home: str = "", station: str = "") -> Read:
    """Read one file of any kind; see `gather_files`."""
    text = contents.as_text(contents.contents(path), source=source)
    if adif.looks_like_adif(text):
        return _log(text, source=source, home=home, station=station)
    return _table(text, source=source, home=home, station=station)


def _log(text: str, *, source: str, home: str, station: str) -> Read:
    records, rest = adif.parse(text)
    if not records:
        raise InputError(
            f"{source}: no whole record (<EOR>) was found, the log is cut short; export it again"
        )
    good, bad = checks.checked(adif.rows(records), source=source, home=home, station=station)
    if rest:
        cut = problems.set_aside(
            [len(records) + 1],
            source=source,
            field="record",
            found=" ".join(rest.values()),
            reason="the last record is cut short (no <EOR>)",
            repair="export the log again",
        )
        bad = pd.concat([bad, cut], ignore_index=True)
    return _read(len(records) + bool(rest), spots_of=good, set_aside=bad)


def _table(text: str, *, source: str, home: str, station: str) -> Read:
    table = tables.read_table(text)
    meaning = columns.by_name(list(table.cells.columns)) if table.header else {}
    raw = table.cells.rename(columns=meaning)[list(meaning.values())].assign(source_row=table.lines)
    odd = problems.set_aside(
        table.odd["line"],
        source=source,
        field="row",
        found=table.odd["found"],
        reason=f"more cells than the {table.cells.shape[1]} of the table",
        repair="put quotes around a cell that holds the separator, or remove the extra cell",
    )
    rows_in = len(raw) + len(odd)
    if rows_in == 0:
        raise InputError(
            f"{source}: no rows of a table were found; export the spots as CSV with one header line"
        )
    have = set(meaning.values())
    if {"start", "end"} <= have:
        listening, bad = _listening(raw, source=source, station=station)
        return _read(rows_in, listening=listening, set_aside=pd.concat([odd, bad], ignore_index=True))
    if not have & {"time", "date"} and have & {"call", "tx_call"} and have & {"locator", "tx_locator"}:
        beacons, bad = _beacons(raw, source=source)
        return _read(rows_in, beacons=beacons, set_aside=pd.concat([odd, bad], ignore_index=True))
    raw = raw.rename(columns=_spot_columns(have, source=source))
    raw["kind"] = "heard"
    if "freq" in raw:
        raw["freq_mhz"] = frequency_mhz(raw.pop("freq"))
    if "snr_db" in raw:
        raw["snr_db"] = values.over_unique(raw["snr_db"], values.numbers)
    if "tx_power" in raw:
        raw["tx_power_dbm"] = power_dbm(raw.pop("tx_power"), header=_header_of(meaning, "tx_power"))
    good, bad = checks.checked(raw, source=source, home=home, station=station)
    return _read(rows_in, spots_of=good, set_aside=pd.concat([odd, bad], ignore_index=True))


def _spot_columns(have: set[str], *, source: str) -> dict[str, str]:
    """Names of raw rows for the meanings found, or InputError saying what is missing."""
    if not have & {"call", "tx_call"}:
        raise InputError(f"{source}: no column of call signs was found; name the columns in a header line")
    if not have & {"time", "date"}:
        raise InputError(
            f"{source}: no column of dates and times was found; name the columns in a header line"
        )
    if not have & {"locator", "tx_locator", "rx_locator"}:
        raise InputError(f"{source}: no column of locators was found; add the locator of each station heard")
    renamed = {"time": "clock"} if "time" in have and "date" in have else {"time": "moment"}
    if "tx_call" not in have:
        renamed["call"] = "tx_call"
    if "tx_locator" not in have:
        renamed["locator"] = "tx_locator"
    return renamed


def _header_of(meaning: dict[str, str], wanted: str) -> str:
    return next((header for header, name in meaning.items() if name == wanted), "")


def frequency_mhz(text: pd.Series) -> pd.Series:
    """Frequencies in MHz, from MHz, kHz or Hz, whichever puts most of them into a band."""
    freq = values.over_unique(text, values.numbers)
    inside = {unit: values.band_of(freq * unit).ne("").sum() for unit in (1.0, 1e-3, 1e-6)}
    return freq * max(inside, key=lambda unit: inside[unit])


def power_dbm(text: pd.Series, *, header: str) -> pd.Series:
    """Power in dBm, from W where the header says so, from dBm otherwise."""
    power = values.over_unique(text, values.numbers)
    if "dbm" in columns.tidy_name(header):
        return power
    return values.dbm(power)


def _beacons(raw: pd.DataFrame, *, source: str) -> tuple[pd.DataFrame, pd.DataFrame]:
    raw = raw.rename(columns={"tx_call": "call", "tx_locator": "locator"})
    table = pd.DataFrame({"call": values.over_unique(raw["call"], values.calls)})
    table["locator"] = values.over_unique(raw["locator"], values.squares)
    table["freq_mhz"] = frequency_mhz(raw["freq"]) if "freq" in raw else float("nan")
    wrong = table["call"].eq("") | table["locator"].eq("")
    bad = problems.set_aside(
        raw.loc[wrong, "source_row"],
        source=source,
        field="beacon",
        found=(raw["call"].astype("str") + " " + raw["locator"].astype("str"))[wrong].to_numpy(
            dtype="object"
        ),
        reason="a beacon needs a call sign and a locator",
        repair="write both into the row",
    )
    return table[~wrong].assign(source=source), bad


def _listening(raw: pd.DataFrame, *, source: str, station: str) -> tuple[pd.DataFrame, pd.DataFrame]:
    table = pd.DataFrame({"start": times.moments(raw["start"]), "end": times.moments(raw["end"])})
    who = next((name for name in ("station", "call", "rx_call") if name in raw), None)
    named = values.over_unique(raw[who], lambda text: text.str.strip().str.upper()) if who else ""
    table["station"] = pd.Series(named, index=raw.index, dtype="str").replace("", station.strip().upper())
    table["band"] = values.over_unique(raw["band"], values.bands) if "band" in raw else ""
    wrong = ~(table["end"] > table["start"])
    bad = problems.set_aside(
        raw.loc[wrong, "source_row"],
        source=source,
        field="start, end",
        found=(raw["start"].astype("str") + " " + raw["end"].astype("str"))[wrong].to_numpy(dtype="object"),
        reason="listening hours need a start and a later end",
        repair="write both as YYYY-MM-DD HH:MM, in UTC",
    )
    return table[~wrong].assign(source=source), bad


def _read(rows_in: int, *, spots_of=None, beacons=None, listening=None, set_aside) -> Read:
    def empty(kinds: dict[str, Any]) -> pd.DataFrame:
        return pd.DataFrame(
            {name: pd.Series(dtype=kind) for name, kind in (kinds | {"source": "str"}).items()}
        )

    return Read(
        rows_in=rows_in,
        spots=spots.as_spots(pd.DataFrame()) if spots_of is None else spots_of,
        beacons=empty(BEACONS) if beacons is None else beacons,
        listening=empty(LISTENING) if listening is None else listening,
        set_aside=set_aside,
    )


def merged(parts: dict[str, Read]) -> Gathered:
    """Merge what the files hold, exact repetitions counted and dropped."""
    tables_of = {
        "spots": spots.as_spots(pd.concat([part.spots for part in parts.values()], ignore_index=True)),
        "beacons": pd.concat([part.beacons for part in parts.values()], ignore_index=True),
        "listening": pd.concat([part.listening for part in parts.values()], ignore_index=True),
    }
    set_aside = pd.concat([part.set_aside for part in parts.values()], ignore_index=True)
    repeated = {
        "spots": merge.exact_duplicates(tables_of["spots"]),
        "beacons": tables_of["beacons"].duplicated(list(BEACONS)).to_numpy(),
        "listening": tables_of["listening"].duplicated(list(LISTENING)).to_numpy(),
    }
    kept = {name: table[~repeated[name]] for name, table in tables_of.items()}
    duplicates = pd.concat(
        [tables_of[name].loc[mask, "source"].astype("str") for name, mask in repeated.items()]
    )
    account = merge.account(
        rows_in=pd.Series({source: part.rows_in for source, part in parts.items()}),
        kept=[table["source"] for table in kept.values()],
        set_aside=set_aside["source"],
        duplicates=duplicates,
    )
    beacons = kept["beacons"][list(BEACONS)].astype(BEACONS).reset_index(drop=True)
    rows = merge.fill_from_beacons(kept["spots"], beacons)
    return Gathered(
        spots=rows.sort_values(["time", "source", "source_row"], ignore_index=True),
        beacons=beacons,
        listening=kept["listening"][list(LISTENING)].astype(LISTENING).reset_index(drop=True),
        set_aside=set_aside,
        account=account,
    )

"""What the columns of a table mean: by their names, by what they contain, and by how they agree.

A name is believed only if the cells bear it out. Who transmitted and who received is never
guessed from position: without a name or clear evidence (`sides`) the answer is a question.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd

from analysis.gather import headers, kinds, sides, times, values

PROOF = {  # meaning: kinds of cells, one of which most cells must be
    "time": ("moment", "clock", "date"),
    "date": ("date", "moment"),
    "clock": ("clock",),
    "band": ("band",),
    "freq": ("freq MHz", "freq kHz", "freq Hz"),
    "tx_call": ("call",),
    "call": ("call",),
    "tx_locator": ("locator",),
    "rx_locator": ("locator",),
    "locator": ("locator",),
    "snr_db": ("number",),
    "tx_power": ("tx_power",),
    "distance": ("distance",),
    "bearing": ("bearing",),
    "start": ("moment", "clock"),
    "end": ("moment", "clock"),
}
GUESSES: dict[str, Any] = {
    "source": "str",
    "column": "str",
    "means": "str",
    "confidence": "float64",
    "why": "str",
    "samples": "str",
}
SURE_ENOUGH = 0.8
SAMPLE_ROWS = 3000
KIND_ROWS = 300


@dataclass(frozen=True)
class Columns:
    """What the columns of one table mean.

    `meaning`: column to meaning; `unit`: meaning to unit (`freq`: MHz, kHz or Hz, `tx_power`: W,
    mW, kW or dBm, `date_order`: day first, month first or "", `kind`: heard or worked, `zone`: of the
    times); `sure`: column to confidence, 0 to 1; `question`: what has to be asked, "" if nothing.
    """

    meaning: dict[str, str]
    unit: dict[str, str]
    sure: dict[str, float]
    question: str = ""
    why: dict[str, str] = field(default_factory=dict)


def recognise(cells: pd.DataFrame, *, header: bool) -> Columns:
    """Find out what each column of a table means.

    Parameters
    ----------
    cells : DataFrame
        Cells as text, columns named by the header or 0..n-1.
    header : bool
        Whether the names come from the file.

    Returns
    -------
    Columns
        Columns of no known meaning are absent from `meaning`.
    """
    sample = _sample(cells)
    share = kinds.shares(sample.iloc[:: max(1, len(sample) // KIND_ROWS)])
    found = Columns(meaning={}, unit={}, sure={})
    if header:
        _by_name(found, share)
    spans = {"start", "end"} <= set(found.meaning.values())
    _times(found, share, sample)
    _plain_kinds(found, share)
    pools = {
        "call": _pool(found, share, "call", "call", least=0.7),
        "locator": _pool(found, share, "locator", "locator", least=kinds.ENOUGH),
    }
    _numbers(found, share, sample, squares=pools["locator"] + _columns(found, "tx_locator", "rx_locator"))
    question = _calls(found, sample, share, pools["call"])
    question = question or _locators(found, sample, pools["locator"])
    question = question or _date_order(found, sample, cells) or _zone(found)
    _units(found, share, sample)
    if spans or (header and headers.tell_contacts(list(share))) or len(_reports(share)) > 1:
        found.unit["kind"] = "worked"
    return Columns(meaning=found.meaning, unit=found.unit, sure=found.sure, why=found.why, question=question)


def as_table(found: Columns, cells: pd.DataFrame, *, source: str) -> pd.DataFrame:
    """What each column was taken for, how surely, why, and five of its cells: the columns of `GUESSES`."""
    rows = [
        (source, str(name), found.meaning.get(name, "ignore"), found.sure.get(name, 0.0), found.why.get(name, ""),
         " | ".join(cells[name].iloc[:5].astype("str")))
        for name in cells.columns
    ]  # fmt: skip
    return pd.DataFrame(rows, columns=pd.Index(list(GUESSES))).astype(GUESSES)


def no_guesses() -> pd.DataFrame:
    """An empty table of guesses."""
    return pd.DataFrame(columns=pd.Index(list(GUESSES))).astype(GUESSES)


def _sample(cells: pd.DataFrame) -> pd.DataFrame:
    """Runs of neighbouring rows from all over the table: neighbours share times, which `sides` needs."""
    if len(cells) > SAMPLE_ROWS:
        run = SAMPLE_ROWS // 6
        starts = np.linspace(0, len(cells) - run, 6).astype(int)
        cells = cells.iloc[np.unique(np.concatenate([np.arange(start, start + run) for start in starts]))]
    return cells.astype("str").fillna("").reset_index(drop=True).apply(lambda column: column.str.strip())


def _set(found: Columns, column: str, meaning: str, sure: float, why: str) -> None:
    found.meaning[column], found.sure[column], found.why[column] = meaning, round(sure, 2), why


def _columns(found: Columns, *meanings: str) -> list[str]:
    return [column for column, meaning in found.meaning.items() if meaning in meanings]


def _by_name(found: Columns, share: dict[str, dict[str, float]]) -> None:
    for column, meaning in headers.meanings(list(share)).items():
        kinds_of = share[column]
        if headers.report_side(column) in ("sent", "some") and _signed(kinds_of):
            meaning = "snr_db"
        taken = meaning in found.meaning.values() and meaning not in ("call", "locator", "ignore")
        if not meaning or taken:
            continue
        proof = max((kinds_of.get(kind, 0.0) for kind in PROOF.get(meaning, ())), default=1.0)
        if kinds_of["filled"] == 0.0:
            proof = 1.0
        if proof >= 0.5 or (meaning == "freq" and kinds_of.get("number", 0) >= 0.5):
            _set(found, column, meaning, 0.8 + 0.2 * proof, "its name")
    if not _tell_hours(found):
        for column in _columns(found, "station"):
            _set(found, column, "call", 0.8, "its name")


def _signed(share: dict[str, float]) -> bool:
    """Whole numbers of both signs, as an SNR is and a report of readability and strength is not."""
    return share.get("snr_db", 0) >= 0.95 and share.get("negative", 0) > 0.02


def _tell_hours(found: Columns) -> bool:
    """Whether columns of starts and ends are hours of listening; contacts have starts and ends too."""
    have = set(found.meaning.values())
    return (
        {"start", "end"} <= have
        and not have & {"mode", "freq", "snr_db"}
        and not {"tx_call", "rx_call"} <= have
    )


def _times(found: Columns, share: dict[str, dict[str, float]], sample: pd.DataFrame) -> None:
    """Settle what is date, time of day or both, whatever the columns are called; UTC before local time."""
    if _tell_hours(found):
        return
    named = _columns(found, "time", "date", "clock", "start") + _columns(found, "end")
    free = [column for column in share if column not in found.meaning]
    for column in named:
        found.meaning.pop(column)
    usable = [column for column in named + free if not _is_frequency(share[column])]
    in_utc = [column for column in usable if not headers.is_local(column)]
    if not (
        _moment_column(found, share, in_utc, named=named)
        or _day_and_clock(found, share, sample, in_utc, named=named)
    ):
        _ = _moment_column(found, share, usable, named=named) or _day_and_clock(
            found, share, sample, usable, named=named
        )


def _moment_column(found: Columns, share, columns: list[str], *, named: list[str]) -> bool:
    """Find the column that holds dates with times of day, or two of them that are hours of listening."""
    least = 0.5 if named else kinds.ENOUGH
    whole = [column for column in columns if share[column].get("moment", 0) >= least]
    if len(whole) == 2 and not named and not _pool(found, share, "locator", "locator", least=kinds.ENOUGH):
        for column, meaning in zip(whole, ("start", "end"), strict=True):
            _set(found, column, meaning, 0.85, "two columns of times and no locators")
    elif whole:
        _set(found, whole[0], "time", 0.98, "dates with times of day")
    return bool(whole)


def _day_and_clock(
    found: Columns, share, sample: pd.DataFrame, columns: list[str], *, named: list[str]
) -> bool:
    """Find the columns of dates and of times of day; True if there are both."""
    for meaning in ("date", "clock"):
        for column in _columns(found, meaning):
            found.meaning.pop(column)
    days = [column for column in columns if share[column].get("date", 0) >= 0.5]
    days = sorted(days, key=lambda c: (c not in named, sample[c].nunique()))
    if days:
        _set(found, days[0], "date", 0.97, "dates")
    clocks = [column for column in columns if column not in days[:1] and share[column].get("clock", 0) >= 0.5]
    with_colon = {column: sample[column].str.contains(":").any() for column in clocks}
    clocks = sorted(clocks, key=lambda c: (c not in named, not with_colon[c]))
    if clocks and (clocks[0] in named or days or with_colon[clocks[0]]):
        _set(found, clocks[0], "clock", 0.96, "times of day")
    return bool(days and clocks)


def _zone(found: Columns) -> str:
    for column in _columns(found, "time", "clock", "start"):
        if headers.is_local(column):
            return f"how far the local time of column {column!r} is from UTC (zone)"
    return ""


def _date_order(found: Columns, sample: pd.DataFrame, cells: pd.DataFrame) -> str:
    for column in _columns(found, "time", "date", "start"):
        if times.unsettled(sample[column]) and times.unsettled(cells[column]):
            return f"whether day or month comes first in the dates of column {column!r} (date_order)"
    return ""


def _is_frequency(share: dict[str, float]) -> bool:
    """Ten-digit frequencies in Hz look like seconds since 1970, 23 cm being the only band that does."""
    return share.get("freq Hz", 0.0) >= 0.99 and share.get("number", 0.0) >= 0.99


def _plain_kinds(found: Columns, share: dict[str, dict[str, float]]) -> None:
    for meaning in ("mode", "band"):
        if meaning in found.meaning.values():
            continue
        for column, kinds_of in share.items():
            plain = kinds_of.get(meaning, 0) >= kinds.ENOUGH and (
                meaning != "band" or not kinds_of.get("number")
            )
            if column not in found.meaning and plain:
                _set(found, column, meaning, 0.95 * kinds_of[meaning], f"names of {meaning}s")
                break


def _pool(found: Columns, share, kind: str, generic: str, *, least: float) -> list[str]:
    """Columns of a kind whose side is not yet known, in the order of the table."""
    rival = "locator" if kind == "call" else ""
    return [
        column
        for column, kinds_of in share.items()
        if found.meaning.get(column) == generic
        or (
            column not in found.meaning
            and kinds_of.get(kind, 0.0) >= least
            and (not rival or kinds_of.get(rival, 0.0) < kinds.ENOUGH)
        )
    ]


def _numbers(found: Columns, share, sample: pd.DataFrame, *, squares: list[str]) -> None:
    free = [c for c in share if c not in found.meaning and share[c].get("number", 0) >= kinds.ENOUGH]
    free = [c for c in free if c not in _reports(share)]
    if "freq" not in found.meaning.values():
        in_band = [c for c in free if kinds.freq_unit(share[c]) and not _counts_rows(sample[c])]
        if in_band:
            best = max(in_band, key=lambda c: (_share_in_band(share[c]), sample[c].str.len().mean()))
            _set(found, best, "freq", 0.9, "numbers inside the amateur bands")
            free.remove(best)
    if len(squares) == 2:
        for column, (meaning, fit) in sides.geometry(
            sample, squares=(squares[0], squares[1]), numbers=free
        ).items():
            if meaning.split()[0] not in found.meaning.values():
                _set(found, column, meaning.split()[0], 0.8 + 0.2 * fit, "fits the two locators")
                free.remove(column)
    signed = [c for c in free if _signed(share[c])]
    if len(signed) == 1 and "snr_db" not in found.meaning.values():
        _set(found, signed[0], "snr_db", 0.85, "whole numbers of both signs")


def _share_in_band(share: dict[str, float]) -> float:
    return round(share[f"freq {kinds.freq_unit(share)}"], 2)


def _reports(share: dict[str, dict[str, float]]) -> list[str]:
    """Columns of reports of readability and strength: most of them 59 or 599."""
    return [column for column in share if share[column].get("report", 0) >= 0.5]


def _counts_rows(cells: pd.Series) -> bool:
    """Whether a column only numbers the rows: every number another one, in order."""
    number = values.numbers(cells)
    return bool(number.is_unique and (number.is_monotonic_increasing or number.is_monotonic_decreasing))


def _calls(found: Columns, sample: pd.DataFrame, share, pool: list[str]) -> str:
    """Give the columns of calls their sides, or say what must be asked."""
    for column in pool:
        found.meaning.pop(column, None)
    sided = {found.meaning[column]: column for column in _columns(found, "tx_call", "rx_call")}
    if len(sided) == 2 or not pool:
        return ""
    if len(sided) == 1:
        other = "rx_call" if "tx_call" in sided else "tx_call"
        if any(headers.named_meaning(column) in sided for column in pool):
            return f"which of the columns {', '.join(map(repr, [*sided.values(), *pool]))} transmitted and which received"
        generic = [column for column in pool if headers.named_meaning(column) == "call"] or pool
        _set(
            found, generic[0], other, 0.95 if len(generic) == 1 else 0.5, "the other column of calls is known"
        )
        return "" if len(generic) == 1 else "which column of calls is the other station's"
    if len(pool) == 1:
        _set(found, pool[0], "tx_call", 0.9, "the only column of calls: what was heard")
        return ""
    if len(pool) > 2:
        return f"which of the columns {', '.join(map(repr, pool))} are the transmitter's and the receiver's calls"
    time, freq_khz = _evidence(found, sample, share)
    plain = [c for c in share if c not in found.meaning and not kinds.freq_unit(share[c])]
    numbers = [c for c in plain if share[c].get("tx_power", 0) >= kinds.ENOUGH]
    numbers += _columns(found, "tx_power")
    tx, power, why = sides.transmitter(
        sample, calls=(pool[0], pool[1]), time=time, freq_khz=freq_khz, numbers=numbers
    )
    if not tx:
        return f"which of the columns {pool[0]!r} and {pool[1]!r} transmitted and which received"
    _set(found, tx, "tx_call", 0.92, why)
    _set(found, pool[1 - pool.index(tx)], "rx_call", 0.92, "the other call transmitted")
    if power and "tx_power" not in found.meaning.values():
        _set(found, power, "tx_power", 0.85, "keeps its value with the transmitter")
    return ""


def _evidence(found: Columns, sample: pd.DataFrame, share) -> tuple[pd.Series | None, pd.Series | None]:
    parts = [sample[column] for column in _columns(found, "time", "date", "clock")]
    time = None if not parts else sum(parts[1:], start=parts[0])
    column = next(iter(_columns(found, "freq")), "")
    if not column:
        return time, None
    unit = kinds.freq_unit(share[column]) or "MHz"
    return time, values.over_unique(sample[column], lambda text: kinds.frequencies(text, unit=unit)) * 1e3


def _locators(found: Columns, sample: pd.DataFrame, pool: list[str]) -> str:
    """Give the columns of locators their sides, or say what must be asked."""
    for column in pool:
        found.meaning.pop(column, None)
    have = {found.meaning[column] for column in _columns(found, "tx_locator", "rx_locator")}
    calls = {found.meaning[column]: column for column in _columns(found, "tx_call", "rx_call")}
    wanted = [side for side in ("tx", "rx") if f"{side}_locator" not in have and f"{side}_call" in calls]
    if not pool or not calls:
        for column in pool[:1]:
            _set(found, column, "tx_locator", 0.9, "the only locator")
        return ""
    if len(pool) > max(len(wanted), 1) or not wanted:
        pool = [column for column in pool if headers.named_meaning(column) == "locator"] or pool
    if not wanted:
        return ""
    if len(pool) > len(wanted):
        return f"whose the locators in the columns {', '.join(map(repr, pool))} are"
    pairs, sure = sides.owners(sample, calls=[calls[f"{side}_call"] for side in wanted], squares=pool)
    if not pairs:
        return f"whose the locators in column {pool[0]!r} are"
    for square, call in pairs.items():
        _set(found, square, found.meaning[call].replace("call", "locator"), sure, f"goes with column {call}")
    return ""


def _units(found: Columns, share, sample: pd.DataFrame) -> None:
    for column in _columns(found, "freq"):
        found.unit["freq"] = (
            kinds.freq_unit(share[column]) or headers.named_unit(column, "mhz|khz|hz") or "MHz"
        )
    for column in _columns(found, "tx_power"):
        found.unit["tx_power"] = headers.named_unit(column, "dbm|mw|kw|w") or power_unit(sample[column])


def power_unit(cells: pd.Series) -> str:
    """Unit of powers, from a unit in the cells or their range: dBm between 0 and 60 in whole numbers, else W.

    Whole numbers that are all common powers in watts (1, 2, 5 times a power of ten, 25, 40 ...) are W.
    """
    written = cells.str.extract(r"(?i)(dbm|mw|kw|w)\s*$")[0].dropna().str.lower()
    if len(written):
        return headers.UNITS[str(written.iloc[0])]
    power = values.numbers(cells).dropna()
    watts_like = power.isin([1, 2, 5, 10, 15, 20, 25, 30, 40, 50, 60, 80, 100]).mean()
    in_dbm = len(power) and power.between(-20, 63).all() and (power % 1 == 0).all() and watts_like < 0.9
    return "dBm" if in_dbm else "W"

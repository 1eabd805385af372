"""What the columns of a table mean: by their names, by what they contain, and by how they agree.

A name is believed only if the cells bear it out. Who transmitted and who received is never
guessed from position: without a name or clear evidence (`sides`) the answer is a question.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from analysis.gather.cells import kinds, values
from analysis.gather.columns import headers, sides, timing
from analysis.gather.columns.guesses import PROOF, Columns, columns_of, pool_of, settle

GUESSES: dict[str, Any] = {
    "source": "str",
    "column": "str",
    "means": "str",
    "confidence": "float64",
    "why": "str",
    "samples": "str",
}
NO_NAME = ("moment", "date", "clock", "locator", "number")
SAMPLE_ROWS = 3000  # speed: of a longer table runs from six places are looked at
KIND_ROWS = 300  # speed: enough to tell a kind by


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
    timing.find_times(found, share, sample)
    _plain_kinds(found, share)
    pools = {
        "call": pool_of(found, share, "call", "call", least=0.7),
        "locator": pool_of(found, share, "locator", "locator", least=kinds.ENOUGH),
    }
    _numbers(found, share, sample, squares=pools["locator"] + columns_of(found, "tx_locator", "rx_locator"))
    question = _calls(found, sample, share, pools["call"])
    question = question or _locators(found, sample, pools["locator"])
    question = question or timing.order_question(found, sample, cells) or timing.zone_question(found)
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


def _by_name(found: Columns, share: dict[str, dict[str, float]]) -> None:
    for column, meaning in headers.meanings(list(share)).items():
        kinds_of = share[column]
        if headers.report_side(column) in ("sent", "some") and _signed(kinds_of):
            meaning = "snr_db"
        taken = meaning in found.meaning.values() and meaning not in ("call", "locator", "ignore")
        if not meaning or taken:
            continue
        proof = max((kinds_of.get(kind, 0.0) for kind in PROOF.get(meaning, ())), default=1.0)
        if meaning == "rx_call":  # a listener may bear any name, but no time, place or number is one
            proof = 1 - max(kinds_of.get(kind, 0.0) for kind in NO_NAME)
        if kinds_of["filled"] == 0.0:
            proof = 1.0
        if proof >= 0.5 or (meaning == "freq" and kinds_of.get("number", 0) >= 0.5):
            settle(found, column, meaning, 0.8 + 0.2 * proof, "its name")
    if not timing.tell_hours(found):
        for column in columns_of(found, "station"):
            settle(found, column, "call", 0.8, "its name")


def _signed(share: dict[str, float]) -> bool:
    """Whole numbers of both signs, as an SNR is and a report of readability and strength is not."""
    return share.get("snr_db", 0) >= 0.95 and share.get("negative", 0) > 0.02


def _plain_kinds(found: Columns, share: dict[str, dict[str, float]]) -> None:
    for meaning in ("mode", "band"):
        if meaning in found.meaning.values():
            continue
        for column, kinds_of in share.items():
            plain = kinds_of.get(meaning, 0) >= kinds.ENOUGH and (
                meaning != "band" or not kinds_of.get("number")
            )
            if column not in found.meaning and plain:
                settle(found, column, meaning, 0.95 * kinds_of[meaning], f"names of {meaning}s")
                break


def _numbers(found: Columns, share, sample: pd.DataFrame, *, squares: list[str]) -> None:
    free = [c for c in share if c not in found.meaning and share[c].get("number", 0) >= kinds.ENOUGH]
    free = [c for c in free if c not in _reports(share)]
    if "freq" not in found.meaning.values():
        in_band = [c for c in free if kinds.freq_unit(share[c]) and not _counts_rows(sample[c])]
        if in_band:
            best = max(in_band, key=lambda c: (_share_in_band(share[c]), sample[c].str.len().mean()))
            settle(found, best, "freq", 0.9, "numbers inside the amateur bands")
            free.remove(best)
    if len(squares) == 2:
        for column, (meaning, fit) in sides.geometry(
            sample, squares=(squares[0], squares[1]), numbers=free
        ).items():
            if meaning.split()[0] not in found.meaning.values():
                settle(found, column, meaning.split()[0], 0.8 + 0.2 * fit, "fits the two locators")
                free.remove(column)
    signed = [c for c in free if _signed(share[c])]
    if len(signed) == 1 and "snr_db" not in found.meaning.values():
        settle(found, signed[0], "snr_db", 0.85, "whole numbers of both signs")


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
    sided = {found.meaning[column]: column for column in columns_of(found, "tx_call", "rx_call")}
    if len(sided) == 2 or not pool:
        return ""
    if len(sided) == 1:
        other = "rx_call" if "tx_call" in sided else "tx_call"
        if any(headers.named_meaning(column) in sided for column in pool):
            return f"which of the columns {', '.join(map(repr, [*sided.values(), *pool]))} transmitted and which received"
        generic = [column for column in pool if headers.named_meaning(column) == "call"] or pool
        settle(
            found, generic[0], other, 0.95 if len(generic) == 1 else 0.5, "the other column of calls is known"
        )
        return "" if len(generic) == 1 else "which column of calls is the other station's"
    if len(pool) == 1:
        settle(found, pool[0], "tx_call", 0.9, "the only column of calls: what was heard")
        return ""
    if len(pool) > 2:
        return f"which of the columns {', '.join(map(repr, pool))} are the transmitter's and the receiver's calls"
    time, freq_khz = _evidence(found, sample, share)
    plain = [c for c in share if c not in found.meaning and not kinds.freq_unit(share[c])]
    numbers = [c for c in plain if share[c].get("tx_power", 0) >= kinds.ENOUGH]
    numbers += columns_of(found, "tx_power")
    tx, power, why = sides.transmitter(
        sample, calls=(pool[0], pool[1]), time=time, freq_khz=freq_khz, numbers=numbers
    )
    if not tx:
        return f"which of the columns {pool[0]!r} and {pool[1]!r} transmitted and which received"
    settle(found, tx, "tx_call", 0.92, why)
    settle(found, pool[1 - pool.index(tx)], "rx_call", 0.92, "the other call transmitted")
    if power and "tx_power" not in found.meaning.values():
        settle(found, power, "tx_power", 0.85, "keeps its value with the transmitter")
    return ""


def _evidence(found: Columns, sample: pd.DataFrame, share) -> tuple[pd.Series | None, pd.Series | None]:
    parts = [sample[column] for column in columns_of(found, "time", "date", "clock")]
    time = None if not parts else sum(parts[1:], start=parts[0])
    column = next(iter(columns_of(found, "freq")), "")
    if not column:
        return time, None
    unit = kinds.freq_unit(share[column]) or "MHz"
    return time, values.over_unique(sample[column], lambda text: kinds.frequencies(text, unit=unit)) * 1e3


def _locators(found: Columns, sample: pd.DataFrame, pool: list[str]) -> str:
    """Give the columns of locators their sides, or say what must be asked."""
    for column in pool:
        found.meaning.pop(column, None)
    have = {found.meaning[column] for column in columns_of(found, "tx_locator", "rx_locator")}
    calls = {found.meaning[column]: column for column in columns_of(found, "tx_call", "rx_call")}
    wanted = [side for side in ("tx", "rx") if f"{side}_locator" not in have and f"{side}_call" in calls]
    if not pool or not calls:
        for column in pool[:1]:
            settle(found, column, "tx_locator", 0.9, "the only locator")
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
        settle(
            found, square, found.meaning[call].replace("call", "locator"), sure, f"goes with column {call}"
        )
    return ""


def _units(found: Columns, share, sample: pd.DataFrame) -> None:
    for column in columns_of(found, "freq"):
        found.unit["freq"] = (
            kinds.freq_unit(share[column]) or headers.named_unit(column, "mhz|khz|hz") or "MHz"
        )
    for column in columns_of(found, "tx_power"):
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

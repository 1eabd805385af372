"""What the cells of a column look like: times, locators, calls, frequencies and other kinds of value.

A column may look like several kinds at once (`1802` is a time of day and a number); `columns`
decides between them from names and from how columns agree with each other.
"""

from __future__ import annotations

import re
from functools import lru_cache

import numpy as np
import pandas as pd

from analysis.gather import locators
from analysis.gather.cells import times, values, years

TYPICAL_CALL = r"(?:[A-Z0-9]{1,4}/)?[A-Z0-9]{1,3}[0-9][A-Z0-9]{0,4}[A-Z](?:[/-][A-Z0-9]{1,5})*"
NUMBER = rf"(?:[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)|{values.GROUPED})(?:\s*(?:GHz|MHz|kHz|Hz|dBm|dB|W|mW|kW|km|mi|°|deg))?"
DATA = re.compile(  # a number, something with a date or time of day in it, a locator or a call
    rf"{NUMBER}|.*[0-9][-/.:][0-9].*|[0-9]{{1,2}}[. -]*(?:{'|'.join(times.MONTHS)}).*|{locators.PATTERN}|{TYPICAL_CALL}",
    re.IGNORECASE,
)
ENOUGH = 0.85  # share of the filled cells that must look like a kind
HIGHEST_MHZ = 48_000  # above, milliseconds since 1970 would be frequencies
FREQ_UNITS = {"MHz": 1.0, "kHz": 1e-3, "Hz": 1e-6}  # definition, in MHz
NAMED_UNITS = FREQ_UNITS | {"GHz": 1e3}  # definition


def shares(sample: pd.DataFrame) -> dict[str, dict[str, float]]:
    """Share of each column's filled cells that looks like each kind, 0 to 1, and `filled` itself.

    Parameters
    ----------
    sample : DataFrame of str
        Trimmed cells, empty text where a cell is empty.

    Returns
    -------
    dict
        Column to {kind: share}; an empty column has `filled` 0 and no kinds.
    """
    codes, unique = pd.factorize(pd.concat([sample[name] for name in sample], ignore_index=True))
    kinds_of, masks = _masks(tuple(unique))
    blank = np.flatnonzero(unique == "")
    result = {}
    for name, cells in zip(sample, codes.reshape(sample.shape[1], -1), strict=True):
        filled = cells[~np.isin(cells, blank)]
        result[str(name)] = {"filled": len(filled) / max(len(cells), 1)}
        if len(filled):
            share = masks[filled].mean(axis=0)
            result[str(name)] |= dict(zip(kinds_of, share.tolist(), strict=True))
    return result


@lru_cache(maxsize=4)  # several readers ask the same of one table
def _masks(texts: tuple[str, ...]) -> tuple[tuple[str, ...], np.ndarray]:
    """Names of the kinds, and a mask for each as a column over distinct cells."""
    kinds_of = looks_like(pd.Series(texts, dtype="str"))
    return tuple(kinds_of), np.column_stack([mask.to_numpy(dtype="bool") for mask in kinds_of.values()])


def looks_like(text: pd.Series) -> dict[str, pd.Series]:
    """One mask per kind over distinct cells."""
    upper = text.str.upper()
    number = text.str.fullmatch(NUMBER, flags=re.IGNORECASE)
    value = values.numbers(text.where(number, ""))
    whole = text.str.fullmatch(r"[+-]?[0-9]+(?:[.,]0*)?(?:\s*dB)?", flags=re.IGNORECASE) & number
    round_mhz = text.str.fullmatch(r"[0-9]+(?:[.,]0*)?\s*(?:MHz)?", flags=re.IGNORECASE)
    digits = text.str.count(r"[0-9]")
    # only what may be one is looked at: a number of nine digits may count seconds, one of six or eight be a date
    moment = _read(times.moments, text[(digits >= 9) | ((digits >= 6) & ~number)], index=text.index)
    packed = text.str.fullmatch(r"[0-9]{6}|[0-9]{8}")
    date = _read(times.dates, text[digits.between(3, 8) & (packed | ~number)], index=text.index)
    mode = upper.isin(values.mode_names() | values.MODE_NAMES.keys()) & ~number
    locator = (values.squares(text).ne("") & ~text.str.len().eq(5)) | upper.eq("RR73")
    timed = text.str.contains(
        r"[0-9][:hH][0-9]|^[0-9]{4}(?:[0-9][0-9])?[^0-9]*$"
        r"|^[0-9]{1,2}\.[0-9][0-9]\.[0-9][0-9]$",
        regex=True,
    )
    pointed = text.str.fullmatch(r"(?:[01]?[0-9]|2[0-3])\.[0-5][0-9]")  # a number, unless a header says else
    clock = times.clocks(text[timed]).notna().reindex(text.index, fill_value=False)
    masks = {
        "moment": moment.between(pd.Timestamp("1960-01-01", tz="UTC"), pd.Timestamp("2100-01-01", tz="UTC")),
        "date": date.notna() | years.yearless(text),
        "clock": clock,
        "pointed": pointed,
        "locator": locator,
        "mode": mode,
        "band": values.bands(text).ne("")
        & ~upper.isin(values.RECEIVE_ONLY)
        & (~number | round_mhz)
        & (text.str.len() < 7),
        "broadcast band": upper.isin(values.RECEIVE_ONLY),  # FM is a mode, too: only a header makes it a band
        "call": upper.str.fullmatch(TYPICAL_CALL) & ~mode & ~number & ~clock & upper.str.len().between(3, 15),
        "report": text.isin(["59", "599"]),
        "digit": digits > 0,
        "number": number,
        "whole": whole,
        "negative": value < 0,
        "snr_db": whole & value.between(-60, 60),
        "tx_power": number & value.between(0, 1e5),
        "distance": number & value.between(0, 20040),
        "bearing": number & value.between(0, 360),
    }
    named = values.named_factors(text, NAMED_UNITS)
    for unit, factor in FREQ_UNITS.items():
        mhz = value * named.fillna(factor)
        band = values.band_of(mhz)
        masks[f"freq {unit}"] = number & (mhz < HIGHEST_MHZ) & band.ne("") & ~band.isin(values.RECEIVE_ONLY)
        masks[f"broadcast {unit}"] = number & band.isin(values.RECEIVE_ONLY)
    return masks


def _read(function, text: pd.Series, *, index: pd.Index) -> pd.Series:
    return times.either_order(function, text).reindex(index)


def frequencies(text: pd.Series, *, unit: str) -> pd.Series:
    """Frequencies [MHz] of cells that name a unit or else are in `unit` (MHz, kHz, Hz)."""
    return values.measured(text, NAMED_UNITS, usual=unit)


def freq_unit(share: dict[str, float]) -> str:
    """Unit in which most of a column's numbers lie inside a band, "" if they do in none."""
    best = max(FREQ_UNITS, key=lambda unit: share.get(f"freq {unit}", 0.0))
    return best if share.get(f"freq {best}", 0.0) >= ENOUGH else ""


def any_data(cells: list[str]) -> bool:
    """Whether any of a line's cells holds a value (a number, time, locator or call), so that it is no header."""
    return any(DATA.fullmatch(cell.upper()) for cell in cells)


def spread(values_of: pd.Series, *, by: list[pd.Series], tolerance: float) -> tuple[float, int]:
    """How often neighbouring rows of a group agree in value, and the number of pairs compared.

    Groups are rows equal in all of `by`, neighbours in the order of the table.
    """
    known = values_of.notna().to_numpy()
    codes = np.column_stack([pd.factorize(key)[0][known] for key in by])
    order = np.lexsort(codes.T[::-1])
    same = (np.diff(codes[order], axis=0) == 0).all(axis=1)
    steps = np.abs(np.diff(values_of.to_numpy(dtype="float64")[known][order]))[same]
    return (float((steps <= tolerance).mean()) if len(steps) else np.nan), len(steps)

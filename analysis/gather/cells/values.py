"""Text as people write it into the values of the spot table: calls, locators, bands, modes, numbers.

Every function takes a Series of text and looks at each distinct value once.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd

from analysis.gather import locators

CALL = r"[A-Z0-9]+(?:[/-][A-Z0-9]+)*"  # with a letter and a digit in it
LOOK = 20_000  # rows in which repeats are looked for, half of them (judgement; only time rests on it)
PIECE = 200  # rows beside each other (judgement, as above)
DISTINCT = 0.9  # share of values that occur once, from which coding is no gain (judgement, as above)
LARGEST_NUMBER = 1e15  # beyond any value in any unit that stands in a log
NUMBER = r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]{1,3})?"
WHOLE = r"(?![-.,:/]?\d)"  # not the beginning of a date, a time, a range, a number in other digits
GROUPED = r"[+-]?[0-9]{1,3}(?:[.,' ][0-9]{3})+[.,' ][0-9]+"
BAND_NAMES = {  # what contest logs and spoken usage call a band, beside its frequency in MHz
    "70": "4m",
    "432": "70cm",
    "902": "33cm",
    "1.2G": "23cm",
    "2.3G": "13cm",
    "3.4G": "9cm",
    "5.7G": "6cm",
    "10G": "3cm",
    "24G": "1.25cm",
    "47G": "6mm",
    "75G": "4mm",
    "122G": "2.5mm",
    "134G": "2mm",
    "241G": "1mm",
    "LIGHT": "submm",
}
RECEIVE_ONLY = {"FM": (87.5, 108.0)}  # MHz; ITU Radio Regulations, broadcasting, Region 1 and most of 2 and 3
BROADCAST_MODES = (
    "",
    "FM",
    "WFM",
    "RDS",
)  # how people note a broadcast; anything else there is a slip of the pen
MODE_NAMES = {  # contest logs name kinds of emission, and a sideband is no mode of its own
    "USB": "SSB",
    "LSB": "SSB",
    "PH": "SSB",
    "RY": "RTTY",
    "DG": "DIGI",
    "PCW": "CW",
}


def over_unique(values: pd.Series, function: Callable[[pd.Series], pd.Series]) -> pd.Series:
    """Apply `function` to the distinct values of a column and spread the result over its rows.

    Missing text counts as empty text. `function` maps a Series of str to a Series of the same
    length. A column of text whose values are nearly all distinct goes through it as it is.
    """
    if not isinstance(values.dtype, pd.CategoricalDtype) and mostly_distinct(values):
        return function(values.astype("str").fillna(""))
    coded = values.astype("category").cat
    codes = coded.codes.to_numpy()
    known = pd.Series(coded.categories).astype("str")
    if (codes < 0).any():
        codes = np.where(codes < 0, len(known), codes)
        known = pd.concat([known, pd.Series([""], dtype="str")], ignore_index=True)
    return pd.Series(function(known).array.take(codes), index=values.index, name=values.name)


def constant(text: str, *, index: pd.Index) -> pd.Series:
    """A column that holds one text throughout."""
    once = pd.Categorical.from_codes(
        np.zeros(len(index), dtype="int8"), categories=pd.Index([text], dtype="str")
    )
    return pd.Series(once, index=index)


def mostly_distinct(text: pd.Series) -> bool:
    """Whether a look at pieces of a long column finds few repeated values, so that coding it is no gain."""
    if len(text) <= LOOK:
        return False
    spread = text.iloc[
        :: len(text) // LOOK
    ]  # rows of a sorted column repeat beside each other, others far away
    first = np.linspace(0, len(text) - PIECE, LOOK // PIECE).astype("int64")
    beside = text.iloc[np.unique(first[:, None] + np.arange(PIECE))]
    return all(pieces.nunique() > DISTINCT * len(pieces) for pieces in (spread, beside))


def distinct(text: pd.Series) -> pd.Series:
    """Distinct values of a coded column; a column of plain text as it is."""
    if isinstance(text.dtype, pd.CategoricalDtype):
        return pd.Series(text.cat.categories).astype("str")
    return text


def calls(text: pd.Series) -> pd.Series:
    """Call signs in upper case; what is none becomes empty text.

    A hashed call in angle brackets stands without them; brackets around dots name nobody.
    """
    tidy = text.str.strip().str.strip("<>").str.upper().str.replace("Ø", "0")
    mixed = tidy.str.contains("[A-Z]", regex=True) & tidy.str.contains("[0-9]", regex=True)
    return tidy.where(mixed & tidy.str.fullmatch(CALL) & tidy.str.len().between(3, 20), "")


def names(text: pd.Series) -> pd.Series:
    """Names of transmitters and places as they can be compared: capitals without accents, single blanks."""
    plain = text.str.normalize("NFKD").str.replace(r"[\u0300-\u036f]", "", regex=True).str.upper()
    return plain.str.replace(r"[^\w/&+.]+", " ", regex=True).str.strip().str[:40].str.strip()


def squares(text: pd.Series) -> pd.Series:
    """Locators of 4, 6 or 8 characters in upper case; what is none becomes empty text.

    The digit 0 where only a letter can stand is read as O; a fifth or seventh character alone, or
    more than eight, are cut. RR73 lies at the north pole and is the sign-off of a digital contact.
    """
    good = text.str.fullmatch(locators.PATTERN) & text.ne("RR73")
    if good.all():
        return text
    found = text.copy()
    found[~good] = _tidy_squares(text[~good])
    return found


def _tidy_squares(text: pd.Series) -> pd.Series:
    tidy = text.str.strip().str.upper().replace("RR73", "")
    field = tidy.str[:2].str.replace("0", "O")
    tidy = (field + tidy.str[2:]).where(tidy.str.fullmatch(r"[A-R0]{2}[0-9]{2}.*"), tidy)
    whole = tidy.str.fullmatch(locators.PATTERN + "[A-Z0-9]{0,4}")
    return locators.clean((tidy.str[:8].where(tidy.str.len() >= 8, _even(tidy))).where(whole, ""))


def _even(text: pd.Series) -> pd.Series:
    return text.where(text.str.len() % 2 == 0, text.str[:-1])


def numbers(text: pd.Series) -> pd.Series:
    """Numbers [as written], decimal comma or point, a unit behind them ignored; NaN where there is none.

    Points, commas, blanks or apostrophes between groups of three digits are no decimal signs where
    there are two such signs or more: 50.313.400, 50,313.4, 50 313,4.
    """
    plain = _all_plain(text)
    if plain is not None:
        return plain
    tidy = text.str.strip().str.replace("−", "-")
    grouped = tidy.str.match(GROUPED)
    if grouped.any():
        tidy = tidy.where(
            ~grouped, tidy[grouped].map(_ungrouped).reindex(tidy.index).fillna("").astype("str")
        )
    found = tidy.str.extract(f"^({NUMBER}){WHOLE}")[0]
    return _measurable(pd.to_numeric(found.str.replace(",", "."), errors="coerce").astype("float64"))


def _measurable(number: pd.Series) -> pd.Series:
    return number.where(number.abs() < LARGEST_NUMBER)


def _all_plain(text: pd.Series) -> pd.Series | None:
    """A column of plain numbers throughout, by the quickest way; None if a single cell is anything else."""
    import pyarrow as pa
    import pyarrow.compute as pc

    cells = pa.array(text, type=pa.large_string())
    if pc.max(pc.binary_length(pc.ascii_trim(cells, "+-.0123456789"))).as_py() != 0:
        return None
    try:
        number = pc.cast(cells, pa.float64()).to_numpy(zero_copy_only=False)
        return _measurable(pd.Series(number, index=text.index))
    except pa.ArrowInvalid:  # an empty cell, two points
        return None


def _ungrouped(text: str) -> str:
    """A number whose digits are grouped by threes, as a plain one: 144.300.00 is 144.30000."""
    found = re.match(GROUPED, text)[0]  # type: ignore[index]
    groups, signs = re.split(r"[.,' ]", found), set(re.findall(r"[.,' ]", found))
    whole = len(groups) - 1 if len(signs) > 1 else len(groups) if len(groups[-1]) == 3 else 1
    return "".join(groups[:whole]) + "." + "".join(groups[whole:])


def measured(text: pd.Series, factors: dict[str, float], *, usual: str) -> pd.Series:
    """Numbers in one unit: each times the factor of the unit that its cell names, else of the usual one."""
    return numbers(text) * named_factors(text, factors).fillna(factors[usual])


def named_factors(text: pd.Series, factors: dict[str, float]) -> pd.Series:
    """Factor of the unit that each cell names behind its number, NaN where it names none of them."""
    if not text.str.contains("[A-Za-z]", regex=True).any():
        return pd.Series(np.nan, index=text.index)
    lower = {unit.lower(): factor for unit, factor in factors.items()}
    named = text.str.lower().str.contains(rf"[0-9]\s*(?:{'|'.join(lower)})\s*$", regex=True)
    unit = text[named].str.lower().str.extract(r"([a-z]+)\s*$")[0]
    return unit.map(lower).astype("float64").reindex(text.index)


def dbm(watts: pd.Series) -> pd.Series:
    """Power [W] in dBm, NaN where it is not positive."""
    return 30 + 10 * np.log10(watts.where(watts > 0))


def degrees(text: pd.Series) -> pd.Series:
    """Degrees north or east from `N045 30.000` (ADIF), `45.5`, `45.5 S` or `S 45.5`; NaN where there are none."""
    tidy = text.str.strip().str.upper()
    parts = tidy.str.extract(r"^([NSEW])([0-9]{1,3}) ([0-9]{1,2}(?:\.[0-9]+)?)$")
    minutes = pd.to_numeric(parts[1]) + pd.to_numeric(parts[2]) / 60
    decimal = tidy.str.extract(rf"^([NSEW]?)\s*({NUMBER})\s*°?\s*([NSEW]?)$")
    letter = parts[0].fillna(decimal[0] + decimal[2])
    found = minutes.astype("float64").fillna(numbers(decimal[1].fillna("").astype("str")))
    return found.where(~letter.isin(["S", "W"]), -found)


@cache
def band_table() -> pd.DataFrame:
    """Bands of the ADIF standard and those that are only listened to: `band low_mhz high_mhz`, ascending."""
    table = pd.read_csv(Path(__file__).with_name("adif_bands.csv"), comment="#")
    heard = pd.DataFrame([(name, *edges) for name, edges in RECEIVE_ONLY.items()], columns=table.columns)
    return pd.concat([table, heard]).sort_values("low_mhz", ignore_index=True)


@cache
def submodes() -> dict[str, str]:
    """Submode to mode, by the ADIF standard's enumeration."""
    table = pd.read_csv(Path(__file__).with_name("adif_modes.csv"), comment="#").dropna()
    return dict(zip(table["submode"], table["mode"], strict=True))


@cache
def mode_names() -> frozenset[str]:
    """Every name the ADIF standard has for a mode or submode."""
    table = pd.read_csv(Path(__file__).with_name("adif_modes.csv"), comment="#")
    return frozenset(table["mode"]) | frozenset(submodes())


@cache
def band_names() -> pd.CategoricalDtype:
    """Every band of the standard and empty text, in the order of the alphabet."""
    return pd.CategoricalDtype(pd.Index(sorted({"", *band_table()["band"]}), dtype="str"))


def band_of(freq_mhz: pd.Series) -> pd.Series:
    """Band a frequency [MHz] lies in (`band_names`), empty text where it lies in none."""
    table, mhz = band_table(), freq_mhz.to_numpy()
    place = table["low_mhz"].searchsorted(mhz, side="right") - 1
    inside = (place >= 0) & (mhz <= table["high_mhz"].to_numpy()[place])
    codes = band_names().categories.get_indexer(pd.Index([*table["band"], ""])).astype("int8")
    return pd.Series(
        pd.Categorical.from_codes(codes[np.where(inside, place, -1)], dtype=band_names()),
        index=freq_mhz.index,
    )


def bands(text: pd.Series) -> pd.Series:
    """Bands (`band_names`) from names, contest tokens or a frequency in MHz; else empty text."""
    tidy = (
        text.str.strip()
        .str.upper()
        .str.replace(r"\s+|MHZ$|(?<=M)(?:ET(?:ER|RE|RO)S?|ÈTRES?)$", "", regex=True)
    )
    names = {name.upper(): name for name in band_table()["band"]} | BAND_NAMES
    named = pd.Series([names.get(word, "") for word in tidy], index=tidy.index, dtype=band_names())
    measured = band_of(numbers(tidy.where(tidy.str.fullmatch(r"[0-9.,]+"), "")))
    return named.where(named != "", measured.where(~measured.isin(RECEIVE_ONLY), ""))  # "100" names no band


def modes(text: pd.Series) -> pd.Series:
    """Upper-case mode or submode, sidebands as SSB; any other word stays as it is written."""
    tidy = text.str.strip().str.upper()
    return pd.Series([MODE_NAMES.get(word, word) for word in tidy], index=tidy.index, dtype="str")

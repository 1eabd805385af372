"""What cannot be used: whole files in one clear line, single rows in the set-aside table."""

from __future__ import annotations

import numpy as np
import pandas as pd

SET_ASIDE = ["source", "source_row", "field", "found", "reason", "repair"]
"""Columns of the set-aside table; `source_row` counts records or lines of the file from 1."""


class InputError(Exception):
    """A file that cannot be used. Its text is one line: which file, what was found, how to repair it."""

    def __init__(self, said: str) -> None:
        super().__init__(printable(said))


class NothingOfOurs(InputError):
    """A file that is no log and no table of reports at all, such as a letter or a picture."""


def printable(text: str) -> str:
    """The text with a blank for every character that cannot be shown on one line, such as a line break."""
    return "".join(letter if letter.isprintable() else " " for letter in text)


def one_line(fault: Exception) -> str:
    """What a library says of a file, cut to one short line."""
    return " ".join(str(fault).split())[:80]


def set_aside(source_rows, *, source, field: str, found, reason: str, repair: str) -> pd.DataFrame:
    """Rows of files that fail for one reason, as rows of the set-aside table.

    Parameters
    ----------
    source_rows : sequence of int
        Record or line numbers, from 1.
    source : str or sequence of str
        Name of the file, or of each row's file.
    found : str or sequence of str
        What stood there, shortened to 60 printable characters.

    Returns
    -------
    DataFrame
        The columns of `SET_ASIDE`.
    """
    rows = pd.DataFrame({"source_row": np.asarray(source_rows, dtype="int64")})
    text = pd.Series(found, index=rows.index, dtype="object").fillna("").astype("str")
    rows["found"] = text.str.replace(r"[\x00-\x1f\x7f]+", " ", regex=True).str.strip().str[:60].astype("str")
    names = source if isinstance(source, str) else np.asarray(source, dtype="object")
    rows["source"] = pd.Series(names, index=rows.index, dtype="str")
    told = {"reason": sentence(reason), "repair": sentence(repair)}
    return rows.assign(field=field, **told)[SET_ASIDE]


def sentence(words: str) -> str:
    """The words with a capital at their beginning."""
    return words[:1].upper() + words[1:]


def no_rows() -> pd.DataFrame:
    """An empty set-aside table."""
    return set_aside([], source="", field="", found="", reason="", repair="")


def joined(doubts: list[pd.Series], *, index: pd.Index) -> pd.Series:
    """Doubts about some rows, as one text for every row: what is said of a row side by side, else empty.

    Each of `doubts` is indexed by the rows that it concerns; empty text says nothing.
    """
    said = pd.Series("", index=index, dtype="str")
    for doubt in doubts:
        told = doubt[doubt.ne("")]
        if len(told):
            said.loc[told.index] = (said.loc[told.index] + "; " + told).str.removeprefix("; ")
    return said

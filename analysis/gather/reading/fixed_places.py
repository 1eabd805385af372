"""Tables laid out for the eye, as plainly separated text: cells at fixed places, cells between bars.

Lines keep their number, so that a row is still found in the file.
"""

from __future__ import annotations

import re
from collections import Counter

import numpy as np

LINE_END = re.compile(r"\r\n|\n|\r")
RULE = re.compile(r"[\s|+=:_-]*")  # a line drawn between rows
NO_ROW = re.compile(r"\s*(?:#|//|!|%|--|$)")
FEWEST = 4  # rows and cells below which blanks stand above each other by chance
TITLES = 3  # judgement: lines above a table
LARGEST = 50_000_000  # characters; a longer table is split at its blanks
SIGNS = "\t;,|"
TAB, BAR = "\t", "|"


def plain(text: str) -> str:
    """The text with tabs between its cells, if it is drawn with bars or has its cells at fixed places."""
    lines = LINE_END.split(text)
    rows = [i for i, line in enumerate(lines) if not NO_ROW.match(line) and not RULE.fullmatch(line)]
    barred = [i for i in rows if lines[i].strip().startswith(BAR) and lines[i].strip().endswith(BAR)]
    if rows and len(barred) >= 0.9 * len(rows):
        return "\n".join(_between_bars(line) for line in lines)
    rows = [i for i in rows if len(lines[i].split()) >= FEWEST]
    for first in range(min(TITLES + 1, len(rows))):  # titles above the table keep to no places
        places = _places([lines[i] for i in rows[first:]])
        if places:
            for i in rows[first:]:
                lines[i] = _at_places(lines[i], places)
            return "\n".join(lines)
    return text


def _between_bars(line: str) -> str:
    if RULE.fullmatch(line):
        return ""
    return TAB.join(cell.strip() for cell in line.strip().removeprefix(BAR).removesuffix(BAR).split(BAR))


def _at_places(line: str, places: list[int]) -> str:
    return TAB.join(line[start:end].strip() for start, end in zip(places, [*places[1:], None], strict=True))


def _places(rows: list[str]) -> list[int]:
    """Where the cells of every row begin; nothing unless rows differ in their words but not in their places.

    A cell begins behind a place that is blank in every row; the first row (a header, if there is one)
    says which of several words begin a cell.
    """
    words = Counter(len(row.split()) for row in rows)
    if len(rows) < FEWEST or len(words) == 1 or any(_separated(rows, sign) for sign in SIGNS):
        return []
    width = max(map(len, rows))
    if len(rows) * width > LARGEST:
        return []
    ink = (
        np.array([np.frombuffer(row.ljust(width).encode("utf-32-le"), dtype="uint32") for row in rows]) != 32
    )
    starts = set(_starts(ink.any(axis=0))) & set(_starts(ink[0]))
    return sorted(starts) if len(starts) >= max(FEWEST, words.most_common(1)[0][0] - 2) else []


def _separated(rows: list[str], sign: str) -> bool:
    """Whether most rows hold a separating sign, more than once where it may be a decimal comma."""
    return sum(row.count(sign) > (sign == ",") for row in rows) > 0.5 * len(rows)


def _starts(ink: np.ndarray) -> list[int]:
    """Places with ink behind a place without."""
    return np.flatnonzero(ink & ~np.concatenate([[False], ink[:-1]])).tolist()

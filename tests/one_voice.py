"""Every number that a review says, held against the answers in its tables."""

import re
from functools import cache

import pandas as pd

from analysis.show.wording import words

NUMBER = re.compile(r"(?<![\w.,:–-])\d[\d,]*(?:[.:]\d+)*(?!\w)")
HOLES = re.compile(
    r"(?:^|\s)[:;,.](?=\s|$)|\(\s*\)|\(\s*[,;]|[,;:]\s*[.;,:]|(?<!listened )(?<!speak )(?<!speaks )\b(?:of|from|to|at|around|between|the|and|than|by)\s*[.,;:)](?=\s|$)"
    r"|\bnan\b|\bNone\b|\bNaT\b|\{\{|\}\}"
)
# What is no finding: numbers of lines, names of bands, squares and modes, and how an interval is meant.
GRAMMAR = (
    r"^\d+\. ",
    r"\b[\d.]+ (?:m|cm)\b(?! /)",
    r"\b[A-R]{2}\d{2}(?:[a-x]{2})?\b",
    r"\bline \d+\b",
    r"\b90 % (?:interval|ranges?)\b",
    r"\b2 500 Hz\b",
    r"^\d · ",  # a chapter's own number
    r"\d{4}-\d{2}-\d{2}$",
)


def answers(numbers):
    """The words of every key number that holds a digit: words to the keys that they stand for."""
    found = {}
    for key, one in numbers.items():
        for text in (one["text"], one["reason"].rstrip(".")):
            if re.search(r"\d", text or ""):
                found.setdefault(re.sub(r"\s+", " ", text), set()).add(key)
    return found


def series_names(numbers):
    """The words for each series, pair or window of the key numbers: name to its keys."""
    found = {}
    for key, one in numbers.items():
        end = next((end for end in ("_name", "_called", "_series", "_dates_of") if key.endswith(end)), None)
        if end and one["text"] and one["unit"] in ("series", "name") and not key.startswith("best_"):
            found.setdefault(one["text"], set()).add(re.sub("_window$", "", key.removesuffix(end)))
    return found


@cache
def _alternatives(texts):
    longest = sorted(texts, key=len, reverse=True)
    return re.compile("|".join(rf"(?<![\d.,:]){re.escape(text)}(?!\d|[.,:]\d)" for text in longest))


def unkeyed(text, known, *, settings=(), drawn=frozenset()):
    """Numbers of a text that no answer, no setting and no number of a drawn table explains."""
    left = _alternatives(frozenset(known)).sub(" ", text) if known else text
    for rule in (*GRAMMAR, *settings):
        left = re.sub(rule, " ", left)
    return [number for number in NUMBER.findall(left) if number.rstrip(",.") not in drawn]


def misplaced(text, known, numbers, names):
    """Answers in a text that belong to no series, and to no band, that the text names before or beside them."""
    if not known:
        return []
    text = _spelled_out(text)
    found, called = [], _named(text, names)
    for match in _alternatives(frozenset(known)).finditer(text):
        before = [keys for at, keys in called if at <= match.start()]
        near = before[-1] if before else (called[0][1] if called else set())
        keys = known[match[0]]
        if not any(_belongs(key, near, text, numbers) for key in keys):
            found.append((match[0], sorted(keys)[:3]))
    return found


def _spelled_out(text):
    """A line that begins with its band, `6 m: sporadic E on 3 days`, with the band beside each mechanism."""
    band = re.match(r"([\d.]+ c?m): ", text)
    if not band:
        return text
    mechanisms = "|".join(words.MECHANISMS.values())
    return re.sub(rf"({mechanisms}) on (?=\d)", rf"\1 on {band[1]}, ", text)


def _named(text, names):
    """Where a text names a series, and which keys that name stands for, in the order of the text."""
    if not names:
        return []
    longest = sorted(names, key=len, reverse=True)
    rule = re.compile("|".join(map(re.escape, longest)), re.IGNORECASE)
    fold = {name.lower(): keys for name, keys in names.items()}
    return [(match.start(), fold[match[0].lower()]) for match in rule.finditer(text)]


def _belongs(key, near, text, numbers):
    """Whether a key is of no series, of the series named nearest, or of a band that the text names."""
    parts = key.split("_")
    if len(parts) > 1 and parts[1].upper() in words.MECHANISMS:
        return any(key.startswith(f"{one}_") for one in near)
    band = parts[0] if f"{parts[0]}_band" in numbers else ""
    return not band or words.band(band) in text


def tokens(*tables):
    """Every number of some tables, in each of the ways in which our texts write one."""
    found = {"0"}
    for table in tables:
        found |= _written(len(table))
        for name in table.columns:
            column = table[name].dropna()
            if pd.api.types.is_datetime64_any_dtype(column):
                for moment in column.unique():
                    found |= set(NUMBER.findall(f"{words.date(moment)} {pd.Timestamp(moment):%H:%M}"))
            elif pd.api.types.is_bool_dtype(column):
                found |= _written(int(column.sum()))
            elif pd.api.types.is_numeric_dtype(column):
                for value in {*column.unique(), column.sum(), column.median()} if len(column) else ():
                    found |= _written(float(value))
            else:
                for value in column.astype(str).unique():
                    found |= set(NUMBER.findall(value))
    return found


def _written(value):
    """One number as a count, a share, a ratio, an hour of the clock and a quantity of two digits."""
    ways = [
        words.count(abs(value)),
        f"{abs(value):.0f}",
        f"{abs(value):.1f}",
        f"{abs(value):.2f}",
        words.quantity(abs(value)),
    ]
    if 0 <= value <= 1:
        ways.append(words.percent(value))
    if 0 <= value <= 24:
        ways.append(words.clock(value))
    if 1 <= value <= 366:
        ways.append(words.day(words.of_year(value)))
    return {number for way in ways for number in NUMBER.findall(way)}

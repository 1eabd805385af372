"""Contest logs in the Cabrillo form (version 3.0 and earlier): one contact a line, exchanges with locators.

A line reads `QSO: frequency mode date time call sent... call received...`. Between the calls stand the
exchanges, whose parts differ from contest to contest; the locators among them are found by what
they look like, whatever else is exchanged.
"""

from __future__ import annotations

import re

import pandas as pd

from analysis.gather import problems
from analysis.gather.cells import values
from analysis.gather.cells.kinds import TYPICAL_CALL
from analysis.gather.reading.delimited import LINE_END

LINE = re.compile(r"\s*(X-)?QSO:\s*(.*)", re.IGNORECASE)
HEAD = re.compile(
    r"^(?P<freq>\S+)\s+(?P<mode>[A-Za-z0-9]+)\s+(?P<date>[0-9]{4}-[0-9][0-9]-[0-9][0-9])\s+(?P<clock>[0-9]{4}|[0-9][0-9]:[0-9][0-9])\s+(?P<rest>.+)$"
)


def looks_like_cabrillo(text: str) -> bool:
    """Whether the text has the standard's first line or contacts in its form."""
    return (
        re.search(r"^\s*START-OF-LOG:|^\s*QSO:\s", text[:100_000], re.IGNORECASE | re.MULTILINE) is not None
    )


def rows(text: str, *, source: str) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Contacts as raw rows of text and lines that are none.

    Returns
    -------
    raw : DataFrame
        `freq band mode date clock rx_call rx_locator tx_call tx_locator kind source_row`; the
        station whose log it is received. `source_row` is the line in the file.
    bad : DataFrame
        Rows of the set-aside table: lines that cannot be split, and contacts the log itself
        marks as not to be counted (X-QSO).
    """
    own = header(text, "CALLSIGN")
    place = values.squares(
        pd.Series([header(text, "GRID-LOCATOR"), header(text, "HQ-GRID-LOCATOR")], dtype="str")
    )
    good: list[dict] = []
    bad: dict[bool, list[tuple[int, str]]] = {True: [], False: []}
    for line, written in enumerate(LINE_END.split(text), start=1):
        found = LINE.fullmatch(written)
        if not found:
            continue
        head = HEAD.match(found[2].strip())
        if found[1] or not head:
            bad[bool(found[1])].append((line, found[2]))
            continue
        good.append(head.groupdict() | exchange(head["rest"].upper().split(), own=own) | {"source_row": line})
    names = "freq mode date clock rest rx_call rx_locator tx_call tx_locator source_row"
    raw = pd.DataFrame(good, columns=pd.Index(names.split())).assign(kind="worked")
    # The header's place is the finer one where it begins with the square that was exchanged.
    full = place[place != ""].iloc[0] if place.any() else ""
    raw["rx_locator"] = [full if full.startswith(square) else square for square in raw["rx_locator"]]
    freq = raw.pop("freq").astype("str")
    in_khz = freq.str.fullmatch(
        r"[0-9]{4,6}(?:\.[0-9]+)?"
    )  # the standard: kHz below 30 MHz, else the band's name
    raw["freq_mhz"] = pd.to_numeric(freq.where(in_khz), errors="coerce") / 1e3
    raw["band"] = freq.where(~in_khz, "").astype("str")
    set_aside = [_bad(lines, crossed_out=out, source=source) for out, lines in bad.items()]
    return raw.drop(columns="rest"), pd.concat(set_aside).sort_values("source_row", ignore_index=True)


def header(text: str, tag: str) -> str:
    """Value of a header line, "" if absent."""
    found = re.search(rf"^\s*{tag}:\s*(\S*)", text, re.IGNORECASE | re.MULTILINE)
    return found[1].upper() if found else ""


def exchange(words: list[str], *, own: str) -> dict[str, str]:
    """Calls and locators of the words behind the time: the own call first, then the other's.

    The other's call is the next word in the form of a call that is no locator and not a report.
    """
    mine = words[0]
    place = next((i for i, word in enumerate(words[1:], start=1) if _is_call(word) and word != own), 0)
    sent, received = (words[1:place], words[place + 1 :]) if place else (words[1:], [])
    return {
        "rx_call": mine,
        "rx_locator": _square(sent),
        "tx_call": words[place] if place else "",
        "tx_locator": _square(received),
    }


def _is_call(word: str) -> bool:
    return re.fullmatch(TYPICAL_CALL, word) is not None and not _square([word]) and not word.isdigit()


def _square(words: list[str]) -> str:
    return next(
        (word for word in words if re.fullmatch(r"[A-R]{2}[0-9][0-9](?:[A-X]{2}(?:[0-9][0-9])?)?", word)), ""
    )


def _bad(lines: list[tuple[int, str]], *, crossed_out: bool, source: str) -> pd.DataFrame:
    return problems.set_aside(
        [line for line, _ in lines],
        source=source,
        field="contact",
        found=[text for _, text in lines],
        reason="the log itself marks the contact as not to count"
        if crossed_out
        else "the line is no whole contact",
        repair="write QSO: instead of X-QSO: if it was a real contact"
        if crossed_out
        else "write QSO: frequency mode YYYY-MM-DD HHMM own-call exchange call exchange",
    )

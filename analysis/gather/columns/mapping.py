"""A small TOML file beside the data in which a person says what the columns of a table mean.

One file serves every table of the same shape in its folder: same separator and same header, or the
same number of columns where there is no header.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pandas as pd

from analysis.gather.cells import kinds, times
from analysis.gather.columns import meaning as columns
from analysis.gather.columns.guesses import PROOF, SURE_ENOUGH, Columns, columns_of
from analysis.gather.problems import InputError, printable
from analysis.gather.reading.delimited import BLANKS, Table
from analysis.gather.reading.sources import TEMPLATE

ASK = "?"
SAMPLES = 5  # cells shown beside a question, as many as fit a line
ALIKE = 0.3  # share of cells that must bear out an answer given for another table without a header
SIDED = ("call", "locator")  # a person has to say whose
MEANINGS = (
    *(word for word in PROOF if word not in SIDED),
    *("rx_call", "tx_lat", "tx_lon", "rx_lat", "rx_lon", "mode", "prop_mode", "station", "kind", "ignore"),
)
UNITS = {  # unit of `Columns`: its key in the file, the usual one, all of them
    "freq": ("freq_unit", "MHz", tuple(kinds.FREQ_UNITS)),
    "tx_power": ("power_unit", "W", ("W", "mW", "kW", "dBm")),
    "date_order": ("date_order", "not needed", ("day first", "month first", "not needed")),
    "kind": ("kind", "heard", ("heard", "worked")),
    "zone": ("zone", "UTC", ("UTC", "+02:00", "Europe/Madrid")),  # or any other
}
HEAD = """\
# What the columns of {source} mean. Write one of these words behind each column, then run the same command again:
#   {meanings}
#   tx is the station that transmitted, rx the station that received; a contact's rx is the station whose log it is.
#   time holds date and time of day together, date and clock hold them apart. Times are UTC,
#   or local time in the zone that is named below: only then are they shifted.
# Still to be answered: {question}.
# This file then serves every table of the same shape in this folder.
"""


def shape_of(table: Table) -> str:
    """What tables of one shape have in common, as one line of text."""
    names = [str(name) for name in table.cells.columns]
    separator = {"\t": "tab", BLANKS: "blanks"}.get(table.delimiter, table.delimiter)
    return f"{separator} {' | '.join(names) if table.header else f'{len(names)} columns without a header'}"


def from_beside(path: Path, table: Table, *, source: str) -> Columns | None:
    """What a person has written for tables of this shape, None if there is nothing yet.

    The file written for this very table comes first, then the others of its folder.

    Raises
    ------
    InputError
        If a file beside the data is meant for this shape and is unfinished or no TOML, or if it
        contradicts what another table of this shape shows by itself.
    """
    found = sorted({file for folder in (path.parent, Path.cwd()) for file in folder.glob("*" + TEMPLATE)})
    for written in sorted(found, key=lambda file: not _is_own(file, path)):
        try:
            answer = tomllib.loads(written.read_text(encoding="utf-8"))
        except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as fault:
            if not _is_own(written, path):
                continue
            line = " ".join(str(fault).split())[:80]
            raise InputError(f"{written}: is no TOML ({line}); correct or delete it") from None
        if answer.get("shape") != shape_of(table):
            continue
        answered = _columns(answer, written=written, names=[str(name) for name in table.cells.columns])
        meant = table.header or _is_own(written, path)
        doubted = next(_contradictions(answered, table, least=0.0 if meant else ALIKE), "")
        if doubted and not meant:
            continue  # another table that happens to have as many columns
        if doubted:
            raise InputError(f"{written}: {doubted}; correct or delete it")
        if not _is_own(written, path):
            _refuse_contradiction(answered, path, table, written=written, source=source)
        return answered
    return None


def _is_own(written: Path, path: Path) -> bool:
    """Whether an answer was written for this very table, under whatever number."""
    return (
        re.fullmatch(re.escape(path.name) + r"(?:\.[0-9]+)?" + re.escape(TEMPLATE), written.name) is not None
    )


def _refuse_contradiction(answered: Columns, path: Path, table: Table, *, written: Path, source: str) -> None:
    """Ask anew where an answer given for another table would exchange transmitter and receiver in this one."""
    seen = columns.recognise(table.cells, header=table.header)
    for column in columns_of(answered, "tx_call"):
        if not seen.question and seen.meaning.get(column) == "rx_call":
            question = f"who transmitted: {written.name} says column {column!r}, but the rows say it received"
            seen.sure[column] = 0.0
            raise ask(path, table, replace(seen, question=question), source=source)


def _columns(answer: dict, *, names: list[str], written: Path) -> Columns:
    """The words of an answer; InputError where one is none of ours."""
    meaning = {name: str(word) for name, word in dict(answer.get("columns", {})).items() if name in names}
    for name, word in meaning.items():
        if word not in MEANINGS:
            raise InputError(f"{written}: column {name!r} has {word!r}; write one of {', '.join(MEANINGS)}")
        if word != "ignore" and list(meaning.values()).count(word) > 1:
            raise InputError(f"{written}: two columns are {word!r}; write ignore behind one of them")
    unit = {name: str(answer.get(key, usual)) for name, (key, usual, _) in UNITS.items()}
    for name, (key, _, allowed) in UNITS.items():
        if unit[name] not in allowed and not (name == "zone" and times.is_zone(unit[name])):
            raise InputError(f"{written}: {key} is {unit[name]!r}; write one of {', '.join(allowed)}")
    return Columns(
        meaning=meaning, unit=unit, sure=dict.fromkeys(meaning, 1.0), why=dict.fromkeys(meaning, written.name)
    )


def _contradictions(answered: Columns, table: Table, *, least: float) -> Iterator[str]:
    """Words of an answer that no more than this share of cells bears out, with a cell that speaks against each."""
    for name, share in _shares(table.cells).items():
        word = answered.meaning.get(name, "ignore")
        borne_out = max((share.get(kind, 0) for kind in PROOF.get(word, ())), default=1)
        if share["filled"] and borne_out <= least:
            yield f"column {name!r} is {word}, but no cell bears it out, such as {_example(table, name)}"
    for name in columns_of(answered, "time", "date", "start"):
        if answered.unit["date_order"] == UNITS["date_order"][1] and times.unsettled(table.cells[name]):
            yield (
                f"date_order is {UNITS['date_order'][1]!r}, but day and month could be exchanged in column "
                f"{name!r}, such as {_example(table, name)}"
            )


def _example(table: Table, name: str) -> str:
    text = table.cells[name].astype("str").str.strip()
    return repr(text[text != ""].iloc[0][:30])


def ask(path: Path, table: Table, guess: Columns, *, source: str) -> InputError:
    """Write a template beside the data (or in the working folder) and return the question as an InputError."""
    text = template(table, guess, source=source)
    for folder in (path.parent, Path.cwd()):
        target = _free(folder / (path.name + TEMPLATE))
        try:
            target.write_text(text, encoding="utf-8")
        except OSError:
            continue
        return InputError(
            f"{source}: cannot tell {guess.question}; say so in {target} (a template is written there) "
            "and run the same command again"
        )
    return InputError(
        f"{source}: cannot tell {guess.question}; name the columns in a header line (tx call, rx call ...)"
    )


def _free(target: Path) -> Path:
    """The name of a template, another one if an answer for tables of another shape stands there."""
    number = 1
    while target.exists():
        number += 1
        target = target.with_name(
            target.name.removesuffix(TEMPLATE).removesuffix(f".{number - 1}") + f".{number}{TEMPLATE}"
        )
    return target


def template(table: Table, guess: Columns, *, source: str) -> str:
    """The TOML text to be edited: the guess for each column, its confidence and five sample cells."""
    lines = [
        HEAD.format(source=printable(source), meanings=" ".join(MEANINGS), question=printable(guess.question))
    ]
    lines.append(f"shape = {_quoted(shape_of(table))}")
    for name, (key, usual, allowed) in UNITS.items():
        word = guess.unit.get(name, ASK if key in guess.question else usual)
        lines.append(f"{key} = {_quoted(word)}   # {', '.join(allowed)}")
    lines.append("\n[columns]")
    shares, timeless = _shares(table.cells), not _timed(guess)
    for name in table.cells.columns:
        text = table.cells[name].astype("str").str.strip()
        shown = " | ".join(dict.fromkeys(text[text != ""].iloc[:200]))
        sure = guess.sure.get(name, 0.0) if name in guess.meaning else 0.0
        word = guess.meaning.get(name, ASK if _may_matter(shares[name], timeless=timeless) else "ignore")
        word = word if sure >= SURE_ENOUGH or name not in guess.meaning else ASK
        sample = printable(" | ".join(shown.split(" | ")[:SAMPLES]))[:90]
        lines.append(
            f"{_quoted(str(name))} = {_quoted(word)}   # {f'{sure:.0%} sure; ' if sure else ''}{sample}"
        )
    return "\n".join(lines) + "\n"


def _shares(cells: pd.DataFrame) -> dict[str, dict[str, float]]:
    return kinds.shares(cells.iloc[:500].apply(lambda column: column.astype("str").str.strip()))


def _timed(guess: Columns) -> bool:
    have = set(guess.meaning.values())
    return "time" in have or {"date", "clock"} <= have or {"start", "end"} <= have


def _may_matter(share: dict[str, float], *, timeless: bool) -> bool:
    """Whether a column that was taken for nothing may hold what a table needs."""
    kinds_of = ("call", "locator", "moment", "date", *(["digit"] if timeless else []))
    return max(share.get(kind, 0) for kind in kinds_of) >= 0.5


def _quoted(text: str) -> str:
    return '"' + printable(text).replace("\\", "\\\\").replace('"', '\\"') + '"'

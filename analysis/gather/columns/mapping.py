"""A small TOML file beside the data in which a person says what the columns of a table mean.

One file serves every table of the same shape in its folder: same separator and same header, or the
same number of columns where there is no header.
"""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path

import pandas as pd

from analysis.gather.cells import kinds, times
from analysis.gather.columns import meaning as columns
from analysis.gather.columns.guesses import PROOF, SURE_ENOUGH, Columns, columns_of
from analysis.gather.problems import InputError
from analysis.gather.reading.delimited import BLANKS, Table

ENDING = ".columns.toml"
ASK = "?"
SAMPLES = 5
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
    own = path.name + ENDING
    found = sorted({file for folder in (path.parent, Path.cwd()) for file in folder.glob("*" + ENDING)})
    for written in sorted(found, key=lambda file: file.name != own):
        try:
            answer = tomllib.loads(written.read_text(encoding="utf-8"))
        except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as fault:
            if written.name != own:
                continue
            line = " ".join(str(fault).split())[:80]
            raise InputError(f"{written}: is no TOML ({line}); correct or delete it") from None
        if answer.get("shape") != shape_of(table):
            continue
        answered = _columns(answer, table, written=written)
        if answered and written.name != own:
            _refuse_contradiction(answered, path, table, written=written, source=source)
        if answered:
            return answered
    return None


def _refuse_contradiction(answered: Columns, path: Path, table: Table, *, written: Path, source: str) -> None:
    """Ask anew where an answer given for another table would exchange transmitter and receiver in this one."""
    seen = columns.recognise(table.cells, header=table.header)
    for column in columns_of(answered, "tx_call"):
        if not seen.question and seen.meaning.get(column) == "rx_call":
            question = f"who transmitted: {written.name} says column {column!r}, but the rows say it received"
            seen.sure[column] = 0.0
            raise ask(path, table, replace(seen, question=question), source=source)


def _columns(answer: dict, table: Table, *, written: Path) -> Columns | None:
    names = [str(name) for name in table.cells.columns]
    shares = _shares(table.cells)
    meaning = {name: str(word) for name, word in dict(answer.get("columns", {})).items() if name in names}
    for name, word in meaning.items():
        if word not in MEANINGS:
            raise InputError(f"{written}: column {name!r} has {word!r}; write one of {', '.join(MEANINGS)}")
        if word != "ignore" and list(meaning.values()).count(word) > 1:
            raise InputError(f"{written}: two columns are {word!r}; write ignore behind one of them")
        if not _borne_out(shares[name], word):
            return None  # another table that happens to have as many columns
    unit = {name: str(answer.get(key, usual)) for name, (key, usual, _) in UNITS.items()}
    for name, (key, _, allowed) in UNITS.items():
        if unit[name] not in allowed and not (name == "zone" and times.is_zone(unit[name])):
            raise InputError(f"{written}: {key} is {unit[name]!r}; write one of {', '.join(allowed)}")
    return Columns(
        meaning=meaning, unit=unit, sure=dict.fromkeys(meaning, 1.0), why=dict.fromkeys(meaning, written.name)
    )


def _borne_out(share: dict[str, float], meaning: str) -> bool:
    return (
        share["filled"] == 0 or max((share.get(kind, 0) for kind in PROOF.get(meaning, ())), default=1) >= 0.3
    )


def ask(path: Path, table: Table, guess: Columns, *, source: str) -> InputError:
    """Write a template beside the data (or in the working folder) and return the question as an InputError."""
    text = template(table, guess, source=source)
    for folder in (path.parent, Path.cwd()):
        target = _free(folder / (path.name + ENDING))
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
            target.name.removesuffix(ENDING).removesuffix(f".{number - 1}") + f".{number}{ENDING}"
        )
    return target


def template(table: Table, guess: Columns, *, source: str) -> str:
    """The TOML text to be edited: the guess for each column, its confidence and five sample cells."""
    lines = [HEAD.format(source=_plain(source), meanings=" ".join(MEANINGS), question=_plain(guess.question))]
    lines.append(f"shape = {_quoted(shape_of(table))}")
    for name, (key, usual, allowed) in UNITS.items():
        word = guess.unit.get(name, ASK if key in guess.question else usual)
        lines.append(f"{key} = {_quoted(word)}   # {', '.join(allowed)}")
    lines.append("\n[columns]")
    shares = _shares(table.cells)
    for name in table.cells.columns:
        text = table.cells[name].astype("str").str.strip()
        shown = " | ".join(dict.fromkeys(text[text != ""].iloc[:200]))
        sure = guess.sure.get(name, 0.0) if name in guess.meaning else 0.0
        word = guess.meaning.get(name, ASK if _may_matter(shares[name]) else "ignore")
        word = word if sure >= SURE_ENOUGH or name not in guess.meaning else ASK
        sample = _plain(" | ".join(shown.split(" | ")[:SAMPLES]))[:90]
        lines.append(
            f"{_quoted(str(name))} = {_quoted(word)}   # {f'{sure:.0%} sure; ' if sure else ''}{sample}"
        )
    return "\n".join(lines) + "\n"


def _shares(cells: pd.DataFrame) -> dict[str, dict[str, float]]:
    return kinds.shares(cells.iloc[:500].apply(lambda column: column.astype("str").str.strip()))


def _may_matter(share: dict[str, float]) -> bool:
    return max(share.get(kind, 0) for kind in ("call", "locator", "moment", "date")) >= 0.5


def _plain(text: str) -> str:
    return "".join(letter if letter.isprintable() else " " for letter in text)


def _quoted(text: str) -> str:
    return '"' + _plain(text).replace("\\", "\\\\").replace('"', '\\"') + '"'

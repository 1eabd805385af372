"""A small TOML file beside the data in which a person says what the columns of a table mean.

One file serves every table of the same shape in its folder: same separator and same header, or the
same number of columns where there is no header.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import pandas as pd

from analysis.gather import kinds
from analysis.gather.guesses import PROOF, SURE_ENOUGH, Columns
from analysis.gather.problems import InputError
from analysis.gather.tables import BLANKS, Table

ENDING = ".columns.toml"
ASK = "?"
SAMPLES = 5
MEANINGS = (*PROOF, "rx_call", "mode", "prop_mode", "station", "kind", "ignore")
UNITS = {  # unit of `Columns`: its key in the file, the usual one, all of them
    "freq": ("freq_unit", "MHz", tuple(kinds.FREQ_UNITS)),
    "tx_power": ("power_unit", "W", ("W", "mW", "kW", "dBm")),
    "date_order": ("date_order", "not needed", ("day first", "month first", "not needed")),
}
HEAD = """\
# What the columns of {source} mean. Write one of these words behind each column, then run the same command again:
#   {meanings}
#   tx is the station that transmitted, rx the station that received; a contact's rx is the station whose log it is.
#   time holds date and time of day together, date and clock hold them apart. All are UTC.
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

    Raises
    ------
    InputError
        If a file beside the data is meant for this shape and is unfinished or no TOML.
    """
    for written in sorted(path.parent.glob("*" + ENDING)):
        try:
            answer = tomllib.loads(written.read_text(encoding="utf-8"))
        except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as fault:
            if written.name != path.name + ENDING:
                continue
            line = " ".join(str(fault).split())[:80]
            raise InputError(f"{written}: is no TOML ({line}); correct or delete it") from None
        if answer.get("shape") != shape_of(table):
            continue
        return _columns(answer, table, written=written, source=source)
    return None


def _columns(answer: dict, table: Table, *, written: Path, source: str) -> Columns | None:
    names = [str(name) for name in table.cells.columns]
    shares = _shares(table.cells)
    meaning = {name: str(word) for name, word in dict(answer.get("columns", {})).items() if name in names}
    for name, word in meaning.items():
        if word == ASK or word not in MEANINGS:
            raise InputError(f"{written}: column {name!r} has {word!r}; write one of {', '.join(MEANINGS)}")
        if not _borne_out(shares[name], word):
            return None  # another table that happens to have as many columns
    unit = {}
    for name, (key, usual, allowed) in UNITS.items():
        unit[name] = str(answer.get(key, usual))
        if unit[name] not in allowed:
            raise InputError(f"{written}: {key} is {unit[name]!r}; write one of {', '.join(allowed)}")
    return Columns(
        meaning=meaning, unit=unit, sure=dict.fromkeys(meaning, 1.0), why=dict.fromkeys(meaning, written.name)
    )


def _borne_out(share: dict[str, float], meaning: str) -> bool:
    return (
        share["filled"] == 0 or max((share.get(kind, 0) for kind in PROOF.get(meaning, ())), default=1) >= 0.3
    )


def ask(path: Path, table: Table, columns: Columns, *, source: str) -> InputError:
    """Write a template beside the data (or in the working folder) and return the question as an InputError."""
    text = template(table, columns, source=source)
    for folder in (path.parent, Path.cwd()):
        target = folder / (path.name + ENDING)
        try:
            target.write_text(text, encoding="utf-8")
        except OSError:
            continue
        return InputError(
            f"{source}: cannot tell {columns.question}; say so in {target} (a template is written there) "
            "and run the same command again"
        )
    return InputError(
        f"{source}: cannot tell {columns.question}; name the columns in a header line (tx call, rx call ...)"
    )


def template(table: Table, columns: Columns, *, source: str) -> str:
    """The TOML text to be edited: the guess for each column, its confidence and five sample cells."""
    lines = [
        HEAD.format(source=_plain(source), meanings=" ".join(MEANINGS), question=_plain(columns.question))
    ]
    lines.append(f"shape = {_quoted(shape_of(table))}")
    for name, (key, usual, allowed) in UNITS.items():
        word = columns.unit.get(name, ASK if key in columns.question else usual)
        lines.append(f"{key} = {_quoted(word)}   # {', '.join(allowed)}")
    lines.append("\n[columns]")
    shares = _shares(table.cells)
    for name in table.cells.columns:
        text = table.cells[name].astype("str").str.strip()
        shown = " | ".join(dict.fromkeys(text[text != ""].iloc[:200]))
        sure = columns.sure.get(name, 0.0) if name in columns.meaning else 0.0
        word = columns.meaning.get(name, ASK if _may_matter(shares[name]) else "ignore")
        word = word if sure >= SURE_ENOUGH or name not in columns.meaning else ASK
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

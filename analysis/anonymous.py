"""What was gathered, under invented call signs and coarse locators, so that nothing made of it names anybody.

This happens before anything is worked out: a distance or midpoint worked out from the full locators would
give them away.
"""

from __future__ import annotations

import hmac
import os
import re
import secrets
from collections.abc import Iterable
from dataclasses import replace
from hashlib import sha256
from pathlib import PurePath
from string import ascii_uppercase as LETTERS

import pandas as pd

from analysis.folders import cache_folder
from analysis.gather.files import Gathered
from analysis.gather.locators import PATTERN

KEY_BYTES = 32
SUFFIX = re.compile(r"/(?:B|P|M|MM|AM|R|[0-9])$")  # says how a station is operated, not whose it is
WORD = re.compile(r"[A-Za-z0-9/]+")
LOCATOR = re.compile(PATTERN)
WITHHELD = "withheld"


def anonymous(gathered: Gathered) -> Gathered:
    """The same reports under invented call signs, with locators of four characters and nameless files.

    A call sign that begins with Q is nobody's (from memory: the ITU allots none). The same station has the
    same invented call sign in every review that is made under one user's account, for it follows from a
    secret kept in the user's cache folder; without that secret nobody can tell whose it was. The suffixes
    /P, /M, /MM, /AM, /R, /B and a digit stay. Cells quoted from the files are withheld.

    Returns
    -------
    Gathered
        Rows and order as they were.
    """
    calls = invented(
        [
            *gathered.spots["tx_call"].unique(),
            *gathered.spots["rx_call"].unique(),
            *gathered.beacons["call"].unique(),
            *gathered.listening["station"].unique(),
        ]
    )
    sources = sorted(set(gathered.account["source"].astype("str")))
    files = {name: f"file-{n}{PurePath(name).suffix}" for n, name in enumerate(sources, start=1)}

    def hide(table: pd.DataFrame) -> pd.DataFrame:
        ways = {"source": lambda cell: files.get(cell, cell)}
        ways |= dict.fromkeys(("tx_call", "rx_call", "call", "station"), lambda cell: calls.get(cell, cell))
        ways |= dict.fromkeys(("tx_locator", "rx_locator", "locator"), lambda cell: cell[:4])
        ways |= dict.fromkeys(
            ("doubt", "reason", "repair", "note", "why", "column"), lambda cell: _told(cell, calls, files)
        )
        ways |= dict.fromkeys(("found", "samples"), lambda cell: WITHHELD if cell else "")
        return table.assign(**{name: _mapped(table[name], ways[name]) for name in table if name in ways})

    tables = {name: hide(table) for name, table in vars(gathered).items()}
    return replace(gathered, **tables)


def invented(calls: Iterable[str]) -> dict[str, str]:
    """An invented call sign for each one, no two the same."""
    key, found, taken = _secret(), {"": ""}, set()
    for call in sorted(set(calls) - {""}):
        suffix = SUFFIX.search(call)
        digest = hmac.digest(key, SUFFIX.sub("", call).encode(), sha256)
        a, b, c, d = (LETTERS[byte % 26] for byte in digest[:4])
        made = f"Q{a}{digest[4] % 10}{b}{c}{d}"
        for byte in digest[5:]:  # two stations that met: the later one in the alphabet gets another letter
            if made + (suffix[0] if suffix else "") not in taken:
                break
            made += LETTERS[byte % 26]
        found[call] = made + (suffix[0] if suffix else "")
        taken.add(found[call])
    return found


def coarse(locator: str) -> str:
    """The square of a locator, its first four characters."""
    return locator.strip()[:4]


def _told(text: str, calls: dict[str, str], files: dict[str, str]) -> str:
    """A sentence without the call signs, fine locators and file names in it."""
    for name, alias in files.items():
        text = text.replace(name, alias)

    def hidden(word: re.Match) -> str:
        plain = word[0].upper()
        return calls.get(plain) or (word[0][:4] if LOCATOR.fullmatch(plain) else word[0])

    return WORD.sub(hidden, text)


def _mapped(column: pd.Series, way) -> pd.Series:
    """Each different text of a column changed once; the dtype stays."""
    codes, texts = pd.factorize(column.astype("str").fillna(""))
    changed = pd.Index([way(text) for text in texts], dtype="str").take(codes)
    return pd.Series(changed, index=column.index).astype(
        "category" if isinstance(column.dtype, pd.CategoricalDtype) else "str"
    )


def _secret() -> bytes:
    """The user's own secret, made the first time."""
    path = cache_folder() / "anonymous.key"
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        known = path.read_bytes()
        if len(known) == KEY_BYTES:
            return known
        path.unlink()  # a death amid its making
        return _secret()
    with os.fdopen(handle, "wb") as stream:
        stream.write(secrets.token_bytes(KEY_BYTES))
    return path.read_bytes()

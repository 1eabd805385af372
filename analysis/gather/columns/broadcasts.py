"""What the columns of a listener's notes on the FM broadcast band mean, and of a list of its transmitters.

Such notes name no call sign: a transmitter is a place or a programme, its place a locator, coordinates or
a name that a list of places explains.
"""

from __future__ import annotations

import pandas as pd

from analysis.gather.cells import kinds
from analysis.gather.columns import headers, timing
from analysis.gather.columns.guesses import Columns, columns_of, settle

WORDS = {  # meaning: words of a header, in small letters without accents
    "tx_place": "place site location town city mast ort standort senderstandort lieu emplacement ville lugar"
    " emplazamiento localidad ciudad qth coordinates coord coords position koordinaten coordonnees coordenadas",
    "tx_call": "station transmitter tx sender emetteur emisora emisor programme program programm name nom nombre radio"
    " ps rds heard dx gehort entendu oida",
    "rx_call": "listener receiver rx observer operator who by horer empfanger auditeur recepteur oyente receptor op",
}
MEANING = {word: meaning for meaning, words in WORDS.items() for word in words.split()}
SAMPLE_ROWS = 300  # speed: enough to tell a kind by


def recognise(cells: pd.DataFrame, *, header: bool) -> Columns | None:
    """What the columns of notes on the FM broadcast band mean; None for any other table.

    Parameters
    ----------
    cells : DataFrame
        Cells as text, columns named by the header or 0..n-1.
    header : bool
        Whether the names come from the file.

    Returns
    -------
    Columns or None
        Meanings are `time date clock freq`, `tx_call` (what was heard), `tx_place` (a name, a locator or
        coordinates), `tx_locator tx_lat tx_lon` and the same for the listener, and `ignore`.
    """
    sample = _sample(cells)
    share = kinds.shares(sample)
    found = Columns(meaning={}, unit={}, sure={})
    column, unit = _frequency(share, header=header)
    if not column:
        return None
    timing.find_times(found, share, sample.drop(columns=column))
    if not columns_of(found, "time", "clock", "date"):
        return None
    settle(found, column, "freq", 0.95, "frequencies of the FM broadcast band")
    found.unit["freq"] = unit
    _sides(found, share, header=header)
    question = timing.order_question(found, sample, cells) or timing.zone_question(found)
    return Columns(found.meaning, found.unit, found.sure, question, found.why)


def recognise_places(cells: pd.DataFrame, *, header: bool) -> Columns | None:
    """What the columns of a list of transmitters and their places mean; None for any other table.

    A list has names that are no call signs, a locator or coordinates, no times, and no frequency outside
    the FM broadcast band.
    """
    sample = _sample(cells)
    share = kinds.shares(sample)
    found = Columns(meaning={}, unit={}, sure={})
    timed = any(share[c].get(kind, 0) >= 0.5 for c in share for kind in ("moment", "date"))
    timed |= any(_like(share[c], "call") for c in share)
    amateur = any(kinds.freq_unit(share[c]) for c in share if header and headers.named_meaning(c) == "freq")
    if timed or amateur:
        return None
    column, unit = _frequency(share, header=header)
    if column:
        settle(found, column, "freq", 0.95, "frequencies of the FM broadcast band")
        found.unit["freq"] = unit
    _sides(found, share, header=header)
    have = set(found.meaning.values())
    placed = have & {"tx_locator", "tx_place"} or {"tx_lat", "tx_lon"} <= have
    words = [c for c in columns_of(found, "tx_call", "tx_place") if share[c].get("digit", 0) < 0.5]
    return found if placed and words and "rx_call" not in have else None


def _sample(cells: pd.DataFrame) -> pd.DataFrame:
    few = cells.iloc[:: max(1, len(cells) // SAMPLE_ROWS)].astype("str").fillna("")
    return few.reset_index(drop=True).apply(lambda column: column.str.strip())


def _frequency(share: dict[str, dict[str, float]], *, header: bool) -> tuple[str, str]:
    """The column of broadcast frequencies and its unit; "" where a column lies in an amateur band instead."""
    named = [c for c in share if header and headers.named_meaning(c) == "freq"]
    for column in named or share:
        for unit in ("MHz", "kHz"):
            if share[column].get(f"broadcast {unit}", 0) >= kinds.ENOUGH and (
                named or share[column].get("whole", 0) < 0.5
            ):
                return column, unit
    return "", ""


def _sides(found: Columns, share: dict[str, dict[str, float]], *, header: bool) -> None:
    """Who was heard, from where, and by whom; by name first, then by what the cells hold, in their order."""
    rest = [c for c in share if c not in found.meaning and share[c]["filled"] > 0]
    for column in rest:
        meaning = _named(column) if header else ""
        if meaning and meaning not in found.meaning.values():
            settle(found, column, meaning, 0.9, "its name")
    rest = [c for c in rest if c not in found.meaning]
    for meaning, kind in (("tx_locator", "locator"), ("rx_locator", "locator"), ("rx_call", "call")):
        like = [c for c in rest if _like(share[c], kind)]
        if like and meaning not in found.meaning.values():
            settle(found, like[0], meaning, 0.8, f"looks like a {kind}")
            rest.remove(like[0])
    if not header:
        words = [c for c in rest if share[c].get("digit", 0) < 0.5 and not share[c].get("mode", 0) > 0.5]
        for column, meaning in zip(words, ("tx_call", "rx_call"), strict=False):
            if meaning not in found.meaning.values():
                settle(found, column, meaning, 0.8, "names, in the order of the columns")


def _like(share: dict[str, float], kind: str) -> bool:
    """Whether most cells look like the kind; locators look like calls, too."""
    as_locator = share.get("locator", 0) >= kinds.ENOUGH
    return share.get(kind, 0) >= kinds.ENOUGH and (kind == "locator" or not as_locator)


def _named(header: str) -> str:
    """Meaning that a header gives a column of notes, "" if none."""
    words = [word for word in headers.tidy_name(header).split() if word not in headers.FILLERS]
    things = [headers.THING[word] for word in words if word in headers.THING]
    place = next((thing for thing in things if thing in ("locator", "lat", "lon") and words != ["qth"]), "")
    told = {MEANING[word] for word in words if word in MEANING}
    heard_by = headers.named_meaning(header).startswith("rx") or {headers.SIDE.get(w) for w in words} & {
        "rx",
        "own",
    }
    listener = bool(heard_by) or "rx_call" in told or "call" in words
    if place:
        return f"{'rx' if listener else 'tx'}_{place}"
    if listener:
        return "rx_place" if "tx_place" in told else "rx_call"
    return next((meaning for meaning in ("tx_place", "tx_call") if meaning in told), "")

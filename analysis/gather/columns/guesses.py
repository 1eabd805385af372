"""What a table's columns have been taken for so far, and the first questions put to it."""

from __future__ import annotations

from dataclasses import dataclass, field

from analysis.gather.cells import kinds

PROOF = {  # meaning: kinds of cells, one of which most cells must be
    "time": ("moment", "clock", "date", "pointed"),
    "date": ("date", "moment"),
    "clock": ("clock", "pointed"),
    "band": ("band", "broadcast band"),
    "freq": ("freq MHz", "freq kHz", "freq Hz"),
    "tx_call": ("call",),
    "call": ("call",),
    "tx_locator": ("locator",),
    "rx_locator": ("locator",),
    "locator": ("locator",),
    "snr_db": ("number",),
    "tx_power": ("tx_power",),
    "distance": ("distance",),
    "bearing": ("bearing",),
    "start": ("moment", "clock"),
    "end": ("moment", "clock"),
}
SURE_ENOUGH = 0.8  # below, a guess is put to the user as a question


@dataclass(frozen=True)
class Columns:
    """What the columns of one table mean.

    `meaning`: column to meaning; `unit`: meaning to unit (`freq`: MHz, kHz or Hz, `tx_power`: W,
    mW, kW or dBm, `date_order`: day first, month first or "", `kind`: heard or worked, `zone`: of the
    times); `sure`: column to confidence, 0 to 1; `question`: what has to be asked, "" if nothing.
    """

    meaning: dict[str, str]
    unit: dict[str, str]
    sure: dict[str, float]
    question: str = ""
    why: dict[str, str] = field(default_factory=dict)


def settle(found: Columns, column: str, meaning: str, sure: float, why: str) -> None:
    """Note what a column is taken for, how surely and why."""
    found.meaning[column], found.sure[column], found.why[column] = meaning, round(sure, 2), why


def columns_of(found: Columns, *meanings: str) -> list[str]:
    """Columns taken for any of the meanings, in the order of the table."""
    return [column for column, meaning in found.meaning.items() if meaning in meanings]


def pool_of(found: Columns, share, kind: str, generic: str, *, least: float) -> list[str]:
    """Columns of a kind whose side is not yet known, in the order of the table."""
    rival = "locator" if kind == "call" else ""
    return [
        column
        for column, kinds_of in share.items()
        if found.meaning.get(column) == generic
        or (
            column not in found.meaning
            and kinds_of.get(kind, 0.0) >= least
            and (not rival or kinds_of.get(rival, 0.0) < kinds.ENOUGH)
        )
    ]

"""Rows of one series in a finished table, by kind of path: which carry a number, and why the others do not."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.show.charts import style
from analysis.show.charts.picture import Picture, words_only

ORDER = ("all", "any", "land", "mixed", "sea")
Parts = dict[str, pd.DataFrame]


def by_kind(table: pd.DataFrame, *, band: str, mechanism: str, kind: str = "path_type") -> Parts:
    """Rows of a band and mechanism, apart by path type or by direction (`kind`), in the order of pictures."""
    rows = table[(table["band"].astype(str) == band) & (table["mechanism"].astype(str) == mechanism)]
    kinds = sorted(rows[kind].unique(), key=lambda one: ORDER.index(one) if one in ORDER else len(ORDER))
    return {str(one): rows[rows[kind] == one] for one in kinds}


def stated(parts: Parts, value: str = "chance") -> Parts:
    """The parts that carry numbers in the column `value`, without their blank rows."""
    return {kind: rows[rows[value].notna()] for kind, rows in parts.items() if states(rows, value)}


def states(rows: pd.DataFrame, value: str = "chance") -> bool:
    """Whether there is a number in `value` that no verdict forbids to draw."""
    numbers = rows[rows[value].notna()]
    return bool(len(numbers) and (numbers["verdict"] != "refuse").all())


def worst_tier(parts: Parts) -> str:
    """The weakest evidence among some parts, which speaks for the whole picture."""
    return max(rows["tier"].iloc[0] for rows in parts.values())


def sure(parts: Parts) -> bool:
    """Whether every part rests on always-on receivers and on a fit that needs no reserve."""
    return all(rows["verdict"].iloc[0] == "ok" and rows["tier"].iloc[0] == "A" for rows in parts.values())


def named(parts: Parts) -> Parts:
    """The parts that a title speaks of: mixed paths only where there is nothing else."""
    return {kind: rows for kind, rows in parts.items() if kind != "mixed" or len(parts) == 1}


def head(kind: str, rows: pd.DataFrame, *, room_mm: float) -> str:
    """Head of a panel: kind of path, seasons and state, on more lines where one would run into the next."""
    seasons = rows["seasons"].max()
    n = f" ({style.counted(seasons, 'season')})" if np.isfinite(seasons) else ""
    state = "" if rows["verdict"].iloc[0] == "ok" else ": provisional" if states(rows) else ": no number"
    return style.wrapped(f"{style.path_words(kind)}{n}{state}", room_mm=room_mm, bold=True)


def reserves(parts: Parts) -> str:
    """Why some parts are provisional; a sentence that all of them share is said once, at the end."""
    reasons = {
        kind: str(rows["reason"].iloc[0]).rstrip(".").split(". ")
        for kind, rows in parts.items()
        if rows["verdict"].iloc[0] == "provisional"
    }
    every = list(reasons.values())
    shared = [one for one in every[0] if all(one in said for said in every)] if len(every) > 1 else []
    own = [
        f"{'' if kind == 'all' else style.path_words(kind) + ': '}{'. '.join(one for one in said if one not in shared)}"
        for kind, said in reasons.items()
    ]
    return ". ".join([f" Provisional: {'; '.join(own)}", *shared]) + "." if own else ""


def refused(name: str, parts: Parts, *, title: str, width: str) -> Picture:
    """In words why nothing can be drawn, once where all kinds of path have the same reason."""
    said = {kind: style.sentence(rows["reason"].iloc[0]) for kind, rows in parts.items()}
    if not said:
        reason = "There is nothing of this kind in the tables."
    elif len(set(said.values())) == 1:
        reason = next(iter(said.values())) or "The data cannot carry a number."
    else:
        reason = "\n".join(f"{style.headline(style.path_words(kind))}: {one}" for kind, one in said.items())
    return words_only(name, reason, title=title, width=width)

"""Rows of one series in a finished table, by kind of path: which carry a number, what they find, and why others do not."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np
import pandas as pd

from analysis.show.charts import style
from analysis.show.charts.picture import Picture, words_only
from analysis.show.wording import words

ORDER = ("all", "any", "land", "mixed", "sea")
Parts = dict[str, pd.DataFrame]
PEAKS = ("morning peak", "evening peak")
STRONGEST, SEASON_PEAK = "strongest hour", "season peak"


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
    if not every:
        return ""
    left = {kind: ". ".join(one for one in said if one not in shared) for kind, said in reasons.items()}
    own = [
        one if kind == "all" else f"{style.path_words(kind)}: {one}" if one else style.path_words(kind)
        for kind, one in left.items()
    ]
    return " ".join(style.sentence(one) for one in ("", f"Provisional: {'; '.join(own)}", *shared))


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


def hours_finding(estimates: pd.DataFrame, drawn: Parts, *, band: str, mechanism: str) -> str:
    """At which hours a series is likeliest: sporadic E by local solar time, tropo by the Sun's day.

    Parameters
    ----------
    estimates : DataFrame
        `what band mechanism path_type value verdict` and more, as `fit.season.estimates_table` gives them.
    drawn : dict
        The drawn rows of the daily curve by kind of path.
    """
    series = words.series(band_name=band, mechanism=mechanism)
    own = estimates[(estimates["band"] == band) & (estimates["mechanism"] == mechanism)]
    if next(iter(drawn.values()))["axis"].iloc[0] == "solar":
        found = [_value(own, what, next(iter(drawn))) for what in PEAKS]
        times = [words.clock(hour) for hour in found if hour is not None]
        if not times:
            return f"{series}: the data do not say at which hour it peaks"
        return f"{series} is likeliest around {words.listed(times)} local solar time"
    hours = {kind: _value(own, STRONGEST, kind) for kind in named(drawn)}
    told = {kind: words.sun_phase(hour) for kind, hour in hours.items() if hour is not None}
    return told_by_kind(told, hours, lead=f"{series} is likeliest", series=series, when="")


def season_finding(estimates: pd.DataFrame, drawn: Parts, *, band: str, mechanism: str) -> str:
    """In which part of which month a series peaks; parameters as for `hours_finding`."""
    series = words.series(band_name=band, mechanism=mechanism)
    own = estimates[(estimates["band"] == band) & (estimates["mechanism"] == mechanism)]
    days = {kind: _value(own, SEASON_PEAK, kind) for kind in named(drawn)}
    told = {kind: words.part_of_month(words.of_year(day)) for kind, day in days.items() if day is not None}
    return told_by_kind(told, days, lead=f"{series} peaks", series=series)


def told_by_kind(
    told: Mapping[str, str], every: Iterable[str], *, lead: str, series: str, when: str = "in "
) -> str:
    """`lead` with when it is for each kind of path, and for which kinds the data do not say."""
    if not told:
        return f"{series}: the data do not say when it peaks"
    said = words.listed(f"{when}{one}{style.where(kind)}" for kind, one in told.items())
    unsaid = [style.where(kind).strip() for kind in every if kind not in told]
    rest = f"; {words.listed(unsaid)} the data do not say when" if unsaid else ""
    return f"{lead} {said}{rest}"


def _value(own: pd.DataFrame, what: str, kind: str) -> float | None:
    """Value of one estimate of a kind of path, if it has one and no verdict forbids to tell it."""
    rows = own[(own["what"] == what) & (own["path_type"] == kind) & own["value"].notna()]
    rows = rows[rows["verdict"] != "refuse"]
    return float(rows["value"].iloc[0]) if len(rows) else None

"""One page on one beacon for its keeper: who heard it, how far, which way, and when it was likely off."""

from __future__ import annotations

from typing import Any

import pandas as pd

from analysis.fit.signs.uptime import Uptime, spells_off
from analysis.gather.problems import InputError
from analysis.show.papers import blocks
from analysis.show.papers.templating import TEMPLATES, render
from analysis.show.wording import words

BEACON = TEMPLATES / "beacon.md.j2"
MOST_SPELLS = 12


def beacon_page(heard: pd.DataFrame, uptimes: dict[str, Uptime], *, call: str) -> list[blocks.Block]:
    """The page of one beacon, ready for the writers in `documents`.

    Parameters
    ----------
    heard : DataFrame
        As `find.signs.heard.beacons_heard` makes it.
    uptimes : dict
        Band (keys) to `fit.signs.uptime.Uptime`.
    call : str

    Raises
    ------
    InputError
        If no beacon of this call sign is listed or was heard.
    """
    own = heard[heard["call"] == call]
    if own.empty:
        known = words.listed(sorted(heard["call"].unique())[:8])
        none = "review your files together with a list of beacons, a table of call, locator and MHz"
        raise InputError(
            f"{call}: no such beacon was listed or heard; {f'known are {known}' if known else none}"
        )
    bands = [
        _band(row, uptimes.get(str(row["band"])))  # type: ignore[arg-type]
        for row in own[own["n_reports"] > 0].to_dict("records")  # type: ignore[arg-type]
    ]
    return blocks.from_markdown(render(BEACON, {"call": call, "bands": bands}))


def _band(row: dict[str, Any], up: Uptime | None) -> dict[str, Any]:
    """What the page says of one band, every number as text."""
    reports, listeners = (
        words.counted(row["n_reports"], "report"),
        words.counted(row["n_listeners"], "station"),
    )
    spells = spells_off(up.on) if up is not None and not up.reason else pd.DataFrame()
    longest = (
        spells.sort_values("days", ascending=False).head(MOST_SPELLS).sort_values("first")
        if len(spells)
        else spells
    )
    return {
        "name": words.band(row["band"]),
        "square": words.square(row["locator"]) if row["locator"] else "",
        "mhz": "" if pd.isna(row["freq_mhz"]) else f"{row['freq_mhz']:.3f} MHz",
        "heard": f"{reports} of {listeners}, on {words.counted(row['days_heard'], 'day')} and in "
        f"{words.counted(row['hours_heard'], 'hour')}, from {words.date(row['first'])} to {words.date(row['last'])}",
        "far": ""
        if pd.isna(row["farthest_km"])
        else f"{words.count(row['farthest_km'])} km by "
        f"{words.MECHANISMS.get(row['farthest_mechanism'], row['farthest_mechanism'])}",
        "bearing": f"{row['best_bearing']}, on {words.counted(row['best_days'], 'day')}"
        if row["best_bearing"]
        else "",
        "silence": words.counted(row["longest_silence_days"], "day"),
        "up": _share(up),
        "why": up.reason if up is not None else "",
        "regulars": words.counted(row["n_regulars"], "station"),
        "spells": [
            f"{words.date(one['first'])} to {words.date(one['last'])}, {words.counted(one['days'], 'day')}: "
            f"off with a chance of {words.percent(one['chance_off'])}"
            for one in longest.to_dict("records")
        ],
        "more": words.counted(len(spells) - len(longest), "shorter spell")
        if len(spells) > len(longest)
        else "",
        "drift": _drift(row),
    }


def _share(up: Uptime | None) -> str:
    if up is None or up.reason:
        return ""
    return f"{words.percent(up.share)} ({words.percents(low=up.low, high=up.high)})"


def _drift(row: dict[str, Any]) -> str:
    if pd.isna(row["drift_hz_month"]):
        return f"no drift can be told: {row['drift_reason']}"
    slope, low, high = row["drift_hz_month"], row["drift_low"], row["drift_high"]
    moved = "it moves by" if low > 0 or high < 0 else "no drift is seen:"
    return f"{moved} {slope:+.1f} Hz a month ({low:+.1f} to {high:+.1f})"

"""Quarter-hours of openings: the strongest FT8 report, and whether voice came next while somebody was on voice."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.find import intervals
from analysis.find.signs.first import ABOUT, SCOPES
from analysis.find.signs.kinds import FT8, VOICE, kinds
from analysis.find.signs.ladder import STAYS_MIN, receptions, within_reach
from analysis.tag.strength import at_one_watt

SLOT_MIN = 15.0  # judgement: long enough for a few reports, short against an opening
COLUMNS = [*ABOUT, "slot", "best_db", "best_1w_db", "n_reports", "voice_next"]


def levels(
    spots: pd.DataFrame, openings: pd.DataFrame, *, beacons: pd.DataFrame | None = None
) -> pd.DataFrame:
    """What FT8 promised and whether voice came within the next quarter of an hour.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots with their `opening` and, where home is known, `here`.
    openings : DataFrame
        Of every scope.
    beacons : DataFrame, optional
        `call …`.

    Returns
    -------
    DataFrame
        `scope opening band mechanism path_type start season slot best_db best_1w_db n_reports voice_next`:
        quarter-hours (`slot` of them since 1970) of confirmed openings with an FT8 report, at whose end a
        voice operator within reach was known to be on, from earlier receptions alone. `best_db` is the
        strongest report [dB in 2500 Hz], `best_1w_db` the strongest as if sent with 1 W, NaN where no
        power is known.
    """
    heard = receptions(spots, beacons)
    parts = [
        _of_scope(spots, openings, heard, scope=scope, beacons=beacons)
        for scope in SCOPES
        if SCOPES[scope] in spots
    ]
    return pd.concat(parts, ignore_index=True)[COLUMNS]


def _of_scope(spots, openings, heard: pd.DataFrame, *, scope: str, beacons) -> pd.DataFrame:
    wanted = openings[(openings["grade"] == "confirmed") & (openings["scope"] == scope)]
    number = spots[SCOPES[scope]]
    rows = spots[number.isin(wanted["opening"])]
    reports = pd.DataFrame(
        {
            "opening": number[rows.index].astype("int64"),
            "season": rows["season"],
            "sign": kinds(rows, beacons=beacons),
            "slot": intervals.minutes(rows["time"]) // SLOT_MIN,
            "best_db": rows["snr_db"].astype(float),
            "best_1w_db": at_one_watt(rows).astype(float),
        }
    )
    ft8 = reports[(reports["sign"] == FT8) & reports["best_db"].notna()]
    by = ft8.groupby(["opening", "slot"])
    table = by.agg(
        best_db=("best_db", "max"),
        best_1w_db=("best_1w_db", "max"),
        n_reports=("season", "size"),
        season=("season", "first"),
    )
    voice = reports.loc[reports["sign"] == VOICE, ["opening", "slot"]].drop_duplicates()
    voice = pd.MultiIndex.from_arrays([voice["opening"], voice["slot"] - 1])  # type: ignore[assignment]
    table["voice_next"] = table.index.isin(voice)
    table = table.reset_index().merge(_on(wanted, heard), on=["opening", "slot"])
    return table.merge(
        wanted.astype({"opening": "int64"})[[one for one in ABOUT if one != "season"]], on="opening"
    )


def _on(openings: pd.DataFrame, heard: pd.DataFrame) -> pd.DataFrame:
    """Slots of openings (`opening slot`) at whose end somebody within reach was known to be on voice."""
    found = []
    for band, own in openings.groupby("band"):
        near = within_reach(own, heard[heard["band"] == band])
        for opening, by_kind in zip(own["opening"], near, strict=True):
            minute = by_kind[VOICE]
            slots = np.unique(
                np.concatenate(
                    [minute // SLOT_MIN + step for step in range(int(STAYS_MIN[VOICE] // SLOT_MIN) + 1)]
                )
            )
            ends = (slots + 1) * SLOT_MIN
            last = np.searchsorted(minute, ends) - 1
            good = (
                (last >= 0) & (ends - minute[np.maximum(last, 0)] <= STAYS_MIN[VOICE]) if len(minute) else []
            )
            found.append(pd.DataFrame({"opening": int(opening), "slot": slots[good]}))
    return pd.concat(found) if found else pd.DataFrame({"opening": np.empty(0, "int64"), "slot": np.empty(0)})

"""Every table of a review that tells what announces an opening, and whether to believe it."""

from __future__ import annotations

import pandas as pd

from analysis.find.signs.announced import announced
from analysis.find.signs.first import first_signs
from analysis.find.signs.heard import beacons_heard, listening_days, station_days
from analysis.find.signs.ladder import ladder
from analysis.find.signs.layer import layer_bounds
from analysis.find.signs.levels import levels
from analysis.fit.signs.chain import chain_table
from analysis.fit.signs.climb import rungs_table
from analysis.fit.signs.indicators import indicators_table
from analysis.fit.signs.leads import leads_table
from analysis.fit.signs.level import levels_table
from analysis.fit.signs.uptime import uptime


def signs_tables(
    spots: pd.DataFrame,
    openings: pd.DataFrame,
    *,
    listening: pd.DataFrame,
    beacons: pd.DataFrame,
    home: dict[str, float],
) -> dict[str, pd.DataFrame]:
    """Tables by the name they have in `Tables`: facts of each opening, and what they add up to.

    Parameters
    ----------
    spots, openings, listening, beacons : DataFrame
        What was gathered and found; columns in DEVELOPERS.md.
    home : dict
        `lon lat` of home [degrees east, north].
    """
    warnings = announced(spots, openings, listening, beacons=beacons, **home)
    signs = first_signs(spots, openings, beacons=beacons)
    layer = layer_bounds(spots, openings)
    climbs = ladder(spots, openings, beacons=beacons)
    return {
        "signs": signs,
        "leads": leads_table(signs),
        "indicators": indicators_table(warnings),
        "ladder": climbs,
        "rungs": rungs_table(climbs),
        "voice_levels": levels_table(levels(spots, openings, beacons=beacons)),
        "beacons_heard": with_uptime(beacons_heard(spots, beacons=beacons), spots),
        "muf": layer,
        "chain": chain_table(layer, openings),
    }


def with_uptime(heard: pd.DataFrame, spots: pd.DataFrame) -> pd.DataFrame:
    """The beacon keepers' record with the share of days each was on the air: `up_share up_low up_high up_reason`."""
    told, every = [], station_days(spots)
    for row in heard.to_dict("records"):
        regular = row["n_regulars"] > 0
        found = uptime(
            listening_days(every, call=row["call"], band=row["band"]) if regular else pd.DataFrame()
        )
        told.append((found.share, found.low, found.high, found.reason))
    columns = ["up_share", "up_low", "up_high", "up_reason"]
    return heard.join(pd.DataFrame(told, columns=columns, index=heard.index))


def with_field_note(notes: pd.DataFrame, spots: pd.DataFrame, field: pd.DataFrame) -> pd.DataFrame:
    """The notes, and a line more where reports were called aurora without knowing how the field was."""
    n = int((spots["mechanism"] == "AUR").sum())
    if n == 0 or len(field):
        return notes
    line = (
        f"{n} reports were called aurora without a planetary index; a CSV with time and Kp (0 to 9) beside the "
        "reports would tell aurora from sporadic E"
    )
    return pd.concat([notes, pd.DataFrame({"source": ["all files"], "note": [line]})], ignore_index=True)

"""Every table of a review that tells what announces an opening, and whether to believe it."""

from __future__ import annotations

import pandas as pd

from analysis.find.signs.first import first_signs
from analysis.find.signs.ladder import ladder
from analysis.find.signs.layer import layer_bounds
from analysis.find.signs.levels import levels
from analysis.fit.signs.chain import chain_table
from analysis.fit.signs.climb import rungs_table
from analysis.fit.signs.leads import leads_table
from analysis.fit.signs.level import levels_table


def signs_tables(
    spots: pd.DataFrame, openings: pd.DataFrame, *, beacons: pd.DataFrame
) -> dict[str, pd.DataFrame]:
    """Tables by the name they have in `Tables`: facts of each opening, and what they add up to."""
    signs = first_signs(spots, openings, beacons=beacons)
    layer = layer_bounds(spots, openings)
    climbs = ladder(spots, openings, beacons=beacons)
    return {
        "signs": signs,
        "leads": leads_table(signs),
        "ladder": climbs,
        "rungs": rungs_table(climbs),
        "voice_levels": levels_table(levels(spots, openings, beacons=beacons)),
        "muf": layer,
        "chain": chain_table(layer, openings),
    }

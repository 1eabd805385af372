"""Which series a review speaks of: every band, mechanism and path type as half-hour cells."""

from __future__ import annotations

import pandas as pd

from analysis.find.cells import half_hours
from analysis.find.listening import evidence_tier
from analysis.fit.estimate import Series

VHF_BANDS = ("8m", "6m", "5m", "4m", "2m", "1.25m", "70cm", "33cm", "23cm")
PATH_TYPES = {"ES": ["all"], "TR": ["land", "mixed", "sea"]}  # the ground matters to tropo only
AXES = {"ES": "solar", "TR": "sun"}


def vhf_series(spots: pd.DataFrame, listening: pd.DataFrame) -> list[Series]:
    """Half-hour cells of every band, mechanism and path type that the spots can speak of."""
    heard = spots["band"].value_counts()
    return [
        Series(
            band,
            mechanism,
            path_type,
            AXES[mechanism],
            evidence_tier(listening, band=band),
            half_hours(
                spots, listening, band=band, mechanism=mechanism, path_type=path_type, axis=AXES[mechanism]
            ),
        )
        for band in VHF_BANDS
        if heard.get(band, 0)
        for mechanism, path_types in PATH_TYPES.items()
        for path_type in path_types
    ]

"""How likely each feature class is under each mechanism: the tables behind `mechanism`.

The numbers below are judgement, not measurement; hours of meteors lean on ITU-R P.843, hours and seasons
of sporadic E on published ionosonde climatology. The tables in `FITTED` are where a fit to simulated
years that hold every mechanism begins, and what it is drawn to; its result is `likelihoods.json`
(`python -m benchmarks.likelihoods`). Distances are in `ranges`.
"""

from __future__ import annotations

import json
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from analysis.tag import bands

MECHANISMS = ["ES", "TR", "MS", "AS", "AUR", "F2", "TEP", "LOS"]
MISTAKE = "mistake"  # a wrong locator or a false decode: never a call, but it competes with the calls
RIVALS = [*MECHANISMS, MISTAKE]
NEVER = -1e6  # a hard bound, in place of the logarithm of zero

# Share of reports by band before anything else is known.
#            ES    TR    MS    AS     AUR    F2    TEP    LOS   mistake
PRIOR = {
    "10m": [0.30, 0.02, 0.01, 0.005, 0.003, 0.50, 0.01, 0.15, 0.005],
    "8m": [0.36, 0.12, 0.08, 0.008, 0.004, 0.03, 0.005, 0.38, 0.005],
    "6m": [0.38, 0.14, 0.08, 0.008, 0.004, 0.01, 0.005, 0.38, 0.005],
    "5m": [0.32, 0.16, 0.09, 0.008, 0.004, 0.00, 0.005, 0.41, 0.005],
    "4m": [0.25, 0.22, 0.10, 0.015, 0.004, 0.00, 0.00, 0.41, 0.005],
    "FM": [0.15, 0.30, 0.08, 0.03, 0.004, 0.00, 0.00, 0.43, 0.005],
    "2m": [0.03, 0.38, 0.07, 0.08, 0.004, 0.00, 0.0005, 0.43, 0.005],
    "1.25m": [0.0, 0.42, 0.01, 0.06, 0.002, 0.0, 0.0, 0.50, 0.005],
    "70cm": [0.0, 0.43, 0.003, 0.06, 0.002, 0.0, 0.0, 0.50, 0.005],
    "33cm": [0.0, 0.43, 0.0, 0.06, 0.0, 0.0, 0.0, 0.50, 0.005],
    "23cm": [0.0, 0.43, 0.0, 0.06, 0.0, 0.0, 0.0, 0.50, 0.005],
}

# By days from the summer solstice (`features.SEASON_EDGES`): sporadic E, and the other RIVALS in their order.
ES_SEASON = [0.25, 0.15, 0.7, 1.8, 1.0, 0.3, 0.25]
SEASONS: list[list[float]] = [  # the same of the other RIVALS, in their order; judgement
    [0.6, 0.9, 1.0, 1.1, 1.1, 1.1, 0.6],
    [1.0, 0.7, 0.9, 1.1, 1.2, 1.0, 1.0],
    [1, 1, 1, 1, 1, 1, 1],
    [0.8, 1.3, 0.8, 0.6, 0.8, 1.3, 0.8],
    [1.5, 1.2, 0.3, 0.03, 0.3, 1.3, 1.5],
    [0.3, 1.8, 0.5, 0.1, 0.5, 1.8, 0.3],
    [1, 1, 1, 1, 1, 1, 1],
    [1, 1, 1, 1, 1, 1, 1],
]

# Chance of each feature class, one row for each of RIVALS. Only ratios
# within a column matter; a column of ones says nothing.
TABLES = {
    # voice and Morse, slow digital, meteor digital, beacon, unknown
    "mode": [
        [0.25, 0.68, 0.01, 0.06, 1],
        [0.30, 0.61, 0.02, 0.07, 1],
        [0.05, 0.33, 0.60, 0.02, 1],
        [0.40, 0.50, 0.02, 0.08, 1],
        [0.88, 0.05, 0.005, 0.065, 1],
        [0.30, 0.65, 0.005, 0.045, 1],
        [0.35, 0.60, 0.005, 0.045, 1],
        [0.35, 0.50, 0.03, 0.12, 1],
        [0.30, 0.62, 0.03, 0.05, 1],
    ],
    # unknown, below -15, to -5, to 5, above [dB in 2500 Hz]
    "snr": [
        [1, 0.30, 0.30, 0.25, 0.15],
        [1, 0.42, 0.33, 0.17, 0.08],
        [1, 0.15, 0.37, 0.36, 0.12],
        [1, 0.45, 0.35, 0.15, 0.05],
        [1, 0.25, 0.25, 0.25, 0.25],
        [1, 0.35, 0.35, 0.20, 0.10],
        [1, 0.35, 0.35, 0.20, 0.10],
        [1, 0.12, 0.18, 0.28, 0.42],
        [1, 0.55, 0.25, 0.13, 0.07],
    ],
    # other paths near the midpoint within half an hour: none in a thin log, none, 1-2, 3-9, 10 on
    "neighbours": [
        [1.0, 0.10, 0.18, 0.27, 0.45],
        [1.0, 0.22, 0.28, 0.28, 0.22],
        [1.2, 0.60, 0.26, 0.11, 0.03],
        [1.1, 0.50, 0.33, 0.14, 0.03],
        [1.0, 0.10, 0.20, 0.40, 0.30],
        [1.0, 0.10, 0.20, 0.35, 0.35],
        [1.0, 0.15, 0.25, 0.35, 0.25],
        [1.1, 0.50, 0.22, 0.16, 0.12],
        [1.2, 0.66, 0.20, 0.11, 0.03],
    ],
    # ten-minute slots in use near the midpoint within two hours: none in a thin log, up to 1 and alone,
    # up to 1 with company, 2-3, 4 on
    "lasting": [
        [1.0, 0.14, 0.06, 0.30, 0.50],
        [1.0, 0.21, 0.04, 0.27, 0.48],
        [1.2, 0.64, 0.06, 0.22, 0.08],
        [1.1, 0.42, 0.38, 0.14, 0.06],
        [1.0, 0.06, 0.02, 0.22, 0.70],
        [1.0, 0.12, 0.05, 0.28, 0.55],
        [1.0, 0.15, 0.05, 0.30, 0.50],
        [1.0, 0.46, 0.04, 0.20, 0.30],
        [1.2, 0.71, 0.04, 0.17, 0.08],
    ],
    # mean distance of those paths: no path, below 450, to 800, to 1100, above [km]
    "reach": [
        [1, 0.02, 0.12, 0.26, 0.60],
        [1, 0.48, 0.42, 0.07, 0.03],
        [1, 0.10, 0.20, 0.28, 0.42],
        [1, 0.40, 0.50, 0.07, 0.03],
        [1, 0.20, 0.40, 0.25, 0.15],
        [1, 0.03, 0.07, 0.10, 0.80],
        [1, 0.03, 0.07, 0.10, 0.80],
        [1, 0.38, 0.30, 0.12, 0.20],
        [1, 0.25, 0.25, 0.25, 0.25],
    ],
    # long paths (beyond 900 km) within an hour and some 2000 km: none, 1-2, 3 on
    "region": [
        [0.15, 0.20, 0.65],
        [0.60, 0.20, 0.20],
        [0.60, 0.20, 0.20],
        [0.60, 0.20, 0.20],
        [0.35, 0.20, 0.45],
        [0.15, 0.20, 0.65],
        [0.15, 0.20, 0.65],
        [0.60, 0.20, 0.20],
        [0.55, 0.20, 0.25],
    ],
    # night, morning (4-8), forenoon (8-13), afternoon (13-16), evening (16-21), local solar time
    "hour": [
        [0.3, 0.8, 1.6, 1.0, 1.5],
        [1.1, 1.3, 0.9, 0.8, 1.0],
        [1.0, 1.7, 1.2, 0.6, 0.5],
        [0.3, 1.0, 1.3, 1.2, 1.1],
        [1.2, 0.2, 0.2, 1.0, 1.8],
        [0.1, 0.5, 1.8, 1.6, 0.8],
        [0.5, 0.02, 0.1, 1.0, 2.5],
        [1, 1, 1, 1, 1],
        [1, 1, 1, 1, 1],
    ],
    # winter, spring, early season, high season, late season, autumn, winter; the same again for paths
    # beyond one hop, which ask for two patches at once
    "season": [ES_SEASON + [chance**2 for chance in ES_SEASON]] + [row + row for row in SEASONS],
    # what the geomagnetic frame allows: nothing of its own, trans-equatorial paths, aurora; how common such
    # paths are where the mechanism does not ask for them
    "magnetic": [
        [0.53, 0.02, 0.45],
        [0.53, 0.02, 0.45],
        [0.53, 0.02, 0.45],
        [0.53, 0.02, 0.45],
        [0.00, 0.00, 1.00],
        [0.43, 0.12, 0.45],
        [0.00, 1.00, 0.00],
        [0.53, 0.02, 0.45],
        [0.48, 0.07, 0.45],
    ],
    # outside, within the days of a large shower with its radiant above the horizon of the midpoint
    "shower": [[1, 1], [1, 1], [0.85, 2.0], *[[1, 1]] * 6],
    # planetary index: not known, quiet, unsettled, storm; storms hold a twelfth of the time (from memory)
    "planetary": [
        *[[1, 0.80, 0.12, 0.08]] * 4,
        [1, 0.04, 0.16, 0.80],
        *[[1, 0.80, 0.12, 0.08]] * 4,
    ],
    # share of the receiver's days on which the pair is heard: not known, below 0.3, to 0.8, above
    "standing": [
        [1, 0.90, 0.09, 0.01],
        [1, 0.80, 0.15, 0.05],
        [1, 0.92, 0.07, 0.01],
        [1, 0.85, 0.13, 0.02],
        [1, 0.95, 0.04, 0.01],
        [1, 0.90, 0.09, 0.01],
        [1, 0.90, 0.09, 0.01],
        [1, 0.45, 0.25, 0.30],
        [1, 0.98, 0.01, 0.01],
    ],
    # the same pair within the hour: not known, not again, within minutes only, later too, most of the hour
    "again": [
        [1, 0.30, 0.20, 0.30, 0.20],
        [1, 0.25, 0.10, 0.30, 0.35],
        [1, 0.80, 0.15, 0.04, 0.01],
        [1, 0.35, 0.50, 0.13, 0.02],
        [1, 0.30, 0.20, 0.30, 0.20],
        [1, 0.30, 0.15, 0.30, 0.25],
        [1, 0.30, 0.20, 0.30, 0.20],
        [1, 0.25, 0.12, 0.28, 0.35],
        [1, 0.90, 0.08, 0.015, 0.005],
    ],
    # neither; a long path below 100 MHz at the same place and time; a path above 400 MHz; both
    "company": [
        [0.8, 4.0, 0.4, 1.5],
        [1.0, 0.8, 3.0, 2.5],
        [1.0, 1.0, 1.0, 1.0],
        [1.0, 0.9, 1.5, 1.2],
        [1.0, 1.0, 0.8, 0.8],
        [1.0, 0.8, 0.5, 0.5],
        [1.0, 0.8, 0.5, 0.5],
        [1.0, 1.0, 1.5, 1.5],
        [1.0, 1.0, 1.0, 1.0],
    ],
}


FITTED = ["snr", "neighbours", "lasting", "reach", "region", "standing", "again", "company"]
"""What simulated years can teach; habits, calendars and the Earth's field keep their judged tables."""
FITTED_PATH = Path(__file__).parent / "likelihoods.json"


def log_table(name: str) -> NDArray:
    """Logarithm of the table of one feature, `RIVALS` by classes; `NEVER` where the chance is nil."""
    return np.array(_fitted()[name]) if name in FITTED else judged(name)


def judged(name: str) -> NDArray:
    """Logarithm of one of `TABLES`, before any fit."""
    return _log(np.asarray(TABLES[name], float))


def log_prior() -> NDArray:
    """Logarithm of `PRIOR`, bands (in the order of `bands.BANDS`) by `RIVALS`."""
    table = np.array([np.ones(len(RIVALS)), *(PRIOR[name] for name in bands.BAND_MHZ)])
    return _log(table)


@lru_cache(maxsize=1)
def _fitted() -> dict[str, list[list[float]]]:
    return json.loads(FITTED_PATH.read_text(encoding="utf-8"))


def _log(table: NDArray) -> NDArray:
    return np.where(table > 0, np.log(np.maximum(table, 1e-9)), NEVER)

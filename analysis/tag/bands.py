"""Bands, modes and steps of numbers as the mechanism rooms see them."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

# Where most activity of a band is; common practice, no source.
BAND_MHZ = {
    "10m": 28.5,
    "8m": 40.7,
    "6m": 50.3,
    "5m": 60.0,
    "4m": 70.2,
    "FM": 98.0,
    "2m": 144.3,
    "1.25m": 222.1,
    "70cm": 432.2,
    "33cm": 902.1,
    "23cm": 1296.2,
}
"""Where the weak-signal work of a band is done [MHz]; open-standard band names, and FM, which is only heard."""
BANDS = ["other", *BAND_MHZ]

MODES = ["voice and Morse", "slow digital", "meteor digital", "beacon", "unknown"]
MODE_GROUP = dict.fromkeys(["CW", "SSB", "FM", "AM", "USB", "LSB", "PHONE"], 0)  # codes
MODE_GROUP |= dict.fromkeys(["MSK144", "FSK441", "JT6M", "FSK315", "JTMS", "ISCAT"], 2)
MODE_GROUP |= dict.fromkeys(["WSPR", "FST4W"], 3)
MODE_GROUP |= dict.fromkeys(["DIGI", "DIGITAL", "DATA", "DG"], 4)  # of any kind, a meteor mode too
METEOR_MODE = MODES.index("meteor digital")
UNKNOWN_MODE = MODES.index("unknown")


def step(values: NDArray, edges: tuple[float, ...]) -> NDArray:
    """Number of edges at or below each value; 0 for NaN."""
    return np.sum([values >= edge for edge in edges], axis=0, dtype="int8")


def band_codes(bands: pd.Series) -> NDArray:
    """Number of each band in `BANDS`, 0 for one that is not judged."""
    codes, names = pd.factorize(bands)
    table = np.array([BANDS.index(name) if name in BAND_MHZ else 0 for name in names] + [0])
    return table[codes]


def mode_codes(modes: pd.Series) -> NDArray:
    """Number of each mode's group in `MODES`; what has a name and is not listed decodes slowly."""
    codes, names = pd.factorize(modes)
    groups = [MODE_GROUP.get(str(name), 1) if name else UNKNOWN_MODE for name in names]
    table = np.array([*groups, UNKNOWN_MODE])
    return table[codes]

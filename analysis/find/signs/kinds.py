"""What kind of sign a report is: a beacon, a weak-signal mode, FT8, voice or Morse."""

from __future__ import annotations

import numpy as np
import pandas as pd

BEACON, WEAK_SIGNAL, FT8, VOICE = SIGNS = ("beacon", "weak signal", "FT8", "voice or CW")
OTHER = "other"
BROADCAST = "FM"  # band on which every transmitter is always on
BEACON_TAIL = r"/B(?:CN)?$"  # a beacon's own suffix (common practice, no source)
MODES = {
    WEAK_SIGNAL: ["WSPR", "FST4W", "FST4", "JT65", "JT65B", "JT9", "Q65", "JT4", "QRA64", "PI4", "OPERA"],
    FT8: ["FT8", "FT4"],
    VOICE: ["SSB", "USB", "LSB", "FM", "AM", "CW"],
}


def kinds(spots: pd.DataFrame, *, beacons: pd.DataFrame | None = None) -> np.ndarray:
    """Kind of each report: one of `SIGNS`, or other.

    Parameters
    ----------
    spots : DataFrame
        `tx_call mode`.
    beacons : DataFrame, optional
        `call …`, beacons by name; calls that end in /B are beacons anyway, whatever the mode.
    """
    mode = spots["mode"].astype("str").str.upper()
    known = [is_beacon(spots, beacons=beacons), *(mode.isin(MODES[sign]).to_numpy() for sign in SIGNS[1:])]
    return np.select(known, SIGNS, OTHER)


def is_beacon(spots: pd.DataFrame, *, beacons: pd.DataFrame | None = None) -> np.ndarray:
    """Which reports are of a beacon, a broadcast being one, too; parameters as for `kinds`."""
    call = spots["tx_call"].astype("str")
    listed = [] if beacons is None else beacons["call"]  # type: ignore[var-annotated]
    broadcast = spots["band"].astype("str").eq(BROADCAST) if "band" in spots else False
    return (call.str.contains(BEACON_TAIL) | call.isin(listed) | broadcast).to_numpy()

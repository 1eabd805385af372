"""Signal strength that may be compared: per watt, and within one receiver.

A decoder reports nothing below its threshold, so that the low end is cut off. Noise and antennas differ
between receivers, so their decibels are never mixed.
"""

from __future__ import annotations

import pandas as pd

from analysis.physics import scatter

FEWEST = 10  # reports of a receiver on a band and in a mode from which it has a usual strength


def at_one_watt(spots: pd.DataFrame) -> pd.Series:
    """Signal-to-noise ratio had the transmitter used 1 W [dB in 2500 Hz]; NaN where either is unknown."""
    return pd.Series(
        scatter.snr_at_one_watt(spots["snr_db"], power_dbm=spots["tx_power_dbm"]), index=spots.index
    )


def against_own_median(spots: pd.DataFrame) -> pd.Series:
    """Decibels above the receiver's usual report on the band and in the mode.

    The only form in which reports of several receivers may stand side by side. NaN where the receiver
    has fewer than `FEWEST` reports to judge by.
    """
    groups = spots.groupby(["rx_call", "band", "mode"], observed=True)["snr_db"]
    usual = groups.transform("median").where(groups.transform("count") >= FEWEST)
    return (spots["snr_db"] - usual).astype("float64")

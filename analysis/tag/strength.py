"""Signal strength that may be compared: per watt, within one receiver, and with what was not heard counted.

A decoder reports nothing below its threshold, so that the mean of what it does report says more about
the threshold than about the signal. Medians with the silent slots counted, and the share of slots with
a signal, stay honest. Noise and antennas differ between receivers, so their decibels are never mixed.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from analysis.physics import scatter

# Weakest signal that a mode decodes half of the time [dB in 2500 Hz]. FT8 and WSPR after published
# sensitivity figures; the others from memory, to be believed to 2 dB.
THRESHOLD_DB = {
    "WSPR": -28.0,
    "JT9": -27.0,
    "JT65": -25.0,
    "FT8": -21.0,
    "FT4": -17.5,
    "MSK144": -8.0,
}
FEWEST = 10  # reports of a receiver on a band and in a mode from which it has a usual strength


def at_one_watt(spots: pd.DataFrame) -> pd.Series:
    """Signal-to-noise ratio had the transmitter used 1 W [dB in 2500 Hz]; NaN where either is unknown."""
    return pd.Series(
        scatter.snr_at_one_watt(spots["snr_db"], power_dbm=spots["tx_power_dbm"]), index=spots.index
    )


def above_threshold(spots: pd.DataFrame) -> pd.Series:
    """Decibels above the weakest signal that the mode decodes; NaN for modes without a known threshold."""
    threshold = spots["mode"].astype("object").map(THRESHOLD_DB).astype("float64")
    return spots["snr_db"].astype("float64") - threshold


def against_own_median(spots: pd.DataFrame) -> pd.Series:
    """Decibels above the receiver's usual report on the band and in the mode.

    The only form in which reports of several receivers may stand side by side. NaN where the receiver
    has fewer than `FEWEST` reports to judge by.
    """
    groups = spots.groupby(["rx_call", "band", "mode"], observed=True)["snr_db"]
    usual = groups.transform("median").where(groups.transform("count") >= FEWEST)
    return (spots["snr_db"] - usual).astype("float64")


def median_with_silence(snr_db: ArrayLike, *, n_slots: int) -> float:
    """Median over all slots listened to, the silent ones counted as weaker than anything heard.

    Parameters
    ----------
    snr_db : array_like
        One report for each slot with a signal [dB].
    n_slots : int
        Slots listened to, with and without a signal.

    Returns
    -------
    float
        The median [dB]; -inf, that is "below the threshold", where more than half were silent; NaN
        where nobody listened.

    Raises
    ------
    ValueError
        If there are more reports than slots.
    """
    heard = np.sort(np.asarray(snr_db, float))
    if len(heard) > n_slots:
        raise ValueError(f"{len(heard)} reports in {n_slots} slots: count one report for each slot")
    if n_slots == 0:
        return float("nan")
    ranked = np.r_[np.full(n_slots - len(heard), -np.inf), heard]
    low, high = ranked[(n_slots - 1) // 2], ranked[n_slots // 2]
    return float(low) if np.isinf(low) else float((low + high) / 2)

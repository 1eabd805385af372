"""Strength per watt, and within a receiver."""

import numpy as np
import pandas as pd
import pytest

from analysis.gather import spots
from analysis.tag import strength


def reports(snr, *, rx="Q1ABC", mode="FT8", power=np.nan):
    """Spots of one receiver."""
    rows = {"time": pd.Timestamp("2024-06-10", tz="UTC"), "snr_db": snr, "rx_call": rx, "mode": mode}
    return spots.as_spots(pd.DataFrame(rows).assign(band="6m", tx_power_dbm=power))


@pytest.mark.definition
def test_at_one_watt():
    """5 W is 7 dB more than 1 W; without a power there is no figure."""
    # Definition: SNR + 30 - P[dBm]
    assert strength.at_one_watt(reports([-15.0], power=37.0)).tolist() == [-22.0]
    assert strength.at_one_watt(reports([-15.0])).isna().all()


def test_receivers_are_never_mixed():
    """A deaf and a keen receiver that hear the same change show the same change."""
    change = np.r_[np.zeros(15), np.full(5, 8.0)]
    both = pd.concat([reports(change - 18, rx="Q1ABC"), reports(change - 4, rx="Q2ABC")], ignore_index=True)
    relative = strength.against_own_median(both)
    assert relative[:20].tolist() == relative[20:].tolist() == change.tolist()


def test_few_reports_have_no_median():
    """Nine reports are not enough to know what is usual."""
    assert strength.against_own_median(reports(np.zeros(9))).isna().all()
    assert strength.against_own_median(reports(np.zeros(10))).notna().all()

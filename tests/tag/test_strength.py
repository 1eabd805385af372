"""Strength per watt, within a receiver, with silence counted."""

import numpy as np
import pandas as pd
import pytest

from analysis.gather import spots
from analysis.tag import strength


def reports(snr, *, rx="Q1ABC", mode="FT8", power=np.nan):
    """Spots of one receiver."""
    rows = {"time": pd.Timestamp("2024-06-10", tz="UTC"), "snr_db": snr, "rx_call": rx, "mode": mode}
    return spots.as_spots(pd.DataFrame(rows).assign(band="6m", tx_power_dbm=power))


@pytest.mark.outside
def test_at_one_watt():
    """5 W is 7 dB more than 1 W; without a power there is no figure."""
    # Definition: SNR + 30 - P[dBm]
    assert strength.at_one_watt(reports([-15.0], power=37.0)).tolist() == [-22.0]
    assert strength.at_one_watt(reports([-15.0])).isna().all()


@pytest.mark.outside
def test_above_threshold():
    """An FT8 report of -15 dB is 6 dB above the mode's threshold; voice has none."""
    # Published FT8 sensitivity of -21 dB in 2500 Hz
    assert strength.above_threshold(reports([-15.0])).tolist() == [6.0]
    assert strength.above_threshold(reports([-15.0], mode="SSB")).isna().all()


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


def test_median_with_silence():
    """Silence counts as weaker than anything heard, and the mean of what is heard would mislead."""
    assert strength.median_with_silence([-10, -12, -8], n_slots=3) == -10
    assert strength.median_with_silence([-10, -12, -8, -6], n_slots=4) == -9
    assert strength.median_with_silence([-10, -12, -8], n_slots=4) == -11
    assert strength.median_with_silence([-10, -12, -8], n_slots=7) == -np.inf
    assert strength.median_with_silence([-10, -12], n_slots=4) == -np.inf
    assert np.isnan(strength.median_with_silence([], n_slots=0))
    with pytest.raises(ValueError, match="3 reports in 2 slots"):
        strength.median_with_silence([1, 2, 3], n_slots=2)


def test_censored_median_is_right_where_the_mean_is_not():
    """Of a fading signal cut off at the threshold the median is kept, the mean is not."""
    rng = np.random.default_rng(1)
    signal = rng.normal(-18, 5, 4001)
    heard = signal[signal >= -21]
    assert strength.median_with_silence(heard, n_slots=4001) == pytest.approx(np.median(signal))
    assert heard.mean() - signal.mean() > 2

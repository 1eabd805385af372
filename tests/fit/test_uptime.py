"""Not heard is told from off."""

import numpy as np
import pandas as pd

from analysis.fit.signs.uptime import spells_off, uptime
from tests.fit import simulate_signs


def test_uptime_lies_in_its_interval():
    """Of twenty simulated keepers' years, at least sixteen are within the 90 % interval."""
    hits = 0
    for seed in range(20):
        on, heard = simulate_signs.keepers_year(np.random.default_rng(seed))
        found = uptime(heard)
        hits += found.low <= on[heard.notna().any(axis=1)].mean() <= found.high
    assert hits >= 16


def test_a_silent_fortnight_is_off():
    """Two regulars that hear it nine days in ten, and hear nothing for two weeks."""
    rng = np.random.default_rng(1)
    days = pd.date_range("2024-05-01", periods=120, freq="D", tz="UTC")
    heard = pd.DataFrame((rng.random((120, 2)) < 0.9).astype(float), index=days)
    heard.iloc[50:64] = 0.0
    off = spells_off(uptime(heard).on)
    assert len(off) == 1
    assert (off["first"].iloc[0], off["days"].iloc[0]) == (days[50], 14)
    # The same fortnight with nobody there says nothing: it was on before and after.
    heard.iloc[50:64] = np.nan
    assert uptime(heard).on.iloc[50:64].between(0.4, 0.999).all()


def test_nobody_regular_is_told_so():
    """Without regulars, or over a few days, there is a reason and no number."""
    assert "nobody hears it regularly" in uptime(pd.DataFrame()).reason
    few = pd.DataFrame({"Q1RX": [1.0] * 20})
    assert "20 days only" in uptime(few).reason
    assert np.isnan(uptime(few).share)

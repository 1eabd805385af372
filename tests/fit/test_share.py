"""A share with a range that knows how half-hours hang together."""

import numpy as np
import pandas as pd
import pytest

from analysis.fit.share import share_open


def asked(seen, *, watched=1, per_day=4):
    """So many half-hours from the evening of each day."""
    start = [
        pd.Timestamp("2025-06-01T18:00Z") + pd.Timedelta(days=i // per_day, minutes=30 * (i % per_day))
        for i in range(len(seen))
    ]
    return pd.DataFrame({"start": start, "watched": watched, "seen": seen})


def test_nobody_listening_is_no_zero():
    """No number, and the reason in words."""
    found = share_open(asked([0] * 40, watched=0))
    assert found.verdict == "refuse"
    assert np.isnan(found.value)
    assert "nobody is known to have listened" in found.reason


def test_half_hours_of_a_day_count_together():
    """The same ten open half-hours say less when they fell on three days than when each had its own."""
    apart = share_open(asked([1, 0, 0, 0] * 10 + [0, 0, 0, 0] * 20))
    together = share_open(asked([1, 1, 1, 1] * 2 + [1, 1, 0, 0] + [0, 0, 0, 0] * 27))
    assert apart.value == together.value == pytest.approx(10 / 120)
    assert together.high - together.low > 1.3 * (apart.high - apart.low)


@pytest.mark.outside
def test_none_open_is_bounded_by_days():
    """Ten evenings without anything: the upper end is that of ten trials."""
    found = share_open(asked([0] * 40))
    # Brown, Cai and DasGupta 2001, Jeffreys: 95 % point of Beta(1/2, 10 + 1/2)
    assert found.high == pytest.approx(0.1708, abs=5e-5)
    assert found.n == 40


def test_unwatched_half_hours_do_not_dilute():
    """What nobody watched is neither open nor closed."""
    few = share_open(asked([1, 0, 0, 0] * 10))
    diluted = pd.concat([asked([1, 0, 0, 0] * 10), asked([0] * 400, watched=0)])
    assert share_open(diluted).value == few.value == 0.25


def test_few_days_are_provisional():
    """Below five days the range is called provisional; from five on it is not."""
    assert share_open(asked([1, 0, 0, 0] * 4)).verdict == "provisional"
    assert share_open(asked([1, 0, 0, 0] * 5)).verdict == "ok"


def test_a_night_is_one_day():
    """From evening to morning the date changes, the night does not."""
    start = pd.date_range("2025-09-01T22:00Z", periods=8, freq="30min")
    assert "on 1 days or nights" in share_open(pd.DataFrame({"start": start, "watched": 1, "seen": 0})).reason

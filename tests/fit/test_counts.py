"""Counting into classes loses no half-hour and finds the hemisphere by itself."""

import numpy as np
import pandas as pd
import pytest

from analysis.fit.model.counts import block_centre, count
from tests.fit.make_series import found


def test_every_half_hour_is_counted_once():
    """Classes and looks add up to the monitored half-hours, coverage to all of them."""
    cells = found("es6").cells
    counts = count(cells)
    listened = cells["n_listening"] > 0
    assert counts.classes["bins"].sum() == counts.looks["bins"].sum() == listened.sum()
    assert counts.classes["open_bins"].sum() == (listened & (cells["n_detected"] > 0)).sum()
    assert counts.classes["slots"].sum() == cells["n_listening"].sum()
    assert counts.by_hour["bins"].sum() == len(cells)
    assert counts.by_hour["monitored"].sum() == listened.sum()


def test_block_centre_is_the_middle_of_five_days():
    """Days -183 to -179 are the first block."""
    assert block_centre(np.array([0])) == [-181]


@pytest.mark.parametrize(("solstice", "day_of_year"), [("2023-06-21", 172), ("2023-12-21", 355)])
def test_season_day_zero_is_found_in_the_calendar(solstice, day_of_year):
    """North and south are told apart by the cells, not by a switch."""
    day = np.arange(-150, 150)
    start = pd.Series(pd.Timestamp(solstice, tz="UTC") + pd.to_timedelta(day, unit="D"))
    cells = pd.DataFrame({"start": start, "season": 2023, "season_day": day, "hour": 12.25})
    cells = cells.assign(n_listening=3, n_detected=0)
    assert count(cells).season_start == pytest.approx(day_of_year, abs=0.6)

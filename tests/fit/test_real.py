"""The fits against a real series of 48 years: hourly foEs at Kokubunji (35.7 N), public ionosonde data."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from analysis.find.days import cell_days
from analysis.fit.compare import predictive_range, spread_ratio
from analysis.fit.peaks import hour_peaks, season_dates
from analysis.fit.season import seasons_table
from analysis.fit.winter import winter_rise
from tests.fit.real_hours import ionosonde_series

pytestmark = pytest.mark.outside
MAY_TO_AUGUST = (-51, 71)


@pytest.fixture
def summers(real_inputs):
    """Opening days and days of each May to August."""
    days = cell_days(ionosonde_series(real_inputs).cells)
    days = days[days["listened"]]
    return days[days["season_day"].between(*MAY_TO_AUGUST)].groupby("season")["open"].agg(["sum", "size"])


def test_season_and_hours(real_inputs):
    """Season peak and both daily maxima fall where the series has them."""
    fit = ionosonde_series(real_inputs).fit
    # Kokubunji foEs 1958-2005, 31-day means of days with foEs >= 9.5 MHz: peak on day 178 (177 to 180)
    assert season_dates(fit)["season peak"].value == pytest.approx(178, abs=3)
    peaks = hour_peaks(fit, mechanism="ES", axis="solar")
    # the same series by local hour: maxima 09-11 and 17-19
    assert 9 <= peaks["morning peak"].value <= 11.5
    assert 17 <= peaks["evening peak"].value <= 19.5


def test_winter_rise(real_inputs):
    """December and January have more opening days than late February."""
    # Kokubunji foEs 1958-2005: a small winter rise above the late-February minimum
    rise = winter_rise(ionosonde_series(real_inputs))
    assert rise.verdict == "found"
    assert rise.low > 1


def test_summers_differ_more_than_chance(summers):
    """Opening days from May to August, and their spread against independent days."""
    # Kokubunji foEs 1958-2005: 71 days a year with a standard deviation of 10, about twice binomial
    assert summers["sum"].mean() == pytest.approx(71, abs=2)
    assert summers["sum"].std() == pytest.approx(10, abs=0.5)
    ratio = spread_ratio(summers["sum"].to_numpy(), summers["size"].to_numpy())
    assert 1.6 <= ratio.value <= 2.3
    assert ratio.low > 1


@pytest.mark.parametrize("behind", [5, 47])
def test_a_summer_left_out_falls_into_its_range(summers, behind):
    """The 90 % range from all other summers, or from the five nearest, holds nine in ten."""
    held = []
    for season, row in summers.iterrows():
        others = summers.drop(season)
        others = others.loc[others.index[np.argsort(np.abs(others.index - season))[:behind]]]
        low, high = predictive_range(others["sum"].to_numpy(), others["size"].to_numpy(), of_days=row["size"])
        held.append(low <= row["sum"] <= high)
    # nominal 0.90; the bar allows for 48 seasons
    assert 0.83 <= np.mean(held) <= 0.97


def test_seasons_out_of_the_common_are_told(real_inputs):
    """Eight years at a time, one year in five or so is called above or below normal, not one in a hundred."""
    verdicts = [
        seasons_table([replace(one, cells=one.cells[one.cells["season"].isin(range(first, first + 8))])])[
            "verdict"
        ]
        for first in (1958, 1974, 1982)
        for one in [ionosonde_series(real_inputs)]
    ]
    unusual = pd.concat(verdicts).isin(["above", "below"])
    # nominal 0.20, for 24 years
    assert 0.08 <= unusual.mean() <= 0.33

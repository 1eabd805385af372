"""Seasons compared: predictive ranges, dispersion, months held to one error rate."""

import numpy as np
import pandas as pd
import pytest

from analysis.fit.compare import (
    compare_seasons,
    predictive_range,
    spread_ratio,
)


def test_predictive_range_stays_within_the_days_there_are():
    """Nine days in ten open: the range ends below the number of days."""
    low, high = predictive_range(np.array([110, 112, 108]), np.full(3, 123), of_days=123)
    assert 0 < low < 108
    assert 112 < high < 123


def test_predictive_range_holds_nine_seasons_in_ten():
    """Seasons drawn with a log-odds spread of 0.45: five foretell the sixth 86 to 97 times in 100."""
    rng = np.random.default_rng(4)
    held = []
    for _ in range(400):
        chance = 1 / (1 + np.exp(1.0 - 0.45 * rng.standard_normal(6)))
        days = rng.binomial(120, chance)
        low, high = predictive_range(days[:5], np.full(5, 120), of_days=120)
        held.append(low <= days[5] <= high)
    assert 0.86 <= np.mean(held) <= 0.97


def test_spread_of_independent_days_is_about_one():
    """Binomial seasons give a ratio near one; doubling their distance from the mean doubles it."""
    rng = np.random.default_rng(5)
    days = rng.binomial(100, 0.4, 60)
    one = spread_ratio(days, np.full(60, 100))
    assert one.low < 1 < one.high
    two = spread_ratio(40 + 2.0 * (days - days.mean()), np.full(60, 100))
    assert two.value == pytest.approx(2 * one.value, rel=0.02)
    assert spread_ratio(np.array([1, 2]), np.array([9, 9])).verdict == "refuse"


def two_seasons(shares, *, seed=1):
    """Five-day blocks of two seasons whose half-hours are open in runs, with so large shares."""
    rng = np.random.default_rng(seed)
    share = np.repeat(shares, 73)
    # Within a block nearly all half-hours are alike: openings come in runs.
    chance = rng.beta(share * 3, (1 - share) * 3)
    table = pd.DataFrame({"season": np.repeat([2020, 2021], 73), "block": np.tile(np.arange(73), 2)})
    table = table.assign(season_day=5 * table["block"] - 183, n_listening=3, chance=chance)
    table = table.loc[table.index.repeat(240)]
    return table.assign(n_detected=(rng.random(len(table)) < table["chance"]).astype("int64"))


def test_equal_seasons_differ_in_no_month():
    """Thirty pairs of equal seasons: a month is called different in at most three."""
    called = [
        (
            compare_seasons(two_seasons((0.2, 0.2), seed=seed), first=2020, second=2021)["verdict"]
            != "cannot tell"
        ).any()
        for seed in range(30)
    ]
    assert np.sum(called) <= 3


def test_a_much_poorer_season_is_found():
    """A season open a tenth as often has fewer openings in some months, and more in none."""
    table = compare_seasons(two_seasons((0.6, 0.06)), first=2020, second=2021)
    assert (table["verdict"] == "fewer").any()
    assert not (table["verdict"] == "more").any()
    assert ((table["p_holm"] >= table["p"]) & (table["p_holm"] <= 1)).all()

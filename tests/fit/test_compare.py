"""Seasons compared: predictive ranges, dispersion, trend, months held to one error rate."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from analysis.fit.compare import (
    block_dispersion,
    comparable_days,
    compare_seasons,
    holm,
    index_trend,
    predictive_range,
    season_days,
    season_index,
    spread_ratio,
)
from analysis.fit.estimate import Series
from analysis.fit.season import seasons_table
from tests.fit.make_series import found, series


@pytest.mark.outside
def test_holm_as_published():
    """Each p value is multiplied by how many are not smaller, never decreasing."""
    # Holm 1979, Scand. J. Statist. 6, 65: 0.01 x 4; 0.02 x 3; 0.03 x 2; 0.04 x 1 is raised to its predecessor
    np.testing.assert_allclose(holm(np.array([0.03, 0.01, 0.04, 0.02])), [0.06, 0.04, 0.06, 0.06])
    assert holm(np.array([])).size == 0


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


def test_days_compared_need_a_quarter_of_the_day():
    """Eleven half-hours of listening are too few to compare, twelve do; a lucky short look does not count."""
    half = np.tile(np.arange(48), 3)
    day = np.repeat([0, 1, 2], 48)
    listening = half < np.repeat([11, 12, 3], 48)
    cells = pd.DataFrame({"season": 2020, "season_day": day, "n_listening": listening * 3})
    cells["n_detected"] = ((day == 2) & (half == 0)).astype(int)
    assert season_days(cells)[["season_day", "open"]].to_numpy().tolist() == [[0, 0], [1, 0], [2, 1]]
    assert comparable_days(cells)["season_day"].tolist() == [1]


def test_season_index_follows_the_truth():
    """The index of each simulated season goes with the openings that really happened."""
    data = found("es6", seasons=8)
    truth = data.truth.groupby("season")["open"].mean().to_numpy()
    index, error = season_index(series("es6", seasons=8).fit)
    assert np.corrcoef(np.log(index), np.log(truth))[0, 1] >= 0.93
    assert (error > 0).all()


def test_openings_come_in_runs():
    """Five-day totals of simulated sporadic E spread more than independent half-hours would."""
    assert block_dispersion(series("es6").fit) > 1.5


def test_trend_needs_four_seasons():
    """Three seasons give words; eight give a slope whose interval holds that of the truth."""
    assert index_trend(series("es6", seasons=3).fit).verdict == "refuse"
    truth = np.log(found("es6", seasons=8).truth.groupby("season")["open"].mean().to_numpy())
    x = np.arange(8) - 3.5
    trend = index_trend(series("es6", seasons=8).fit)
    assert trend.low <= np.expm1(x @ truth / (x @ x)) <= trend.high


def test_trend_is_the_slope_of_the_season_effects():
    """Effects that grow by 0.1 a year in the log odds of a rare event are a trend of nearly 10 % a year."""
    fit = series("es6", seasons=8).fit
    coef = fit.coef.copy()
    coef[-10:-2] = 0.1 * np.arange(8)
    trend = index_trend(replace(fit, coef=coef))
    assert trend.value == pytest.approx(0.1, abs=0.01)
    assert trend.high - trend.low < 0.01


def test_a_poor_season_is_below_normal():
    """Take away nine tenths of the openings of one season: below; the others are not called below."""
    cells = found("es6", seasons=8).cells
    year = int(cells["season"].max())
    loser = (cells["season"] == year) & (cells["season_day"] % 10 != 0)
    poor = Series(
        "6m", "ES", "all", "solar", "A", cells.assign(n_detected=cells["n_detected"].where(~loser, 0))
    )
    table = seasons_table([poor]).set_index("season")
    assert table.loc[year, "verdict"] in ("below", "provisional")
    assert table.loc[year, "index"] < 0.4


def crowded(last_days, *, seasons=6, half_hours=120):
    """Seasons of 60 opening days with two half-hours each; the last has as many half-hours on fewer days."""
    frames = []
    for season in range(2000, 2000 + seasons):
        days = last_days if season == 1999 + seasons else 60
        day, half = (x.ravel() for x in np.meshgrid(np.arange(-183, 183), np.arange(48), indexing="ij"))
        opened = np.isin(day, np.arange(days) - days // 2) & (
            np.abs(half - 24) < half_hours // days / 2 + 0.5
        )
        start = pd.Timestamp(season, 6, 21, tz="UTC") + pd.to_timedelta(day * 24 + half / 2, unit="h")
        frame = pd.DataFrame({"start": start, "season": season, "season_day": day, "hour": half / 2 + 0.25})
        frames.append(frame.assign(n_listening=3, n_detected=2 * opened))
    return pd.concat(frames, ignore_index=True)


@pytest.mark.parametrize(("tier", "verdict"), [("A", "below"), ("B", "normal")])
def test_without_monitors_the_index_is_compared_not_the_days(tier, verdict):
    """Opening days also count how many people were on; so without monitors the half-hours decide."""
    table = seasons_table([Series("6m", "ES", "all", "solar", tier, crowded(15))])
    assert table["opening_days"].tolist() == [60] * 5 + [15]
    assert table["verdict"].iloc[-1] == verdict


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

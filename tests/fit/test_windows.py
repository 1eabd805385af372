"""Windows: chances equal those of simulated seasons, dates are right, refusals say why."""

import numpy as np
import pandas as pd
import pytest

from analysis.fit.ahead.big import big_days
from analysis.fit.ahead.daymodel import AGE, MEMORY, ORDER, fit_days, yearly_design
from analysis.fit.ahead.days import DaySeries
from analysis.fit.ahead.next_season import is_southern
from analysis.fit.ahead.windows import (
    COLUMNS,
    SATURATED,
    Drawing,
    rank_windows,
    running,
    telling_count,
    window_chance,
    windows_table,
)
from analysis.fit.assess import Verdict
from analysis.fit.model.harmonics import SEASON_DAYS
from tests.fit.make_days import day_table

OK = Verdict("ok", "A", (), ())
QUICK = Drawing(draws=2)


@pytest.fixture(scope="module")
def model():
    """A fitted model with a season, memory and season effects."""
    return fit_days(day_table(seasons=6, memory=1.0, seed=4))


def played(model, *, seasons, seed):
    """Opening days of seasons drawn by lot, array (season days, seasons), the year before as run-up."""
    rng = np.random.default_rng(seed)
    width = 2 * ORDER + 1
    yearly = yearly_design(SEASON_DAYS) @ model.coef[:width]
    step = np.r_[model.coef[width : width + len(MEMORY)], 0.0][AGE]
    effect = rng.normal(0, model.season_sd, seasons)
    since = np.full(seasons, len(AGE) - 1)
    opened = np.zeros((2 * len(SEASON_DAYS), seasons), bool)
    for day in range(len(opened)):
        logit = yearly[day % len(SEASON_DAYS)] + step[since] + effect
        opened[day] = rng.random(seasons) < 1 / (1 + np.exp(-logit))
        since = np.where(opened[day], 0, np.minimum(since + 1, len(AGE) - 1))
    return opened


@pytest.mark.parametrize(("length", "at_least"), [(3, 1), (10, 1), (10, 4), (21, 9)])
def test_chances_equal_simulated_seasons(model, length, at_least):
    """What is worked out exactly is what 4000 seasons drawn by lot show."""
    opened = played(model, seasons=4000, seed=11)
    found = window_chance(model, length=length, at_least=at_least, drawing=QUICK)
    for start in (0, 100, 150, 182, 230):
        n = opened[365 + start : 365 + start + length].sum(axis=0) if start + length <= 365 else None
        assert found["chance"].iloc[start] == pytest.approx((n >= at_least).mean(), abs=0.03)
        assert found["expected_days"].iloc[start] == pytest.approx(n.mean(), abs=0.15)


def test_more_days_never_hurt(model):
    """A longer window has at least the chance of a shorter one, and k days at most that of k - 1."""
    chances = [window_chance(model, length=length, drawing=QUICK)["chance"] for length in (3, 10, 21)]
    assert (np.diff(chances, axis=0) >= -1e-9).all()
    counts = [window_chance(model, length=10, at_least=k, drawing=QUICK)["chance"] for k in (1, 2, 5)]
    assert (np.diff(counts, axis=0) <= 1e-9).all()


def test_interval_holds_the_chance_and_narrows(model):
    """Low, chance and high stand in order; eight seasons say more than two."""
    found = window_chance(model, length=10)
    assert (found["low"] <= found["chance"]).all()
    assert (found["chance"] <= found["high"]).all()
    few = window_chance(fit_days(day_table(seasons=2, seed=4)), length=10)
    many = window_chance(fit_days(day_table(seasons=8, seed=4)), length=10)
    edge = found["season_day"].isin([-60, 60])
    width = [(one["high"] - one["low"])[edge].mean() for one in (few, many)]
    assert width[0] > 1.2 * width[1]


def test_rank_by_hand():
    """Two draws: the second window is always best, the first loses 5 points once and 20 once."""
    drawn = np.array([[0.75, 0.80, 0.1], [0.60, 0.80, 0.1]])
    assert rank_windows(drawn).tolist() == [0.5, 1.0, 0.0]
    # Where chances tie, a window with four fifths of the open hours is not near-best.
    assert rank_windows(np.full((2, 3), 0.97), hours=np.array([[10.0, 9.5, 8.0]] * 2)).tolist() == [1, 1, 0]


@pytest.mark.parametrize("base", [20.0, -20.0])
def test_chances_stay_chances(base):
    """Whether every day is open or none, no number leaves 0 to 1."""
    found = window_chance(fit_days(day_table(seasons=2, base=base, swing=0.0)), length=10)
    numbers = found[["low", "chance", "high", "share"]].to_numpy()
    assert ((numbers >= 0) & (numbers <= 1)).all()


def test_running_goes_round_the_year():
    """Sums of two go on from the last day to the first."""
    assert running(np.array([1.0, 2.0, 3.0]), 2).tolist() == [3.0, 5.0, 4.0]
    assert running(np.array([1.0, 2.0, 3.0]), 1).tolist() == [1.0, 2.0, 3.0]


def test_table_of_a_series():
    """One row per day of next season, with everything that a plan needs."""
    days = day_table(seasons=4, first=2020, seed=2)
    table = windows_table([DaySeries("6m", "ES", "all", days, OK)], length=10)
    assert list(table.columns) == COLUMNS
    assert len(table) == 365
    assert set(table["seasons"]) == {4}
    # Solstice dates: US Naval Observatory, "Earth's Seasons", 2024 June 20.
    assert table["start"].iloc[182] == pd.Timestamp("2024-06-20")
    best = table.loc[table["expected_days"].idxmax(), "start"]
    assert pd.Timestamp("2024-05-25") <= best <= pd.Timestamp("2024-07-05")
    assert table.loc[table["near_best"], "chance"].min() > table["chance"].max() - 0.25
    assert not table["near_best"].iloc[[0, -1]].any()


def test_count_tells_windows_apart(model):
    """The fewest opening days whose best window is not certain; no more than the window has days."""
    best = {
        k: window_chance(model, length=10, at_least=k, drawing=QUICK)["chance"].max() for k in (1, 2, 4, 6, 9)
    }
    found = telling_count(model, length=10)
    assert best[found] < SATURATED
    assert all(best[k] >= SATURATED for k in best if k < found)
    always = fit_days(day_table(seasons=4, base=8.0))
    assert telling_count(always, length=3) == 2
    table = windows_table([DaySeries("6m", "ES", "all", day_table(seasons=6, memory=1.0, seed=4), OK)])
    assert set(table["at_least"]) == {found}


def test_southern_season_is_mirrored():
    """The same data in the south give the same chances half a year later, without a switch."""
    north, south = (day_table(seasons=4, first=2020, lat=lat, seed=2) for lat in (45.0, -45.0))
    assert not is_southern(north)
    assert is_southern(south)
    table = windows_table([DaySeries("6m", "ES", "all", south, OK)])
    # Solstice dates: US Naval Observatory, "Earth's Seasons", 2024 December 21.
    assert table["start"].iloc[182] == pd.Timestamp("2024-12-21")
    assert table.loc[table["expected_days"].idxmax(), "start"].month in (11, 12)


def test_refused_series_has_words_and_no_number():
    """A refused series keeps one row with blank numbers and its reason."""
    verdict = Verdict("refuse", "C", ("contacts alone",), ("declare the hours you listened",))
    table = windows_table([DaySeries("6m", "ES", "all", day_table(seasons=1), verdict)])
    assert len(table) == 1
    assert table[["start", "chance", "low", "high", "expected_days"]].isna().all(axis=None)
    assert "declare the hours" in table["reason"].iloc[0]
    assert not table["near_best"].iloc[0]
    assert windows_table([]).empty


def test_unheard_part_of_the_season_is_blank():
    """Windows that reach into months nobody ever listened in have no number and say why."""
    days = day_table(seasons=4, first=2020, seed=2)
    days.loc[~days["season_day"].between(-90, 90), ["monitored", "open"]] = False
    table = windows_table([DaySeries("6m", "ES", "all", days, OK)], length=10).set_index(SEASON_DAYS)
    told = table["chance"].notna()
    assert (table.index[told].min(), table.index[told].max()) == (-90, 81)
    assert table.loc[~told, "expected_hours"].isna().all()
    assert set(table.loc[~told, "reason"]) == {"nobody listened at this time of year"}
    assert not table.loc[~told, "near_best"].any()


def test_hours_tell_weeks_apart_where_chances_saturate():
    """A season all but certain for two months: near-best first days fill less than half of them."""
    days = day_table(seasons=6, swing=7.0, seed=3)
    days["open_hours"] *= np.exp(-0.5 * (days["season_day"] / 25.0) ** 2)
    table = windows_table([DaySeries("6m", "ES", "all", days, OK)], at_least=1)
    certain = (table["chance"] > 0.95).sum()
    assert certain > 45
    assert 3 <= table["near_best"].sum() < certain / 2
    near = table[table["near_best"]]
    assert near["hours_lost"].max() < 0.2
    assert (near["hours_low"] <= near["expected_hours"]).all()
    assert (near["expected_hours"] <= near["hours_high"]).all()


def test_chances_told_are_the_checked_ones():
    """Windows carry what the check on left-out seasons found, in words and as skill."""
    table = windows_table([DaySeries("6m", "ES", "all", day_table(seasons=6, seed=3), OK)])
    assert table["check"].iloc[0].startswith("checked on 6 left-out seasons")
    assert table["skill_low"].iloc[0] < table["skill"].iloc[0] < table["skill_high"].iloc[0]
    first = windows_table([DaySeries("6m", "ES", "all", day_table(seasons=1, seed=3), OK)])
    assert first["check"].iloc[0].startswith("not checked")
    assert first["skill"].isna().all()


def test_a_first_season_says_what_it_leans_on():
    """One season shaped as usual: the reason names the published maps; six seasons stand by themselves."""
    for seasons, leaning in ((1, True), (6, False)):
        days = day_table(seasons=seasons, swing=4.0, seed=2)
        table = windows_table([DaySeries("6m", "ES", "all", days, OK)])
        assert table["reason"].str.contains("usual course of sporadic E").all() == leaning


def test_great_days_tell_weeks_apart():
    """Long reach only about midsummer: the chance of a great day is told, smaller than of any, and falls to the shoulders."""
    days = day_table(seasons=6, swing=6.0, seed=3)
    days["max_km"] = 800 + 1600 * np.exp(-0.5 * (days["season_day"] / 20) ** 2)
    table = windows_table([DaySeries("6m", "ES", "all", days, OK)], at_least=1).set_index(SEASON_DAYS)
    assert (table["big_chance"] < table["chance"]).all()
    assert table.loc[-5, "big_chance"] > 3 * table.loc[-45, "big_chance"]
    assert (table["big_low"] <= table["big_chance"]).all()
    assert big_days(days)["open"].sum() == pytest.approx(0.1 * days["open"].sum(), rel=0.3)
    unknown = windows_table([DaySeries("6m", "ES", "all", days.drop(columns="max_km"), OK)])
    assert unknown["big_chance"].isna().all()

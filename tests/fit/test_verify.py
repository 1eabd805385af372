"""Back-tests use no day of the season they forecast; scores and their parts are what the books say."""

import numpy as np
import pandas as pd
import pytest

from analysis.fit.ahead.verify import back_test, reliability, scores
from tests.fit.make_days import day_table
from tests.fit.real_days import ionosonde_days


@pytest.fixture(scope="module")
def forecasts():
    """Leave-one-season-out forecasts of six made-up seasons."""
    return back_test(day_table(seasons=6, seed=8), length=10, counts=(1, 4))


def made(**columns):
    """Forecast table of two seasons out of a few columns."""
    table = pd.DataFrame(columns)
    table = table.assign(at_least=1, season=np.arange(len(table)) % 2, season_day=0)
    for name in ("model", "flat", "calendar"):
        table[name] = table.get(name, 0.5)
        table[f"crps_{name}"] = 1.0
    return table


def test_held_out_season_is_not_used():
    """Changing the outcomes of a season changes none of its forecasts."""
    days = day_table(seasons=4, seed=8)
    other = days.assign(open=np.where(days["season"] == 2020, ~days["open"], days["open"]))
    one, two = (back_test(table).query("season == 2020") for table in (days, other))
    for name in ("model", "flat", "calendar"):
        assert np.allclose(one[name], two[name])
    assert (one["happened"] != two["happened"]).any()


def test_past_only_uses_the_seasons_before():
    """With `train`, later seasons do not matter and the first ones are not forecast."""
    days = day_table(seasons=5, seed=8)
    later = days.assign(open=np.where(days["season"] == 2022, ~days["open"], days["open"]))
    one, two = (back_test(table, train=3) for table in (days, later))
    assert set(one["season"]) == {2021, 2022}
    assert np.allclose(one.query("season == 2021")["model"], two.query("season == 2021")["model"])


def test_calendar_is_a_share_of_the_other_seasons(forecasts):
    """The naive calendar counts, over the five other seasons, how often the same window was good."""
    row = forecasts.query("season == 2020 and season_day == -40 and at_least == 1").iloc[0]
    others = forecasts.query("season != 2020 and season_day == -40 and at_least == 1")
    assert row["calendar"] == pytest.approx(others["happened"].mean())


def test_windows_with_an_unheard_day_are_left_out():
    """One unmonitored day takes ten windows of ten days away."""
    days = day_table(seasons=2, seed=8)
    whole = len(back_test(days))
    days.loc[200, ["monitored", "open"]] = False
    assert len(back_test(days)) == whole - 10


def test_a_stub_at_a_years_end_is_no_season():
    """Ten days of a further season are neither forecast nor learnt from."""
    days = day_table(seasons=5, seed=8)
    stub = days[(days["season"] < 2022) | (days["season_day"] < days["season_day"].min() + 10)]
    assert set(back_test(stub, length=5)["season"]) == {2018, 2019, 2020, 2021}


def test_model_beats_flat_and_calendar(forecasts):
    """On seasons with a clear curve the model is better than the same chance every day and than counting."""
    found = scores(forecasts).set_index(["at_least", "score", "against"])
    assert found.loc[(1, "brier skill", "flat"), "low"] > 0.15
    assert found.loc[(1, "brier skill", "calendar"), "value"] > 0.02
    assert (found["low"] <= found["value"]).all()
    assert (found["value"] <= found["high"]).all()
    assert (found["seasons"] == 6).all()


def test_scores_by_hand():
    """Two windows, chances .8 (came true) and .4 (did not): Brier .1, log .367, skill .6 over one half."""
    found = scores(made(model=[0.8, 0.4], happened=[True, False])).set_index(["score", "against"])["value"]
    # Wilks 2011, equations 8.36 (Brier) and 8.39 (skill): arithmetic by hand.
    assert found[("brier", "")] == pytest.approx((0.04 + 0.16) / 2)
    assert found[("brier skill", "flat")] == pytest.approx(1 - 0.1 / 0.25)
    assert found[("log", "")] == pytest.approx(-(np.log(0.8) + np.log(0.6)) / 2)


def test_crps_by_hand():
    """A forecast that is sure of the right number scores 0; sure and two days off scores 2."""
    from analysis.fit.ahead.verify import _crps

    sure = np.eye(4)[[1, 1]]
    # Wilks 2011, section 8.5.1: the score is the mean absolute error when the forecast is one number.
    assert _crps(sure, pd.Series([1, 3])).tolist() == [0, 2]


def test_reliability_by_hand():
    """Ten windows at .25, of which four came true."""
    found = reliability(made(model=[0.25] * 10, happened=[True] * 4 + [False] * 6))
    assert found[["tenth", "n", "share"]].to_numpy().tolist() == [[2, 10, 0.4]]
    assert found["low"].iloc[0] <= 0.4 <= found["high"].iloc[0]


def test_reliability_counts_every_window(forecasts):
    """Nothing is lost between the tenths; sure chances fall into the last one."""
    found = reliability(forecasts)
    assert found.groupby("at_least")["n"].sum().tolist() == forecasts.groupby("at_least").size().tolist()
    assert reliability(made(model=[1.0, 1.0], happened=[True, True]))["tenth"].tolist() == [9]


def test_one_season_cannot_be_verified():
    """With one season there is nothing to forecast from."""
    assert back_test(day_table(seasons=1)).empty


def test_no_whole_window_gives_empty_tables():
    """Part-time listeners never fill ten days on end: no forecast, and two tables without rows."""
    days = day_table(seasons=3)
    found = back_test(days.assign(monitored=days["season_day"] % 5 > 0))
    assert found.empty
    for table in (scores(found), reliability(found)):
        assert table.empty
        assert {"at_least", "low", "high"} <= set(table.columns)


def test_real_series_is_forecast_with_skill(real_inputs):
    """The sixth year from five, nine times over; the benchmark does all 43 years of the series."""
    days = ionosonde_days(real_inputs)
    found = scores(back_test(days[days["season"].between(1980, 1993)], counts=(1, 4), train=5))
    skill = found.query("score == 'brier skill'").set_index(["at_least", "against"])["value"]
    # Measured for the naive calendar over 43 years by the keepers of the series: 0.42 and 0.74.
    assert skill[(1, "flat")] > 0.42
    assert skill[(4, "flat")] > 0.74
    assert skill[(1, "calendar")] > 0
    assert skill[(4, "calendar")] > 0

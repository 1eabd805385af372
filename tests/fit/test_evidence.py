"""Forecasts and weather of planted worth are told rightly; what shares the season or echoes yesterday is not."""

import numpy as np
import pandas as pd
import pytest

from analysis.find.signs import spread
from analysis.fit.signs import beyond, forecast, weather
from tests.fit import simulate_evidence as simulate


@pytest.fixture(scope="module")
def states():
    """Three seasons of days."""
    return simulate.days(np.random.default_rng(11), seasons=3)


def test_roc_area_is_the_share_of_pairs_ranked_rightly():
    """Against all pairs counted by hand; ties count half."""
    rng = np.random.default_rng(0)
    index, opened = rng.integers(0, 5, 60).astype(float), (rng.random(60) < 0.4).astype(float)
    pairs = index[opened == 1][:, None] - index[opened == 0]
    assert forecast.roc_area(index, opened) == pytest.approx(((pairs > 0) + 0.5 * (pairs == 0)).mean())
    assert np.isnan(forecast.roc_area(index, np.ones(60)))


def scored(states, *kinds):
    """Scores of forecasts of some kinds at leads of 0 and 3 days."""
    rng = np.random.default_rng(12)
    pairs = pd.concat([simulate.forecast_pairs(rng, states, kind=kind) for kind in kinds])
    return forecast.forecast_scores(pairs[pairs["lead_days"].isin([0, 3])]).set_index(
        ["forecast", "lead_days"]
    )


def test_skill_is_told_and_luck_is_not(states):
    """Of three noted forecasts only the one that knows the weather has skill, more of it at short lead."""
    table = scored(states, "skill", "calendar", "echo")
    assert table.loc["skill", "verdict"].eq(forecast.SKILL).all()
    assert table.loc[["calendar", "echo"], "verdict"].eq(forecast.NONE).all()
    assert table.loc["skill", "roc"].is_monotonic_decreasing
    known = table.loc[("skill", 0)]
    assert 0 < known["skill_persistence_low"] < known["skill_persistence"] < known["skill_persistence_high"]
    assert known["hits"] > known["false_alarms"] + 0.3
    # What echoes yesterday looks good to who asks for its discrimination alone.
    assert table.loc[("echo", 0), "roc"] > 0.6


def test_too_few_days_are_refused(states):
    """A fortnight of notes is no score."""
    rng = np.random.default_rng(1)
    pairs = simulate.forecast_pairs(rng, states, kind="skill")
    pairs.loc[pairs.groupby("lead_days").cumcount() > 14, "index"] = np.nan
    table = forecast.forecast_scores(pairs)
    assert table["verdict"].eq("refuse").all()
    assert table["reason"].eq(forecast.FEW).all()


def test_levels_add_up(states):
    """Shares by level rise for a forecast with skill, and every scored day is in one level."""
    rng = np.random.default_rng(2)
    pairs = simulate.forecast_pairs(rng, states, kind="skill")
    pairs = pairs[pairs["lead_days"] == 0]
    levels = forecast.forecast_levels(pairs)
    assert levels["n"].sum() == (pairs["open"].notna() & pairs["index"].notna()).sum()
    assert levels["share"].iloc[-1] > 0.7
    assert levels["share"].iloc[0] < 0.2
    assert (levels["low"] <= levels["share"]).all()
    fine = forecast.forecast_levels(pairs.assign(index=pairs["index"] + rng.random(len(pairs))))
    assert len(fine) == forecast.LEVELS


def test_a_real_weather_link_is_told_and_void_ones_are_not(states):
    """Pressure goes with the days; a slow wanderer, a warm season and rare thunder do not."""
    file = simulate.weather(np.random.default_rng(13), states)
    none = pd.DataFrame(columns=spread.COLUMNS)
    table = weather.weather_table(file, simulate.days_table(states), none)
    openings = table[(table["what"] == weather.OPEN) & (table["mechanism"] == "TR")].set_index("factor")
    assert openings.loc["pressure", "verdict"] == weather.LINK
    assert openings.loc["pressure", "low"] > 2
    assert openings.drop("pressure")["verdict"].eq(weather.NONE).all()
    assert table.loc[table["what"] == weather.SPREAD, "verdict"].eq("refuse").all()


def test_spread_beside_a_front(states):
    """Signals that vary 2 dB more on the day before a front are told so, and those at night."""
    rng = np.random.default_rng(14)
    front = (rng.random(len(states)) < 0.15).astype(float)
    file = pd.DataFrame({"day": states["day"], "warm_front": front})
    base = 3 + rng.normal(0, 0.5, len(states)) + 2 * np.r_[front[1:], 0]
    about = {"band": "2m", "mechanism": "TR", "n_hours": 3}
    parts = [states[["day"]].assign(night=night, spread_db=base + night, **about) for night in (False, True)]
    table = weather.weather_table(file, simulate.days_table(states), pd.concat(parts))
    told = table[(table["what"] == weather.SPREAD) & (table["mechanism"] == "TR")].set_index("factor")
    assert told["verdict"].to_dict() == {
        "warm_front": weather.NONE,
        weather.AHEAD: weather.LINK,
        weather.NIGHT: weather.LINK,
    }
    assert told.loc[weather.AHEAD, "value"] == pytest.approx(2, abs=0.3)
    assert told.loc[weather.NIGHT, "value"] == pytest.approx(1)


def test_spreads_are_taken_within_path_and_hour():
    """Two paths of different strength do not make a spread; three reports of one path and hour do."""
    rows = pd.DataFrame(
        {
            "time": pd.to_datetime(["2024-06-01 22:00", "2024-06-01 22:10", "2024-06-01 22:20"] * 2, utc=True),
            "tx_call": ["Q1A"] * 3 + ["Q1B"] * 3,
            "snr_db": [0.0, 2, 4, -20, -18, -16],
            "rx_call": "Q2A", "band": "2m", "mode": "FT8", "mechanism": "TR", "doubt": "", "mid_lon": 30.0, "sun_elev_deg": -5.0,
        }
    )  # fmt: skip
    found = spread.spreads(rows)
    assert found.iloc[0][["spread_db", "n_hours", "night"]].tolist() == [2.0, 2, True]
    assert found["day"].iloc[0] == pd.Timestamp("2024-06-02")  # past local midnight there
    assert spread.spreads(rows.iloc[:2]).empty


def test_the_design_knows_nothing_of_the_day_itself(states):
    """What stands before the number is known `lag` days before: changing today changes no row up to today's."""
    other = states.copy()
    other.loc[100, "open"] = 1 - np.nan_to_num(other.loc[100, "open"])
    for lag in (1, 3):
        same = np.isclose(
            beyond.design(states, lag=lag)[:, 6:], beyond.design(other, lag=lag)[:, 6:], atol=0.01
        )
        assert same[: 100 + lag].all()

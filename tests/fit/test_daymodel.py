"""The day model finds the curve, the memory and the season effects it was given."""

import numpy as np
import pytest

from analysis.fit.ahead import daymodel
from analysis.fit.ahead.daymodel import (
    MEMORY,
    ORDER,
    draw_coefficients,
    fit_days,
    memory_design,
    open_hours,
    yearly_chance,
    yearly_design,
)
from analysis.fit.ahead.windows import window_chance
from analysis.fit.model.harmonics import SEASON_DAYS
from analysis.fit.nature import USUAL_SEASON
from tests.fit.make_days import day_table

WIDTH = 2 * ORDER + 1


def test_memory_by_hand():
    """One opening on day 0 is remembered for a week, in its class of days back."""
    opened = np.zeros(10)
    opened[0] = 1
    found = memory_design(opened, since=np.arange(10))
    assert found[0].tolist() == [0, 0, 0]
    assert found[1].tolist() == [1, 0, 0]
    assert found[2].tolist() == found[3].tolist() == [0, 1, 0]
    assert found[4].tolist() == found[7].tolist() == [0, 0, 1]
    assert found[8].tolist() == [0, 0, 0]


def test_memory_prefers_the_latest_day():
    """Yesterday hides all that lies before it; a half-known yesterday hides half of it."""
    assert memory_design(np.array([1, 1, 0.0]), since=np.arange(3))[2].tolist() == [1, 0, 0]
    assert memory_design(np.array([1, 0.5, 0.0]), since=np.arange(3))[2].tolist() == [0.5, 0.5, 0]


def test_memory_counts_days_not_rows():
    """Days missing from the table still pass."""
    assert memory_design(np.array([1, 0.0]), since=np.array([0, 5]))[1].tolist() == [0, 0, 1]


def test_memory_is_found():
    """Openings that bring openings give a positive step for yesterday, independent days about none."""
    width = slice(WIDTH, WIDTH + len(MEMORY))
    linked = fit_days(day_table(seasons=8, memory=1.5, year_sd=0.0, seed=3)).coef[width]
    loose = fit_days(day_table(seasons=8, memory=0.0, year_sd=0.0, seed=3)).coef[width]
    assert linked[0] > 1.0
    # Where every other day was heard, an unheard yesterday counts with its chance, not as open or shut.
    whole, thin = (
        fit_days(day_table(seasons=8, memory=1.5, year_sd=0.0, seed=4, monitored=share)).coef[width]
        for share in (1.0, 0.5)
    )
    assert thin[0] == pytest.approx(whole[0], abs=0.45)
    assert abs(loose[0]) < 0.4


def test_season_effects_have_the_right_order():
    """The season with most opening days has the largest effect."""
    days = day_table(seasons=6, year_sd=0.8, seed=5)
    model = fit_days(days)
    totals = days.groupby("season")["open"].sum()
    assert model.seasons == tuple(totals.index)
    assert np.corrcoef(model.coef[-6:], np.log(totals))[0, 1] > 0.95


def test_unmonitored_days_are_not_shut_days():
    """Half the days unheard leave the chances where they were, with wider draws."""
    whole, half = (day_table(seasons=8, monitored=share, seed=7) for share in (1.0, 0.5))
    peak = [window_chance(fit_days(days), length=5).set_index("season_day").loc[0] for days in (whole, half)]
    assert peak[1]["chance"] == pytest.approx(peak[0]["chance"], abs=0.08)
    assert (
        peak[1]["expected_high"] - peak[1]["expected_low"]
        > peak[0]["expected_high"] - peak[0]["expected_low"]
    )


def test_few_winter_openings_make_no_pattern():
    """Three openings in one week of winter, in one season, do not lift that week above all others for good."""
    days = day_table(seasons=5, base=-9.0, swing=9.0, memory=0.0, seed=2)
    winter = (days["season"] == 2020) & days["season_day"].between(-150, -148)
    days.loc[winter, "open"] = True
    found = window_chance(fit_days(days), length=10).set_index("season_day")["chance"]
    assert found.loc[-154] < 0.35


def test_gentle_season_is_drawn_gently():
    """A year that swings like a cosine keeps to one maximum and one minimum; a steep season keeps its edges."""
    gentle = fit_days(gentle_days(seasons=8, seed=3))
    steep = fit_days(day_table(seasons=8, base=-4.0, swing=6.0, seed=3))
    yearly = [yearly_chance(one.coef, memory=np.zeros(len(MEMORY))) for one in (gentle, steep)]
    turns = np.sign(np.diff(np.r_[yearly[0], yearly[0][:2]]))
    assert (np.diff(turns) != 0).sum() == 2
    # Truth of the table: 88 % at midsummer, 10 % or less sixty days from it.
    assert yearly[1][182] - yearly[1][242] > 0.6


def gentle_days(*, seasons, seed):
    """Days whose logit is -1.5 + 0.8 cos(year), every one of them for itself."""
    days = day_table(seasons=seasons, seed=seed)
    logit = -1.5 + 0.8 * np.cos(2 * np.pi * days["season_day"].to_numpy() / 365)
    opened = np.random.default_rng(seed).random(len(days)) < 1 / (1 + np.exp(-logit))
    return days.assign(open=opened, n_openings=opened.astype("int64"))


def test_nothing_monitored_is_said():
    """Without a monitored day there is nothing to fit."""
    with pytest.raises(ValueError, match="no monitored days"):
        fit_days(day_table(seasons=1, monitored=0.0))


@pytest.mark.parametrize("fill", [True, False])
def test_extreme_days_stay_finite(fill):
    """All days open, or none: coefficients and draws stay finite."""
    days = day_table(seasons=2)
    days["open"] = fill
    model = fit_days(days)
    assert np.isfinite(draw_coefficients(model, n=5, seed=1)[0]).all()


def test_hours_follow_the_season():
    """Long openings in summer and short ones in winter stay apart; a season without any takes the mean."""
    days = day_table(seasons=4, seed=1)
    days["open_hours"] = np.where(days["season_day"].abs() < 60, 4.0, 1.0) * days["open"]
    hours = open_hours(days)[np.isin(SEASON_DAYS, [0, 170])]
    assert hours[0] > 3.8
    assert hours[1] < 2.0
    assert (open_hours(days.assign(open=False)) == 0).all()


def test_draws_repeat():
    """The same seed gives the same draws."""
    model = fit_days(day_table(seasons=3))
    assert np.array_equal(draw_coefficients(model, n=3, seed=9)[0], draw_coefficients(model, n=3, seed=9)[0])


def test_one_season_leans_on_the_usual_course():
    """A single season that follows the usual course is found better than by a curve that knows nothing."""
    truth = 1 / (1 + np.exp(-(-2.5 + 1.5 * yearly_design(SEASON_DAYS)[:, 1:] @ USUAL_SEASON[0])))
    error = {}
    for name, candidates in (("with", daymodel.BENDINGS), ("without", daymodel.BENDINGS[:2])):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(daymodel, "BENDINGS", candidates)
            found = [fit_days(usual_days(truth, seed=seed)) for seed in range(6)]
        shut = np.zeros(len(MEMORY))
        curves = [yearly_chance(model.coef, memory=shut) for model in found]
        error[name] = np.mean([np.sqrt(np.mean((one - truth) ** 2)) for one in curves])
    assert error["with"] < 0.9 * error["without"]


def usual_days(truth, *, seed):
    """One season of independent days with these chances."""
    days = day_table(seasons=1, memory=0.0, year_sd=0.0, seed=seed)
    chance = truth[(days["season_day"] - SEASON_DAYS[0]).clip(0, len(SEASON_DAYS) - 1)]
    days["open"] = np.random.default_rng(seed).random(len(days)) < chance
    return days.assign(open_hours=2.0 * days["open"])


def test_spread_of_a_coming_season_by_hand():
    """Two seasons half a logit either side: their spread widened by 15 %, with a prior worth two seasons."""
    seen = 1.15**2 * 0.5  # variance of -.5 and .5, from a sample
    found = daymodel._predictive_sd(np.array([-0.5, 0.5]), prior=0.45)
    assert found == pytest.approx(np.sqrt((2 * 0.45**2 + seen) / 3))
    assert daymodel._predictive_sd(np.array([0.3]), prior=0.45) == 0.45

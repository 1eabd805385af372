"""A season that runs: a rich start raises the rest's chances, a quiet one lowers them, too little says nothing."""

import numpy as np
import pandas as pd
import pytest

from analysis.fit.ahead.days import DaySeries
from analysis.fit.ahead.spells import step
from analysis.fit.assess import Verdict
from analysis.plan.choice import plan_windows
from analysis.plan.constraints import Wishes
from analysis.plan.update import rest_of_season
from tests.fit.make_days import day_table

OK = Verdict("ok", "A", (), ())


def running(until="2025-06-15", lift=None, verdict=OK, **options):
    """Five seasons and a sixth that has come to 15 June; `lift` makes that many of its days open."""
    days = day_table(seasons=6, first=2020, **({"seed": 4, "year_sd": 0.5} | options))
    days = days[days["date"] <= until].reset_index(drop=True)
    if lift is not None:
        rng = np.random.default_rng(1)
        now = (days["season"] == 2025) & (days["season_day"] > -60)
        days.loc[now, "open"] = rng.random(now.sum()) < lift
    return DaySeries("6m", "ES", "all", days, verdict)


def test_rich_start_raises_and_quiet_start_lowers():
    """The rest of a season that began well is better than expected before, and the reverse."""
    for lift, sign in ((0.9, 1), (0.02, -1)):
        table = rest_of_season(running(lift=lift), length=7).iloc[10:60]
        assert (np.sign(table["now"] - table["before"]) == sign).mean() > 0.9


def test_only_the_rest_is_shown():
    """Windows begin tomorrow and end within the season."""
    table = rest_of_season(running(), length=7)
    assert table["start"].min() == pd.Timestamp("2025-06-16")
    assert table["end"].max() <= pd.Timestamp("2025-12-21")
    assert ((table["low"] <= table["now"]) & (table["now"] <= table["high"])).all()


def test_the_plan_says_the_same():
    """Planned on 15 June without a date wished for: only windows to come, with the updated chances."""
    series = running(lift=0.9)
    rest = rest_of_season(series, length=7, at_least=3).set_index("start")
    plan = plan_windows([series], Wishes(length=7, at_least=3)).set_index("start")
    assert plan.index.min() == pd.Timestamp("2025-06-16")
    assert plan["chance"].to_numpy() == pytest.approx(rest.loc[plan.index, "now"].to_numpy())
    assert plan["expected_days"].iloc[0] >= 3 * plan["chance"].iloc[0]
    # Next year's windows know nothing of this season's level but as one season among six.
    later = Wishes(length=7, at_least=3, earliest=pd.Timestamp("2026-05-01"))
    following = plan_windows([series], later).set_index("start")
    assert following.loc["2026-07-20", "chance"] < plan.loc["2025-07-20", "chance"] - 0.05


def test_a_spell_goes_on():
    """With strong memory, an opening yesterday raises tomorrow's chance above that after a quiet week."""
    series = running(memory=2.5, year_sd=0.0)
    chances = {}
    for name, opened in (("open", True), ("quiet", False)):
        days = series.days.copy()
        days.loc[days.index[-7:], "open"] = False
        days.loc[days.index[-1], "open"] = opened
        chances[name] = rest_of_season(DaySeries("6m", "ES", "all", days, OK), length=1, at_least=1)["now"]
    assert chances["open"].iloc[0] > chances["quiet"].iloc[0] + 0.2
    assert abs(chances["open"].iloc[60] - chances["quiet"].iloc[60]) < 0.05


def test_step_by_hand():
    """A known opening day resets the count, a known quiet day moves it on, an unknown day does both."""
    now = np.eye(8)[0]
    chance = np.array([0.25, 0.1, 0.1, 0.1])
    assert step(now, chance, opened=True).tolist() == np.eye(8)[0].tolist()
    assert step(now, chance, opened=False).tolist() == np.eye(8)[1].tolist()
    assert step(now, chance)[:2].tolist() == [0.25, 0.75]
    assert step(np.eye(8)[7], chance, opened=False).tolist() == np.eye(8)[7].tolist()


@pytest.mark.parametrize(
    ("series", "words"),
    [
        (running(until="2025-01-05"), "monitored days in 2025 so far"),
        (running(until="2020-08-01"), "no earlier season"),
        (running(verdict=Verdict("refuse", "C", ("contacts alone",), ())), "contacts alone"),
    ],
)
def test_too_early_is_words(series, words):
    """Nothing is stated on too little."""
    table = rest_of_season(series)
    assert len(table) == 1
    assert table[["before", "now", "low"]].isna().all(axis=None)
    assert words in table["reason"].iloc[0]


def test_update_improves_the_forecast():
    """Over made-up seasons of unlike height the updated chances score better than those from before."""
    before, now = [], []
    for seed in range(6):
        whole = day_table(seasons=6, first=2020, seed=seed, year_sd=1.0)
        series = DaySeries("6m", "ES", "all", whole[whole["date"] <= "2025-06-15"], OK)
        table = rest_of_season(series, length=7, at_least=3, draws=30).iloc[:60]
        opened = whole.set_index("date")["open"].astype(float).rolling(7).sum().shift(-6)
        happened = opened.reindex(table["start"]).to_numpy() >= 3
        before.append(((table["before"] - happened) ** 2).mean())
        now.append(((table["now"] - happened) ** 2).mean())
    assert np.mean(now) < 0.9 * np.mean(before)

"""Plans keep to the wishes, show near-best sets with losses, and refuse in words."""

import numpy as np
import pandas as pd
import pytest

from analysis.fit.ahead.days import DaySeries
from analysis.fit.assess import Verdict
from analysis.gather.problems import InputError
from analysis.plan.choice import COLUMNS, near_best_runs, plan_windows, together
from analysis.plan.constraints import WEEKEND, Wishes
from analysis.plan.places import wanted
from tests.fit.make_days import day_table

OK = Verdict("ok", "A", (), ())


def series(direction="all", band="6m", verdict=OK, **options):
    """Five made-up seasons of one direction."""
    return DaySeries(band, "ES", direction, day_table(first=2020, **({"seasons": 5} | options)), verdict)


@pytest.fixture(scope="module")
def plan():
    """Ten free days of June to August, one series."""
    wishes = Wishes(earliest=pd.Timestamp("2025-06-01"), latest=pd.Timestamp("2025-09-10"), country="ES")
    return plan_windows([series(seed=4)], wishes)


def test_plan_keeps_to_the_dates(plan):
    """All windows lie in the span, each with its end, its leave and its numbers."""
    assert list(plan.columns) == COLUMNS
    assert plan["start"].min() == pd.Timestamp("2025-06-01")
    assert plan["end"].max() == pd.Timestamp("2025-09-10")
    assert ((plan["end"] - plan["start"]).dt.days == 9).all()
    assert plan["leave_days"].between(5, 8).all()
    assert plan[["chance", "low", "high", "loss", "skill", "skill_low"]].notna().all(axis=None)


def test_losses_are_against_the_best_allowed(plan):
    """The best window loses nothing, the others what they lack; near-best ones lose little."""
    best = plan["chance"].max()
    assert plan["loss"].min() == 0
    assert np.allclose(plan["loss"], best - plan["chance"])
    assert (plan["loss_high"] >= -1e-9).all()
    assert plan.loc[plan["near_best"], "loss"].max() < 0.2
    assert plan["near_best"].any()
    assert not plan["near_best"].all()


def test_best_outside_the_dates_does_not_count():
    """Someone free only in autumn still gets a near-best set, of autumn windows."""
    wishes = Wishes(earliest=pd.Timestamp("2025-09-01"), latest=pd.Timestamp("2025-10-20"))
    plan = plan_windows([series(seed=4)], wishes)
    assert plan["near_best"].any()
    assert plan["start"].min() == pd.Timestamp("2025-09-01")


def test_weekends_only_lower_the_chance():
    """Operating on two days of seven gives less than on all, and more than none."""
    span = {
        "earliest": pd.Timestamp("2025-06-01"),
        "latest": pd.Timestamp("2025-07-20"),
        "length": 7,
        "at_least": 1,
    }
    every, some = (
        plan_windows([series(seed=4)], Wishes(weekdays=weekdays, **span))
        for weekdays in (tuple(range(7)), WEEKEND)
    )
    assert (some["chance"] < every["chance"]).all()
    assert (some["expected_days"] < 0.5 * every["expected_days"]).all()
    assert (some["expected_days"] > 0).all()


def test_contacts_only_is_refused_in_words():
    """No numbers without listening, and the reason is kept."""
    verdict = Verdict("refuse", "C", ("contacts alone",), ("declare the hours you listened",))
    plan = plan_windows([series(verdict=verdict)], Wishes())
    assert len(plan) == 1
    assert plan[["chance", "loss", "skill", "expected_days"]].isna().all(axis=None)
    assert "declare the hours" in plan["reason"].iloc[0]
    assert near_best_runs(plan).empty


def test_no_window_fits():
    """A leave longer than the free dates is one clear line."""
    with pytest.raises(InputError, match="no window of 20 days fits"):
        plan_windows(
            [series()],
            Wishes(length=20, earliest=pd.Timestamp("2025-06-01"), latest=pd.Timestamp("2025-06-10")),
        )


def test_together_is_at_least_as_good():
    """A day with an opening in either direction is an opening day of both together."""
    north, south = series("north", seed=4), series("south", seed=9)
    both = together([north, south])
    assert both.keys() == {"band": "6m", "mechanism": "ES", "direction": "any"}
    assert (both.days["open"].to_numpy() == (north.days["open"] | south.days["open"]).to_numpy()).all()
    span = {"earliest": pd.Timestamp("2025-05-01"), "latest": pd.Timestamp("2025-08-20"), "at_least": 2}
    plan = plan_windows([both, north, south], Wishes(**span))
    mean = plan.groupby("direction")["chance"].mean()
    assert mean["any"] > mean["north"]
    assert mean["any"] > mean["south"]


def test_together_leaves_refused_series_out():
    """A refused direction does not spoil the others; the weaker tier is shown."""
    refused = series("west", verdict=Verdict("refuse", "B", ("few days",), ()))
    weak = series("east", verdict=Verdict("provisional", "B", ("indicative",), ()))
    both = together([series("north"), weak, refused])
    assert both.verdict.status == "provisional"
    assert both.verdict.tier == "B"
    assert together([refused]).verdict.status == "refuse"
    thin = series("west", verdict=Verdict("provisional", "A", ("only 12 opening days",), ()))
    assert together([series("north"), thin]).verdict == OK
    with pytest.raises(ValueError, match="no series"):
        together([])


def test_runs_hold_all_near_best(plan):
    """Runs of first days count every near-best window once and name the best of each run."""
    runs = near_best_runs(plan)
    assert runs["windows"].sum() == plan["near_best"].sum()
    assert ((runs["last"] - runs["first"]).dt.days + 1 == runs["windows"]).all()
    assert runs["start"].between(runs["first"], runs["last"]).all()


def test_runs_by_hand():
    """Days 1, 2 and 4 are two runs; in the first, equal chances leave the choice to the expected hours."""
    starts = pd.to_datetime(["2026-06-01", "2026-06-02", "2026-06-03", "2026-06-04"])
    plan = pd.DataFrame({"start": starts, "near_best": [True, True, False, True]}).reindex(columns=COLUMNS)
    plan = plan.assign(
        band="6m", mechanism="ES", direction="all", chance=0.9, expected_hours=[3.0, 4.0, 5.0, 1.0]
    )
    runs = near_best_runs(plan)
    assert runs["first"].dt.day.tolist() == [1, 4]
    assert runs["last"].dt.day.tolist() == [2, 4]
    assert runs["start"].dt.day.tolist() == [2, 4]
    assert runs["windows"].tolist() == [2, 1]


def test_southern_plan():
    """In the south the best weeks lie in the December of the season."""
    plan = plan_windows([series(lat=-37.0, seed=4)], Wishes(length=7))
    best = plan.loc[plan["expected_days"].idxmax(), "start"]
    assert best.month in (11, 12, 1)


def test_only_the_quadrants_wanted_are_told():
    """A beam toward the south is asked for by its quadrant, over any ground; nothing asked: whole series."""
    direction = pd.Series(["all", "sea", "south", "sea south", "land north"])
    assert wanted(direction).tolist() == [True, True, False, False, False]
    assert wanted(direction, ["south"]).tolist() == [False, False, True, True, False]


def test_a_season_that_is_over_is_not_planned():
    """Data that end in one autumn and a plan made in the next: the summer between is past, the one after is planned."""
    data = series(seed=4)
    after = plan_windows([data], Wishes(length=7))["start"].min()
    late = pd.Timestamp(after.year, 11, 28)
    again = plan_windows([data], Wishes(length=7, today=late))["start"]
    assert again.min() > late
    assert again.median().year == after.year + 1

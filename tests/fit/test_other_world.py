"""A world that no fit was tuned on: every door answers in numbers that hold, or in words."""

import numpy as np
import pytest

from analysis.fit.daily import daily_table
from analysis.fit.estimate import Series
from analysis.fit.findings import estimates_table
from analysis.fit.season import season_table
from analysis.fit.season_index import season_rows
from tests.fit.simulate_other import other_world


def series(*, axis="solar", tier="A", **world):
    """One series of the second world."""
    cells = other_world(axis=axis, **world).cells
    if axis == "sun":
        return Series("2m", "TR", "land", axis, tier, cells)
    return Series("6m", "ES", "all", axis, tier, cells)


@pytest.mark.parametrize(
    ("world", "said"),
    [
        ({"years": 3, "good": 1.0}, "nearly every monitored half-hour"),
        ({"years": 3, "good": 0.0, "false": 0.0}, "nothing was heard"),
        ({"years": 8, "good": 0.0, "false": 3e-4}, "as many as false ones make"),
        ({"years": 1, "good": 0.02, "false": 0.0}, "days with a report"),
    ],
)
def test_nothing_to_fit_is_said_in_words(world, said):
    """Always open, never open with and without false reports, hardly ever open: a reason and no number."""
    one = series(seed=1, **world)
    for table, number in (
        (daily_table([one]), "chance"),
        (season_table([one]), "chance"),
        (estimates_table([one]), "value"),
    ):
        assert (table["verdict"] == "refuse").all()
        assert table[number].isna().all()
        assert table["reason"].str.contains(said).any()


@pytest.mark.parametrize(
    "world",
    [
        {"years": 2, "lat": -35, "lon": 150},
        {"years": 2, "lat": 69, "lon": 25, "axis": "sun"},
        {"years": 2, "lat": -17, "lon": 178},
        {"years": 1, "outage": ("2012-06-01", "2012-07-12")},
        {"years": 3, "receivers": 1, "leaves": "2014-03-01"},
        {"years": 3, "on_air": (18, 19)},
    ],
    ids=["south", "polar night", "dateline", "outage", "receiver leaves", "one hour a day"],
)
def test_numbers_lie_in_their_intervals(world):
    """Wherever a number is given it lies between its ends; wherever none is, words are."""
    one = series(seed=2, **world)
    for table in (daily_table([one]), season_table([one])):
        known = table.dropna(subset=["chance"])
        assert known["low"].between(0, known["chance"]).all()
        assert known["high"].between(known["chance"], 1).all()
    assert estimates_table([one]).query("value.isna()")["reason"].ne("").all()
    rows = season_rows(one)
    assert rows.loc[rows["index"].isna(), "reason"].ne("").all()


def test_more_false_reports_than_usual_are_seen_as_such():
    """Three times the usual rate: the fitted rate rises above the usual and the mean chance stays near the truth."""
    world = other_world(years=4, seed=1, false=3e-4)
    one = Series("6m", "ES", "all", "solar", "A", world.cells)
    listening = world.cells.loc[world.cells["n_listening"] > 0, "n_listening"].mean()
    assert one.fit.doubtful > 1.5e-4 * listening
    assert np.isclose(daily_table([one])["chance"].mean(), world.open.mean(), rtol=0.25)

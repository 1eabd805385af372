"""Signs with planted truth: the useful one first, what shares its hours only by chance, the misleading one last."""

import numpy as np
import pandas as pd
import pytest

from analysis.fit.signs.indicators import COLUMNS, NO_MORE, NOT_SURE, indicators_table
from tests.fit import simulate_signs
from tests.fit.simulate_signs import MISLEADING, SAME_HOUR, USEFUL


@pytest.fixture(scope="module")
def table():
    return indicators_table(simulate_signs.watched_signs(np.random.default_rng(3), seasons=3)).set_index(
        "call"
    )


def test_only_the_useful_sign_is_called_useful(table):
    assert table.index[0] == USEFUL
    assert list(table.index[table["verdict"] == "useful"]) == [USEFUL]
    assert table.loc[USEFUL, "rank"] == 1
    assert set(table.loc[table["verdict"] == "chance", "reason"]) <= {NO_MORE, NOT_SURE}
    assert table.loc[SAME_HOUR, "reason"] == NO_MORE


def test_the_misleading_sign_ranks_last(table):
    assert table.index[-1] == MISLEADING
    assert table.loc[MISLEADING, "lift"] < 0.5


def test_a_sign_that_shares_the_hours_has_no_lift(table):
    """Held against the whole day it would look useful: its hours are those of the openings."""
    row = table.loc[SAME_HOUR]
    assert 0.6 < row["lift"] < 1.5
    assert row["verdict"] == "chance"


def test_lead_and_shares_are_those_planted(table):
    row = table.loc[USEFUL]
    assert row["lead_min"] == pytest.approx(45, abs=6)
    assert 0.5 < row["warned_share"] < 0.75
    assert row["followed_share"] + row["false_share"] == pytest.approx(1)
    assert row["stable"] == "in all 3 seasons"


def test_few_openings_are_refused():
    rows = simulate_signs.watched_signs(np.random.default_rng(4), seasons=1)
    few = rows[
        (rows["call"] == USEFUL)
        & ((rows["what"] != "onset") | (rows["quarter"] < rows["quarter"].min() + 500))
    ]
    told = indicators_table(few).iloc[0]
    assert told["verdict"] == "refuse"
    assert "needed" in told["reason"]
    assert pd.isna(told["rank"])


def test_nothing_in_nothing_out():
    rows = simulate_signs.watched_signs(np.random.default_rng(4), seasons=1).iloc[:0]
    empty = indicators_table(rows)
    assert empty.empty
    assert list(empty.columns) == COLUMNS

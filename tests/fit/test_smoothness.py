"""Smoothness is chosen by seasons left out: enough for the shape, no more."""

import numpy as np
import pytest

from analysis.fit.model.smoothness import choose_harmonics
from tests.fit.make_series import found


@pytest.fixture(scope="module")
def table():
    """All choices on four simulated seasons of sporadic E."""
    return choose_harmonics(
        found("es6").cells, candidates=[(1, 1, 0, 0), (3, 3, 1, 1)], smooths=[10.0, 1000.0]
    )


def test_one_choice_within_one_error_of_the_best(table):
    """Exactly one is chosen, the first that is not behind by more than its error; the best is 0 behind."""
    assert table["chosen"].sum() == 1
    chosen = table[table["chosen"]].iloc[0]
    assert chosen["behind"] <= chosen["error"]
    assert table["behind"].min() == 0
    assert (
        table.loc[: table["chosen"].idxmax() - 1, "behind"] > table["error"][: table["chosen"].idxmax()]
    ).all()


def test_two_daily_maxima_need_more_than_one_wave(table):
    """One daily wave foretells worse than three on data with a morning and an evening maximum."""
    score = table.set_index(["harmonics", "smooth"])["score"]
    assert score[(3, 3, 1, 1), 10.0] > score[(1, 1, 0, 0), 10.0]


def test_scores_are_log_scores():
    """With every order flattened the score is that of the others' overall share."""
    cells = found("es6").cells
    flat = choose_harmonics(cells, candidates=[(1, 1, 0, 0)], smooths=[1e9])["score"].iloc[0]
    listened = cells[cells["n_listening"] > 0]
    heard = (listened["n_detected"] > 0).groupby(listened["season"]).agg(["sum", "size"])
    share = (heard["sum"].sum() - heard["sum"]) / (heard["size"].sum() - heard["size"])
    own = heard["sum"] / heard["size"]
    expected = (own * np.log(share) + (1 - own) * np.log1p(-share)).mean()
    assert flat == pytest.approx(expected, rel=0.01)


def test_one_season_leaves_nothing_out():
    """No choice can be made, and none is."""
    assert len(choose_harmonics(found("es6", seasons=1).cells)) == 0

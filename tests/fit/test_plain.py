"""The plain companion is an ordinary statsmodels regression: its formula, its curve, its ranges."""

import numpy as np
import pytest

from analysis.fit.model.plain import FORMULA, counted, fit_plain, plain_curve
from tests.fit.make_series import found


@pytest.fixture(scope="module")
def cells():
    """A simulated series of sporadic E."""
    return found("es6").cells


def test_every_monitored_half_hour_is_counted_once(cells):
    """The counts add up to the half-hours listened to, and to those with a detection."""
    table = counted(cells)
    listened = cells[cells["n_listening"] > 0]
    assert table[["opened", "shut"]].to_numpy().sum() == len(listened)
    assert table["opened"].sum() == (listened["n_detected"] > 0).sum()
    assert table["spell"].groupby(table["season"]).nunique().max() <= 38  # ten days each


def test_the_overall_share_is_kept(cells):
    """A logistic regression with an intercept gives back the share it was fitted to."""
    table = counted(cells)
    bins = table["opened"] + table["shut"]
    assert np.average(fit_plain(table).fittedvalues, weights=bins) == pytest.approx(
        table["opened"].sum() / bins.sum(), rel=1e-6
    )


def test_cycles_close(cells):
    """Midnight follows midnight, and the turn of the season meets itself."""
    fitted, row = fit_plain(counted(cells)), counted(cells).iloc[:1]
    for column, ends in (("hour", (0.0, 24.0)), ("season_day", (-183.0, 182.25))):
        first, last = (fitted.predict(row.assign(**{column: end})).iloc[0] for end in ends)
        assert first == pytest.approx(last, rel=1e-9), column


def test_a_reader_may_change_the_formula(cells):
    """Without the hour the curve is flat over the day; with seasons apart there is one term each."""
    flat = plain_curve(cells, formula="opened + shut ~ cc(season_day, df=4, constraints='center')")["chance"]
    assert flat.max() == pytest.approx(flat.min())
    apart = fit_plain(counted(cells), formula=FORMULA + " + C(season)")
    plain = fit_plain(counted(cells))
    assert len(apart.params) == len(plain.params) + cells["season"].nunique() - 1


def test_dates_stand_beside_season_days(cells):
    """The day of the solstice, counted in blocks of five days, is in the third week of June."""
    dated = plain_curve(cells, by="season_day").set_index("season_day")["date"]
    assert "06-15" < dated[dated.index[abs(dated.index).argmin()]] < "06-27"


def test_a_lone_season_has_a_range(cells):
    """Eighths of the season are left out in turn, since no other season can be."""
    alone = plain_curve(cells[cells["season"] == cells["season"].max()])
    assert (alone["low"] < alone["chance"]).all()
    assert (alone["chance"] < alone["high"]).all()

"""The table of estimates: every row has a unit, a method and a verdict, or a reason instead of a number."""

import numpy as np
import pandas as pd
import pytest

from analysis.fit.estimate import Series
from analysis.fit.findings import COLUMNS, estimates_table
from analysis.fit.winter import winter_rise
from tests.fit.make_series import found, series


@pytest.fixture(scope="module")
def table():
    """Estimates of sporadic E, tropo over land and sea, and a refused series."""
    contacts = Series("2m", "ES", "all", "solar", "C", found("es2").cells)
    return estimates_table([series("es6"), series("land2"), series("sea2"), contacts])


def test_columns_and_words(table):
    """Columns of the contributors' map; a number has an interval and a method, a blank has a reason."""
    assert list(table.columns) == COLUMNS
    stated = table["value"].notna()
    assert (table.loc[stated, "method"] != "").all()
    assert table.loc[stated, ["low", "high"]].notna().all().all()
    assert (table.loc[~stated, "reason"] != "").all()
    assert set(table["verdict"]) <= {
        *("ok", "provisional", "refuse", "supported", "not supported", "cannot tell", "contradicted"),
        *("found", "not found", "rising", "falling"),
    }


def test_what_is_said_of_whom(table):
    """Two daily maxima for sporadic E only, the rule of thumb once per band, one line for the refused."""
    es, tropo = (table[(table["mechanism"] == name) & (table["tier"] == "A")] for name in ("ES", "TR"))
    assert {"morning peak", "evening peak", "winter rise"} <= set(es["what"])
    assert not {"morning peak", "winter rise"} & set(tropo["what"])
    assert (tropo["what"] == "land and sea differ").sum() == 1
    assert (table["tier"] == "C").sum() == 1


def test_a_further_season_lies_in_the_range_of_the_others(table):
    """The range holds the middle of the seasons seen; without monitors no number of days is given."""
    row = table[(table["band"] == "6m") & (table["what"] == "opening days of a further season")].iloc[0]
    cells = series("es6").cells
    heard = cells[(cells["n_listening"] > 0) & (cells["n_detected"] > 0)]
    days = heard.drop_duplicates(["season", "season_day"]).groupby("season").size()
    assert days.min() <= row["value"] <= days.max()
    assert row["low"] < days.median() < row["high"]
    loose = estimates_table([series("es6", monitors=False)]).set_index("what")
    assert np.isnan(loose.loc["opening days of a further season", "value"])
    assert np.isnan(loose.loc["spread between seasons", "value"])


def test_thin_or_empty_input_never_raises():
    """No rows, nobody listening, nothing heard, always open: only words."""
    cells = found("es6", seasons=1).cells
    for case in (
        cells.iloc[:0],
        cells.assign(n_listening=0, n_detected=0),
        cells.assign(n_detected=0),
        cells.assign(n_detected=cells["n_listening"]),
    ):
        rows = estimates_table([Series("6m", "ES", "all", "solar", "A", case)])
        assert rows["value"].isna().all()
        assert (rows["verdict"] == "refuse").all()


def winters(*, winter, late, seasons=6):
    """Days of an always-on receiver with so many opening days in each winter and late winter."""
    rows = []
    for season in range(2000, 2000 + seasons):
        for day in range(-183, 183):
            opened = (day >= 183 - winter) or (-133 <= day < -133 + late) or abs(day) < 30
            rows += [(season, day, 3, 3 * int(opened and half == 20)) for half in range(48)]
    cells = pd.DataFrame(rows, columns=["season", "season_day", "n_listening", "n_detected"])
    hours = cells["season_day"] * 24 + np.tile(np.arange(48), len(cells) // 48) / 2
    start = pd.to_datetime(cells["season"].astype("str") + "-06-21", utc=True) + pd.to_timedelta(
        hours, unit="h"
    )
    return Series("6m", "ES", "all", "solar", "A", cells.assign(start=start, hour=20.25))


def test_winter_rise_is_found_where_it_is():
    """Ten winter opening days against two in late winter: found; two against two: cannot tell."""
    rise = winter_rise(winters(winter=10, late=2))
    assert rise.verdict == "found"
    assert rise.value == pytest.approx((10 / 60) / (2 / 36), rel=0.1)
    assert winter_rise(winters(winter=2, late=2)).verdict in ("cannot tell", "not found")
    assert winter_rise(winters(winter=0, late=0)).verdict == "refuse"

"""Tables by hour and by season day: columns, blanks and reasons as the contract has them."""

import numpy as np
import pytest

from analysis.fit.daily import daily_table
from analysis.fit.estimate import Series
from analysis.fit.season import season_table, seasons_table
from tests.fit.make_series import found, series


@pytest.fixture(scope="module")
def some():
    """Sporadic E, tropo over land, and contacts only."""
    contacts = Series("2m", "ES", "all", "solar", "C", found("es2").cells)
    return [series("es6"), series("land2"), contacts]


@pytest.mark.parametrize(("table", "rows"), [(daily_table, 48), (season_table, 365)])
def test_one_block_of_rows_per_series_and_one_row_when_refused(some, table, rows):
    """Fitted series have a row per class, the refused one a blank row with its reason."""
    found_rows = table(some).groupby(["band", "mechanism"], sort=False).size()
    assert found_rows.to_dict() == {("6m", "ES"): rows, ("2m", "TR"): rows, ("2m", "ES"): 1}
    refused = table(some).iloc[-1]
    assert refused["verdict"] == "refuse"
    assert np.isnan(refused["chance"])
    assert "contacts alone" in refused["reason"]


def test_daily_columns(some):
    """Names in the order of the contributors' map, bounds at the end."""
    names = "band mechanism path_type axis hour chance low high n_monitored seasons tier verdict reason"
    assert " ".join(daily_table(some).columns) == f"{names} bound_low bound_high"


def test_season_dates_are_those_of_a_common_year(some):
    """Season day 0 is 21 June, 365 days without a leap day."""
    table = season_table(some)
    dates = table[table["mechanism"] == "TR"].set_index("season_day")["date"]
    assert dates[0] == "06-21"
    assert "02-29" not in set(dates)


def test_seasons_have_one_row_each(some):
    """Days of every season counted from the cells; the index is about one on average."""
    table = seasons_table(some)
    rows = table[table["band"] == "6m"]
    cells = some[0].cells
    heard = cells[(cells["n_listening"] > 0) & (cells["n_detected"] > 0)]
    expected = heard.drop_duplicates(["season", "season_day"]).groupby("season").size()
    assert rows["opening_days"].tolist() == expected.tolist()
    assert rows["index"].mean() == pytest.approx(1)
    assert ((rows["low"] < rows["index"]) & (rows["index"] < rows["high"])).all()
    assert set(rows["verdict"]) <= {"above", "below", "normal", "provisional"}
    assert set(table.loc[table["tier"] == "C", "verdict"]) == {"refuse"}
    assert table.loc[table["tier"] == "C", "index"].isna().all()


def test_no_series_gives_empty_tables():
    """Nothing in, the right columns out."""
    for table in (daily_table, season_table, seasons_table):
        assert len(table([])) == 0
        assert "verdict" in table([]).columns

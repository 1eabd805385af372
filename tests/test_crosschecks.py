"""What the review's numbers are held against: the tables fit the series they speak of."""

from dataclasses import replace

import pandas as pd
import pytest

from analysis import crosschecks
from analysis.find.reach import HERE
from analysis.fit.ahead.days import day_series
from analysis.gather.locators import place
from analysis.series import vhf_series, with_days


@pytest.fixture(scope="module")
def series(season):
    """The demo's series of sporadic E on 6 m, fitted once."""
    home = place(season.about.home)
    return [
        one
        for one in with_days(
            vhf_series(season.spots, season.listening, beacons=season.beacons, scope=HERE, **home),
            season.days,
            season.spots,
            season.listening,
            **home,
        )
        if (one.band, one.mechanism) == ("6m", "ES")
    ]


def test_every_forecast_stands_in_one_tenth(season):
    """The tenths together hold as many windows as were scored, and the chance lies in its tenth."""
    keys = ["band", "mechanism", "direction"]
    scored = season.verification.groupby(keys)["windows"].first()
    told = season.reliability.groupby(keys)["n"].sum()
    pd.testing.assert_series_equal(told, scored, check_names=False, check_dtype=False)
    assert (season.reliability["chance"] * 10 - season.reliability["tenth"]).between(0, 1).all()


def test_seasons_compared_are_the_newest_two(season, series):
    """Months in order, dates that belong to them, the number of five-day blocks within the possible."""
    found = crosschecks.compared(series)
    newest = sorted(season.spots["season"].unique())[-2:]
    assert found[["first", "second"]].drop_duplicates().to_numpy().tolist() == [newest]
    assert found["season_day"].is_monotonic_increasing
    assert found["n_blocks"].between(4, 2 * 7).all()
    assert found.set_index("season_day").loc[-3, "date"] == "06-18"  # three days before the solstice


def test_refused_series_are_left_out(series, season):
    """A series in which nothing was heard has no seasons to compare and no shape."""
    silent = replace(series[0], cells=series[0].cells.assign(n_detected=0), steady=None)
    assert crosschecks.compared([silent]).empty
    assert crosschecks.published([silent], season.spots).empty


def test_without_the_published_maps_the_table_is_empty(season, series, monkeypatch):
    """The maps are an optional extra."""

    def missing(**place):
        raise ImportError("not installed")

    monkeypatch.setattr(crosschecks, "published_foes", missing)
    assert crosschecks.published(series, season.spots).empty


def test_published_shape_has_the_mean_of_our_own(season, series):
    """Both curves are shapes: mean one over the classes that are not blank."""
    pytest.importorskip("PyIRI")
    table = crosschecks.published(series, season.spots)
    assert set(table["by"]) == {"hour", "season_day"}
    means = table.groupby("by")[["own", "published"]].mean()
    assert means.to_numpy() == pytest.approx(1, abs=1e-6)


def test_chances_that_are_not_stated_are_not_scored(season, series):
    """A series whose windows are refused has no forecast to judge."""
    days = [day_series(one) for one in series]
    refused = season.windows.assign(at_least=pd.NA)
    assert crosschecks.verified(days, refused)[0].empty

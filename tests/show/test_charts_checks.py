"""Charts that check: what is drawn and said is what the tables hold, and thin groups stay blank."""

import numpy as np

from analysis.show import charts
from tests.show import example_tables as examples

SERIES = {"band": "6m", "mechanism": "ES"}
EVERY = {
    "reliability": lambda width: charts.reliability_chart(examples.reliability(), **SERIES, width=width),
    "two seasons": lambda width: charts.two_seasons_chart(examples.two_seasons(), **SERIES, width=width),
    "hours": lambda width: charts.climatology_chart(examples.published(), band="6m", width=width),
    "days": lambda width: charts.climatology_chart(
        examples.published(), band="6m", by="season_day", width=width
    ),
}


def test_reliability_draws_the_well_filled_groups():
    """Nine of ten groups are drawn, and the one beyond its interval is counted in the title."""
    table = examples.reliability()
    picture = charts.reliability_chart(table, **SERIES)
    drawn = picture.figure.axes[1].get_lines()[1].get_xydata()
    np.testing.assert_allclose(drawn, table.loc[table["n"] >= 20, ["chance", "share"]])
    assert picture.title.endswith("at their word, in 8 of 9 groups")
    assert "of 7\u00a0windows" not in picture.alt
    good = table[table["tenth"] != 5]
    assert charts.reliability_chart(good, **SERIES).title.endswith("at their word, in 8 of 8 groups")


def test_no_forecasts_get_words():
    """A series that was never forecast is a sentence."""
    picture = charts.reliability_chart(examples.reliability(), band="2m", mechanism="TR")
    assert not picture.figure.axes
    assert "%" not in picture.alt


def test_two_seasons_name_the_runs_that_differ():
    """Only the two runs with a verdict stand in the title, with their dates, and the rest is left open."""
    table = examples.two_seasons()
    picture = charts.two_seasons_chart(table, **SERIES)
    # By hand: 3 days before 21 June is 18 June, 29 days later 17 July; 57 days after it is 17 August.
    assert "more often from 18 June to 17 July and less often from 17 August" in picture.title
    assert picture.alt.count("cannot tell") == 4
    same = charts.two_seasons_chart(table.assign(verdict="cannot tell"), **SERIES)
    assert same.title.endswith("2023 and 2024 cannot be told apart")
    assert not charts.two_seasons_chart(table.iloc[:0], **SERIES).figure.axes
    assert not charts.two_seasons_chart(table, band="2m", mechanism="TR", path_type="sea").figure.axes


def test_southern_seasons_count_from_december():
    """The same season day is half a year away in the south, on the axis as well as in words."""
    south = charts.two_seasons_chart(examples.two_seasons(south=True), **SERIES)
    assert "18 December" in south.title
    months = [label.get_text() for label in south.figure.axes[1].get_xticklabels(minor=True)]
    assert months[:3] == ["Sep", "Oct", "Nov"]


def test_climatology_says_where_the_shapes_part():
    """The hours, or dates, beyond our interval stand in the title, with the direction."""
    table = examples.published()
    assert charts.climatology_chart(table, band="6m").title.endswith("more between 03:30 and 06:00")
    # By hand: season days 93 and 107 counted from 21 June, and from 21 December.
    for home, dates in (
        ("IN93", "between 22 September and 6 October"),
        ("GF15", "between 24 March and 7 April"),
    ):
        picture = charts.climatology_chart(table, band="6m", by="season_day", home=home)
        assert dates in picture.title
    assert "agrees" in charts.climatology_chart(table.assign(disagrees=False), band="6m").title


def test_no_published_maps_get_words():
    """Without the optional maps, or without a curve of our own, there is a sentence and no number."""
    table = examples.published()
    for blank in (table.iloc[:0], table.assign(own=np.nan)):
        picture = charts.climatology_chart(blank, band="6m")
        assert not picture.figure.axes
        assert "not installed" in picture.alt

"""Charts that check: what is drawn and said is what the tables hold, and thin groups stay blank."""

import numpy as np
import pytest

from analysis.show import charts
from tests.show import example_tables as examples

SERIES = {"band": "6m", "mechanism": "ES"}
EVERY = {
    "reliability": lambda width: charts.reliability_chart(examples.reliability(), **SERIES, width=width),
    "two seasons": lambda width: charts.two_seasons_chart(
        examples.two_seasons(), **SERIES, first=2023, second=2024, width=width
    ),
    "hours": lambda width: charts.climatology_chart(examples.shapes(), band="6m", width=width),
    "days": lambda width: charts.climatology_chart(
        examples.shapes(by="season_day"), band="6m", by="season_day", width=width
    ),
}


@pytest.mark.parametrize("width", ["full", "column", "slide"])
@pytest.mark.parametrize("name", EVERY)
def test_nothing_is_cut_off(name, width):
    """Every label lies on the paper."""
    figure = EVERY[name](width).figure
    for axes in figure.axes:
        box = axes.get_tightbbox()
        assert min(box.x0, box.y0) >= -1
        assert box.x1 <= figure.bbox.width + 1


def test_reliability_draws_the_well_filled_groups():
    """Nine of ten groups are drawn, and the one beyond its interval is counted in the title."""
    table = examples.reliability()
    picture = charts.reliability_chart(table, **SERIES)
    drawn = picture.figure.axes[1].get_lines()[1].get_xydata()
    np.testing.assert_allclose(drawn, table.loc[table["n"] >= 20, ["chance", "share"]])
    assert picture.title.endswith("1 of 9\u00a0groups of chances came true less often than said")
    assert "of 7\u00a0windows" not in picture.alt
    good = table[table["tenth"] != 5]
    assert charts.reliability_chart(good, **SERIES).title.endswith("came true about as often as they said")


def test_no_forecasts_get_words():
    """A series that was never forecast is a sentence."""
    picture = charts.reliability_chart(examples.reliability(), band="2m", mechanism="TR")
    assert not picture.figure.axes
    assert "%" not in picture.alt


def test_two_seasons_name_the_runs_that_differ():
    """Only the two runs with a verdict stand in the title, with their dates, and the rest is left open."""
    table = examples.two_seasons()
    picture = charts.two_seasons_chart(table, **SERIES, first=2023, second=2024)
    # By hand: 3 days before 21 June is 18 June, 29 days later 17 July; 57 days after it is 17 August.
    assert "more often from 18 June to 17 July and less often from 17 August" in picture.title
    assert picture.alt.count("cannot tell") == 4
    same = charts.two_seasons_chart(table.assign(verdict="cannot tell"), **SERIES, first=2023, second=2024)
    assert same.title.endswith("2023 and 2024 cannot be told apart")
    none = charts.two_seasons_chart(table.iloc[:0], **SERIES, first=2023, second=2024)
    assert not none.figure.axes


def test_southern_seasons_count_from_december():
    """The same season day is half a year away in the south."""
    south = charts.two_seasons_chart(examples.two_seasons(), **SERIES, first=2023, second=2024, south=True)
    assert "18 December" in south.title


def test_climatology_says_where_the_shapes_part():
    """The hours, or dates, beyond our interval stand in the title, with the direction."""
    assert charts.climatology_chart(examples.shapes(), band="6m").title.endswith(
        "more between 03:30 and 06:00"
    )
    days = charts.climatology_chart(examples.shapes(by="season_day"), band="6m", by="season_day")
    # By hand: season days 93 and 107 counted from 21 June.
    assert "between 22 September and 6 October" in days.title
    agreed = charts.climatology_chart(examples.shapes().assign(disagrees=False), band="6m")
    assert "agrees" in agreed.title
    assert not charts.climatology_chart(examples.shapes().assign(own=np.nan), band="6m").figure.axes

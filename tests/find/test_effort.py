"""Effort by week."""

import pandas as pd
import pytest

from analysis.find.effort import coverage, weekly_effort


def spans(*rows):
    """Spans of listening from (station, start, hours, basis)."""
    table = pd.DataFrame(rows, columns=["station", "start", "hours", "basis"]).assign(band="6m")
    table["start"] = pd.to_datetime(table["start"], utc=True)
    return table.assign(end=table["start"] + pd.to_timedelta(table.pop("hours"), unit="h"))


def test_weeks_share_out_a_span():
    """A span over a week's end is shared by both weeks, and no hour is lost."""
    weeks = weekly_effort(spans(("Q01ZZ", "2024-06-20 12:00", 40, "declared")))
    assert weeks["hours"].sum() == pytest.approx(40)
    assert set(weeks["season"]) == {2024}


def test_an_hour_with_two_stations_is_covered_once():
    """Station-hours add up, covered hours do not, whatever the basis."""
    weeks = weekly_effort(
        spans(("Q01ZZ", "2024-06-25 00:00", 10, "monitor"), ("Q02ZZ", "2024-06-25 05:00", 10, "receptions"))
    )
    assert weeks["hours"].sum() == pytest.approx(20)
    assert weeks["covered_h"].unique() == pytest.approx([15])
    assert coverage(weeks).to_dict() == {2024: pytest.approx(15 / 168)}

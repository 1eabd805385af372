"""Which receivers ran in every season, so that seasons may be compared by them."""

import pandas as pd

from analysis.series import passing_monitors


def day(text):
    return pd.Timestamp(text, tz="UTC").as_unit("us")


def listening(*rows):
    """Monitor spans of stations on 6 m."""
    table = pd.DataFrame(rows, columns=["station", "start", "end"])
    table = table.assign(band="6m", basis="monitor")
    return table.assign(start=table["start"].map(day), end=table["end"].map(day))


def cells():
    """Two seasons of half-hours, parted at the winter solstice."""
    start = pd.Series(pd.date_range("2021-05-01", "2022-09-01", freq="30min", tz="UTC", unit="us"))
    return pd.DataFrame({"start": start, "season": 2021 + (start >= day("2021-12-21")).astype("int64")})


def test_receivers_that_join_or_leave_are_passing():
    """One runs in both summers, one only in the second, one leaves after a week of it."""
    spans = listening(
        ("Q1STAY", "2021-05-01", "2021-08-31"),
        ("Q1STAY", "2022-05-01", "2022-08-31"),
        ("Q2JOIN", "2022-05-01", "2022-08-31"),
        ("Q3LEFT", "2021-05-01", "2021-08-31"),
        ("Q3LEFT", "2022-05-01", "2022-05-08"),
        ("Q4LONG", "2021-06-01", "2022-08-01"),
    )
    assert passing_monitors(spans, cells(), band="6m") == ["Q2JOIN", "Q3LEFT"]
    assert passing_monitors(spans, cells(), band="2m") == []
    assert passing_monitors(spans.iloc[:0], cells(), band="6m") == []


def test_a_season_in_which_no_receiver_ran_ends_no_run():
    """The first season has no monitor at all: whoever runs in the second is steady."""
    assert passing_monitors(listening(("Q2JOIN", "2022-05-01", "2022-08-31")), cells(), band="6m") == []

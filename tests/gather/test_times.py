"""Dates and times of day as they are written."""

from datetime import datetime

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.gather.cells import times


def read(function, *text, **options):
    return function(pd.Series(text, dtype="str"), **options)


@pytest.mark.parametrize(
    "text",
    [
        "2024-06-09T14:18:15Z", "2024-06-09 14:18:15", "2024-06-09T14:18:15+00:00", "20240609 141815", "20240609141815",
        "240609 141815", "09.06.2024 14:18:15", "9 Jun 2024 14:18:15", "9-jun-24 14:18:15", "2024/06/09 14:18:15 UTC",
        "2024-06-09_14:18:15", "1717942695", "1717942695000", "1717942695.0", "2024-06-09 16:18:15+02:00", "20240609T141815Z",
    ],
)  # fmt: skip
def test_one_moment(text):
    """One moment in many forms, an offset that is written being obeyed."""
    # 1717942695 s after 1970-01-01 UTC is 2024-06-09 14:18:15 UTC (POSIX definition of seconds since the epoch)
    assert read(times.moments, text).iloc[0] == pd.Timestamp("2024-06-09 14:18:15Z")


@pytest.mark.parametrize(
    "text",
    [
        "",
        "today",
        "2024-06-09",
        "2024-13-09 14:18",
        "2024-06-31 14:18",
        "2024-06-09 24:18",
        "2024-06-09 14:18 CEST",
        "99999",
        "2024-06-09 14",
    ],
)
def test_no_moment(text):
    """A date alone, an impossible one and a zone known only by name are no moment."""
    assert read(times.moments, text).isna().all()


def test_day_or_month_first():
    """One date of the column settles the order for all; points settle it by themselves."""
    assert read(times.dates, "03/04/2024", "13/04/2024").dt.month.tolist() == [4, 4]
    assert read(times.dates, "03/04/2024", "04/13/2024").dt.month.tolist() == [3, 4]
    assert read(times.dates, "03.04.2024").dt.month.tolist() == [4]
    assert read(times.dates, "03/04/2024").isna().all()
    assert read(times.dates, "03/04/2024", day_first=True).dt.month.tolist() == [4]


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("1418", 858),
        ("14:18", 858),
        ("918", 558),
        ("141800", 858),
        ("14:18:00Z", 858),
        ("2400", None),
        ("14", None),
    ],
)
def test_clocks(text, minutes):
    """Times of day; a leading zero that a spreadsheet dropped is put back, 24:00 is none."""
    got = read(times.clocks, text).iloc[0]
    assert pd.isna(got) if minutes is None else got == pd.Timedelta(minutes=minutes)


@settings(deadline=None, max_examples=5)
@given(
    st.lists(
        st.datetimes(min_value=datetime(1975, 1, 1), max_value=datetime(2069, 12, 31)),
        min_size=20,
        max_size=60,
    )
)
def test_round_trip(moments):
    """Any moment comes back from each way of writing it."""
    moments = [moment.replace(microsecond=0) for moment in moments]
    for form in (
        "%Y-%m-%d %H:%M:%S",
        "%Y%m%d %H%M%S",
        "%y%m%d %H%M%S",
        "%d.%m.%Y %H:%M:%S",
        "%d %b %Y %H:%M:%S",
    ):
        got = read(times.moments, *(moment.strftime(form) for moment in moments))
        assert got.dt.tz_localize(None).tolist() == moments


@pytest.mark.parametrize("function", [times.moments, times.dates, times.clocks])
@pytest.mark.parametrize(
    "text", ["٢٠٢٤-٠٦-٠٩ ١٤:١٨", "２０２４-０６-０９", "１４18", "20240609 14١8", "１７17942695"]
)
def test_digits_of_other_scripts_are_no_times(function, text):
    """A digit that is none of 0 to 9 makes its own cell unreadable and leaves its neighbours as they are."""
    sound = {times.moments: "2024-06-09 14:18", times.dates: "2024-06-09", times.clocks: "14:18"}[function]
    assert read(function, text, sound).notna().tolist() == [False, True]


def test_a_few_odd_cells_change_nothing_of_the_others():
    """A column of ISO times with other forms among them is read cell by cell as each stands alone."""
    cells = ["2024-06-09T14:18:00Z", "9 Jun 2024 14:18", "20240609 1418", "1717942680", "nonsense", ""]
    alone = [times.moments(pd.Series([cell], dtype="str")).iloc[0] for cell in cells]
    assert times.moments(pd.Series(cells * 3, dtype="str")).tolist()[: len(cells)] == alone
    assert alone[:4] == [pd.Timestamp("2024-06-09 14:18Z")] * 4

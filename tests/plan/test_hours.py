"""Openings cut to an operator's hours by the local clock: summer time, half-hour zones, the date line."""

import numpy as np
import pandas as pd
import pytest

from analysis.fit.ahead.days import model_days
from analysis.plan.hours import days_in_hours, within_hours
from tests.fit.test_days import OPENING, cells, series


def opening(start, end, **changes):
    """One opening between two UTC times, its duration not corrected unless asked."""
    start, end = (pd.to_datetime(pd.Series([time]), utc=True) for time in (start, end))
    table = pd.DataFrame({"start": start, "end": end}).assign(**OPENING)
    return table.assign(**({"duration_min": (end - start).dt.total_seconds() / 60} | changes))


def pieces(start, end, hours, zone):
    """Start, end and minutes of what is left of an opening."""
    found = within_hours(opening(start, end), hours=hours, zone=zone)
    return [
        (f"{one.start:%m-%d %H:%M}", f"{one.end:%m-%d %H:%M}", round(one.duration_min))
        for one in found.itertuples()
    ]


@pytest.mark.parametrize(
    ("zone", "start", "end", "hours", "expected"),
    [
        # Directive 2000/84/EC: summer time from 01:00 UTC of 30 March 2025. 01:30 CET .. 04:00 CEST.
        (
            "Europe/Madrid",
            "2025-03-30T00:00",
            "2025-03-30T06:00",
            (1.5, 4),
            ("03-30 00:30", "03-30 02:00", 90),
        ),
        # The same night 02:30 does not exist: the hours begin when the clocks have gone forward.
        (
            "Europe/Madrid",
            "2025-03-30T00:00",
            "2025-03-30T06:00",
            (2.5, 4),
            ("03-30 01:00", "03-30 02:00", 60),
        ),
        # Directive 2000/84/EC: until 01:00 UTC of 26 October 2025, so 02 to 03 o'clock comes twice.
        (
            "Europe/Madrid",
            "2025-10-25T21:00",
            "2025-10-26T06:00",
            (2, 3),
            ("10-26 00:00", "10-26 02:00", 120),
        ),
        # New South Wales, Standard Time Act 1987: ends 6 April 2025, 03:00 AEDT = 5 April 16:00 UTC.
        (
            "Australia/Sydney",
            "2025-04-05T12:00",
            "2025-04-05T20:00",
            (2, 3),
            ("04-05 15:00", "04-05 17:00", 120),
        ),
        # The same act: begins 5 October 2025, 02:00 AEST = 4 October 16:00 UTC; 01 to 04 is two hours long.
        (
            "Australia/Sydney",
            "2025-10-04T12:00",
            "2025-10-04T20:00",
            (1, 4),
            ("10-04 15:00", "10-04 17:00", 120),
        ),
        # Indian Standard Time is UTC + 5:30 all year (IANA time zone database, asia).
        (
            "Asia/Kolkata",
            "2025-06-10T10:00",
            "2025-06-10T20:00",
            (20, 22),
            ("06-10 14:30", "06-10 16:30", 120),
        ),
        # Nepal is UTC + 5:45 (IANA time zone database, asia).
        (
            "Asia/Kathmandu",
            "2025-06-10T10:00",
            "2025-06-10T20:00",
            (20, 22),
            ("06-10 14:15", "06-10 16:15", 120),
        ),
        # Either side of the date line: UTC + 14 and UTC - 10 read the same clock a day apart.
        (
            "Pacific/Kiritimati",
            "2025-06-11T00:00",
            "2025-06-11T12:00",
            (18, 20),
            ("06-11 04:00", "06-11 06:00", 120),
        ),
        (
            "Pacific/Honolulu",
            "2025-06-11T00:00",
            "2025-06-11T12:00",
            (18, 20),
            ("06-11 04:00", "06-11 06:00", 120),
        ),
        # Past midnight.
        ("UTC", "2025-06-10T20:00", "2025-06-11T05:00", (22, 2), ("06-10 22:00", "06-11 02:00", 240)),
    ],
)
def test_hours_by_the_local_clock(zone, start, end, hours, expected):
    """What is left of an opening between two local hours."""
    assert pieces(start, end, hours, zone) == [expected]


def test_two_evenings_of_one_opening():
    """An opening of thirty hours leaves a piece in each evening."""
    found = pieces("2025-06-10T12:00", "2025-06-11T22:00", (18, 20), "UTC")
    assert found == [("06-10 18:00", "06-10 20:00", 120), ("06-11 18:00", "06-11 20:00", 120)]


def test_nothing_left_outside_the_hours():
    """An opening in the morning is none for an evening operator."""
    assert pieces("2025-06-10T06:00", "2025-06-10T09:00", (18, 20), "UTC") == []


def test_correction_is_kept():
    """An opening inside the hours keeps its corrected duration; one cut in half keeps half of it."""
    inside = opening("2025-06-10T12:00", "2025-06-10T13:00", duration_min=80.0)
    assert within_hours(inside, hours=(10, 20), zone="UTC")["duration_min"].tolist() == [80]
    assert within_hours(inside, hours=(12.5, 20), zone="UTC")["duration_min"].tolist() == [40]


def test_whole_day_changes_nothing():
    """Without hours the openings stay as they are."""
    one = opening("2025-06-10T12:00", "2025-06-10T13:00")
    assert within_hours(one, hours=(0.0, 24.0), zone="Europe/Madrid") is one


def test_all_hours_together_lose_nothing():
    """Cut into the three thirds of every day, the pieces add up to the openings, whatever the clocks do."""
    rng = np.random.default_rng(3)
    start = pd.Timestamp("2025-03-29", tz="UTC") + pd.to_timedelta(
        rng.integers(0, 60 * 24 * 210, 300), unit="min"
    )
    table = pd.DataFrame(
        {"start": start, "end": start + pd.to_timedelta(rng.integers(1, 2000, 300), unit="min")}
    )
    table["duration_min"] = (table["end"] - table["start"]).dt.total_seconds() / 60
    for zone in ("Europe/Madrid", "Australia/Lord_Howe", "Pacific/Apia"):
        thirds = [within_hours(table, hours=hours, zone=zone) for hours in ((22, 6), (6, 14), (14, 22))]
        total = sum(third["duration_min"].sum() for third in thirds)
        assert total == pytest.approx(table["duration_min"].sum())


def test_days_of_an_evening_operator():
    """Only openings of half an hour within the evening count, and only evenings heard are monitored."""
    table = cells("2025-06-01", "2025-06-20", lon=0)
    hour = table["start"].dt.hour
    table["n_listening"] = hour.between(16, 21).astype("int64")
    one = series(table)
    found = pd.concat(
        [
            opening("2025-06-10T17:00", "2025-06-10T18:00"),
            opening("2025-06-11T08:00", "2025-06-11T09:00"),
            opening("2025-06-12T15:00", "2025-06-12T16:20"),
        ]
    )
    days = days_in_hours(found, one, hours=(18, 22), zone="Europe/Madrid").days.set_index("date")
    assert days["monitored"].all()
    assert list(days.index[days["open"]].day) == [10]
    morning = days_in_hours(found, one, hours=(8, 12), zone="Europe/Madrid").days
    assert not morning["monitored"].any()


def test_all_day_is_the_plain_count():
    """Without hours the days are those of the series as it stands."""
    table = cells("2025-06-01", "2025-06-20", lon=0)
    table["n_listening"] = table["start"].dt.day % 3
    found = opening("2025-06-10T17:00", "2025-06-10T18:00")
    one = series(table, found)
    plain = model_days(one.days)
    assert plain["monitored"].nunique() == 2
    pd.testing.assert_frame_equal(
        days_in_hours(found, one, hours=(0.0, 24.0), zone="Asia/Kolkata").days, plain
    )

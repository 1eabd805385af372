"""Monitors told by their nights, not by the sum of their spans."""

import numpy as np
import pandas as pd
import pytest

from analysis.find import listening
from analysis.find.proof import monitors
from benchmarks import ears
from tests.find.make import at, tagged


def test_sparse_nights_hide_no_receiver():
    """Four receivers with a signal every three hours at night are four monitors, and their nights are listened to."""
    points = ears.always_on(1, 0.35, days=70)
    always = monitors.runs(points)
    assert always["station"].nunique() == 4
    silence = monitors.silences_listened_through(points, always)
    assert (silence > 120).sum() > 100


@pytest.mark.parametrize("share", [0.2, 0.5])
def test_half_hours_by_chance_make_no_monitor(share):
    """People on in half-hours by chance are heard at every hour of the night and are no monitors."""
    points = ears.part_time(1, share, days=70)
    assert monitors.runs(points).empty


def test_a_long_silence_is_no_listening():
    """A receiver that hears five an hour is off after an hour's silence; by night it may hear nothing for hours."""
    points = ears.always_on(2, 0.35, days=70)
    noon = points["time"].between("2024-06-08 10:00Z", "2024-06-08 15:00Z")
    points = points[~noon].sort_values("time", ignore_index=True)
    silence = monitors.silences_listened_through(points, monitors.runs(points))
    after = points[points["time"] > "2024-06-08 15:00Z"].drop_duplicates("station").index
    assert (silence[after] == 0).all()


def test_few_opening_days_by_monitors_are_not_enough():
    """39 days with a report by the monitor leave room for others, 40 do not; other stations' days do not count."""
    start = pd.Timestamp("2024-05-01", tz="UTC")
    span = {"station": ["Q1RX"], "band": ["6m"], "start": [start], "end": [start + pd.Timedelta("90D")]}
    heard = pd.DataFrame(span).assign(basis="monitor")
    for days, enough in ((39, False), (40, True)):
        minutes = [1440.0 * day + 600 for day in range(days)]
        rows = tagged(at(minutes, day="2024-05-02", rx_call="Q1RX"))
        assert listening.monitors_suffice(rows, heard, band="6m") == enough
        other = rows.assign(rx_call="Q2RX")
        assert not listening.monitors_suffice(other, heard, band="6m")


def silent(step_min, minutes):
    """Sixty days of a station that hears something at regular times, once silent for so many minutes."""
    heard, begin = np.arange(0.0, 60 * 1440, step_min), 14 * 1440.0
    heard = np.r_[heard[heard <= begin], begin + minutes, heard[heard > begin + minutes]]
    return at(heard, day="2024-05-01").assign(station="Q1RX", band="6m")


ALWAYS = pd.DataFrame(
    {
        "station": ["Q1RX"],
        "band": ["6m"],
        "start": [pd.Timestamp("2024-05-01", tz="UTC")],
        "end": [pd.Timestamp("2024-06-30", tz="UTC")],
    }
)


@pytest.mark.parametrize(("minutes", "through"), [(140.0, True), (170.0, False)])
def test_five_receptions_due_end_a_silence(minutes, through):
    """Two an hour: of 140 silent minutes 4.7 are due and it was listened through, of 170 minutes 5.6."""
    allowed = monitors.silences_listened_through(silent(30.0, minutes), ALWAYS)
    assert (allowed.max() > 100) == through


@pytest.mark.parametrize(("hours", "through"), [(12.0, True), (12.1, False)])
def test_half_a_day_is_never_listened_through(hours, through):
    """However little a station hears, a silence of more than twelve hours proves nothing."""
    allowed = monitors.silences_listened_through(silent(240.0, hours * 60), ALWAYS)
    assert (allowed.max() > 600) == through

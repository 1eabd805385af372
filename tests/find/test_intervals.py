"""Spans per station and band, against a minute-by-minute count."""

from collections import Counter

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.find import intervals

EDGES = st.lists(st.tuples(st.sampled_from("AB"), st.integers(0, 60), st.integers(1, 30)), max_size=8)


def table(rows):
    """Spans from (station, first minute, length)."""
    start = intervals.times(np.array([first for _, first, _ in rows], dtype=float))
    end = intervals.times(np.array([first + length for _, first, length in rows], dtype=float))
    names = pd.Series([station for station, *_ in rows], dtype="str")
    return pd.DataFrame({"station": names, "band": "6m", "start": start, "end": end})


def covered(spans):
    """Every (station, minute) that a table covers, with how often."""
    ends = zip(intervals.minutes(spans["start"]), intervals.minutes(spans["end"]), strict=True)
    pairs = zip(spans["station"], ends, strict=True)
    return Counter(
        (station, minute) for station, (start, end) in pairs for minute in range(int(start), int(end))
    )


@settings(max_examples=30, deadline=None)
@given(EDGES, EDGES)
def test_overlay_covers_what_its_layers_cover(one, two):
    """Pieces never overlap, and each says rightly which layers lie over it."""
    pieces = intervals.overlay(one=table(one), two=table(two))
    assert set(covered(pieces).values()) <= {1}
    for name, rows in (("one", one), ("two", two)):
        assert set(covered(pieces[pieces[name]])) == set(covered(table(rows)))


@settings(max_examples=30, deadline=None)
@given(EDGES)
def test_union_joins_neighbours(rows):
    """No two spans of one station touch."""
    joined = intervals.union(table(rows))
    same = joined["station"] == joined["station"].shift()
    assert (joined["start"] > joined["end"].shift())[same].all()


def test_hours_per_day_are_cut_at_midnight():
    """22:00 to 02:00 two days on: 2, 24 and 2 hours."""
    days = intervals.per_day(table([("A", 22 * 60, 28 * 60)]))
    assert list(days["day"]) == [0, 1, 2]
    assert list(days["hours"]) == pytest.approx([2, 24, 2])


def test_minutes_and_times_are_inverse():
    """A microsecond survives the round trip."""
    moments = pd.Series(
        pd.to_datetime(["2024-06-10 23:59:59.999999", "1958-01-01"], utc=True, format="mixed")
    )
    assert (intervals.times(intervals.minutes(moments)) - moments).abs().max() <= pd.Timedelta(microseconds=1)

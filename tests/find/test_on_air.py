"""Who was on the air: receivers by listening, senders by other means than the opening, beacons always."""

import numpy as np
import pandas as pd
import pytest

from analysis.find.listening import find_listening
from analysis.find.on_air import watch
from analysis.find.watched import over
from tests.find.make import at, tagged

HOME, LOCAL, FAR, BEACON = "IN93", "IN94", "JO20", "JO31"


def day(*tables, beacons=None):
    """What is known of one day's half-hours from rows of reports."""
    spots = tagged(pd.concat(tables, ignore_index=True))
    return watch(spots, find_listening(spots), band="6m", mechanism="ES", beacons=beacons)


def near(minutes, *, tx="Q3NEAR", rx="Q1RX"):
    """A station next door, heard by ground wave."""
    ends = {"tx_locator": LOCAL, "rx_locator": HOME}
    return at(minutes, mechanism="LOS", distance_km=110.0, tx_call=tx, rx_call=rx, **ends)


def opening(minutes, *, tx="Q2FAR", square=FAR):
    """A far station by sporadic E."""
    ends = {"tx_locator": square, "rx_locator": HOME}
    return at(minutes, mechanism="ES", tx_call=tx, rx_call="Q1RX", **ends)


def on(marks, seen, square):
    """Half-hours of the day in which a square is marked."""
    column = marks[:, [list(seen.squares).index(square)]].toarray().ravel()
    return np.flatnonzero(column).tolist()


def test_receivers_by_listening_and_senders_by_other_means():
    """Local reports from 10:00 to 11:30 prove home's receiver and the local sender; the opening proves nobody."""
    seen = day(near(range(600, 691, 10)), opening([615, 625, 1000]))
    assert on(seen.receivers, seen, HOME) == [20, 21, 22]  # until 11:40, ten minutes after the last
    assert on(seen.senders, seen, LOCAL) == [20, 21, 22, 23]
    assert on(seen.senders, seen, FAR) == []
    assert on(seen.receivers, seen, FAR) == []
    bins, rx, tx = seen.sightings[["half_hour", "rx", "tx"]].to_numpy().T
    found = list(zip(bins, seen.squares[rx], seen.squares[tx], strict=True))
    assert found == [(20, HOME, FAR), (33, HOME, FAR)]
    assert len(over(seen, "mixed").sightings) == 2
    assert len(over(seen, "sea").sightings) == 0


def test_ten_minutes_are_no_half_hour():
    """A receiver known to be on for less than twenty minutes of a half-hour does not count in it."""
    seen = day(near([600, 605, 625]))
    assert on(seen.receivers, seen, HOME) == [20]  # until 10:35, from 9:50


def test_a_far_sender_heard_by_tropo_was_on():
    """Another mechanism proves a sender of the opening's distance."""
    tropo = opening([610]).assign(mechanism="TR", distance_km=900.0)
    seen = day(near(range(600, 691, 10)), tropo)
    assert on(seen.senders, seen, FAR) == [20]


def test_a_listed_beacon_is_on_while_the_band_is_shut():
    """Heard on two days, it counts on the day between too: else only open days would have senders."""
    beacons = pd.DataFrame({"call": ["Q0FAR/B"], "locator": ["JO31AA"], "freq_mhz": [50.4]})
    reports = [
        opening([700], tx="Q0FAR/B", square=BEACON).assign(
            time=lambda rows, n=n: rows["time"] + pd.Timedelta(days=n)
        )
        for n in (0, 2)
    ]
    seen = day(near(range(600, 691, 10)), *reports, beacons=beacons)
    assert on(seen.senders, seen, BEACON) == list(range(3 * 48))
    assert BEACON in day(near([600]), *reports).squares
    assert on(day(near([600]), *reports).senders, day(near([600]), *reports), BEACON) == []


@pytest.mark.parametrize("change", ["order", "twice"])
def test_neither_order_nor_repeats_matter(change):
    """Rows backwards or twice give the same."""
    spots = tagged(pd.concat([near(range(600, 691, 10)), opening([615, 625])], ignore_index=True))
    other = spots.iloc[::-1] if change == "order" else pd.concat([spots, spots], ignore_index=True)
    one, two = (watch(table, find_listening(table), band="6m", mechanism="ES") for table in (spots, other))
    assert (one.receivers != two.receivers).nnz == (one.senders != two.senders).nnz == 0
    assert one.squares.tolist() == two.squares.tolist()
    key = list(one.sightings)
    pd.testing.assert_frame_equal(
        one.sightings.sort_values(key), two.sightings.sort_values(key), check_like=True
    )


def test_nothing_gives_nothing():
    """Without reports there is no half-hour and no square."""
    spots = tagged(near([600])).iloc[:0]
    seen = watch(spots, find_listening(spots), band="6m", mechanism="ES")
    assert len(seen.starts) == len(seen.squares) == len(seen.sightings) == 0

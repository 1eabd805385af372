"""Silences of a station: what its own receptions say about how long it listened on."""

import numpy as np
import pandas as pd
import pytest
from scipy.linalg import expm

from analysis.find import listening
from analysis.find.proof import silences
from tests.find.make import locals_every, tagged, together


def receptions(rng, *, mean_on, mean_off, rate, days=90):
    """Minutes of receptions of a station that comes and goes at random, and whether it is on each minute."""
    on = np.zeros(days * 1440, bool)
    minute = 0.0
    while minute < len(on):
        length = rng.exponential(mean_on)
        on[int(minute) : int(minute + length)] = True
        minute += length + rng.exponential(mean_off)
    return np.flatnonzero(on & (rng.random(len(on)) < rate)), on


def points(minutes, *, station="Q1RX"):
    """Those receptions as a table."""
    time = pd.Timestamp("2024-05-01", tz="UTC") + pd.to_timedelta(minutes, unit="min")
    return pd.DataFrame({"station": station, "band": "6m", "time": time})


@pytest.mark.parametrize(
    ("mean_on", "mean_off", "rate"), [(120, 400, 0.1), (120, 1200, 0.012), (600, 600, 0.02)]
)
def test_chance_against_the_two_state_process(mean_on, mean_off, rate):
    """Two exponentials with the rates of the process give its own transition density."""
    # Definition: a Markov process that is on or off and brings reports while on.
    flow = np.array([[-1 / mean_on - rate, 1 / mean_on], [1 / mean_off, -1 / mean_off]])
    slow, quick = np.sort(-np.linalg.eigvals(flow).real)
    # Both forms must begin with the same slope, which fixes the weight of the quick one.
    weight = (
        slow
        * (1 / mean_on + rate - slow)
        / (slow * (1 / mean_on + rate - slow) + quick * (quick - 1 / mean_on - rate))
    )
    times = np.array([0.0, 20.0, 90.0, 300.0])
    found = silences._still_on(np.array([weight]), np.array([[quick], [slow]]), times)[0]
    assert found == pytest.approx([expm(flow * time)[0, 0] for time in times], rel=1e-9)


def test_rates_of_a_known_process_are_found():
    """From three months of receptions: the rate while on, and how often it comes on again."""
    rng = np.random.default_rng(4)
    minutes, _ = receptions(rng, mean_on=240, mean_off=400, rate=0.05)
    counts = silences._silences(np.zeros(len(minutes), int), minutes.astype(float))
    weight, rates = silences._two_rates(counts)
    while_on = weight * rates[0] + (1 - weight) * rates[1]
    assert while_on == pytest.approx(0.05, rel=0.1)
    # Product of the two rates: that of reports while on times that of coming on (the process's determinant).
    assert rates[0] * rates[1] / while_on == pytest.approx(1 / 400, rel=0.2)


def test_who_hears_much_is_given_no_more():
    """A station with a signal every two minutes is gone after an hour of silence; the least values hold."""
    minutes, _ = receptions(np.random.default_rng(1), mean_on=120, mean_off=400, rate=0.5)
    gap, pad = silences.allowed(points(minutes), gap_min=60, pad_min=10)
    assert set(gap) == {60.0}
    assert set(pad) == {10.0}


@pytest.mark.parametrize(("mean_on", "mean_off", "more"), [(300, 900, 1.5), (100, 150, 1.0)])
def test_who_hears_little_is_given_more_and_rightly(mean_on, mean_off, more):
    """A signal every 80 minutes while on: longer silences are bridged where sessions are long; it stays true."""
    minutes, on = receptions(np.random.default_rng(2), mean_on=mean_on, mean_off=mean_off, rate=1 / 80)
    found = listening.find_listening(
        tagged(points(minutes).rename(columns={"station": "rx_call"}).assign(mechanism="LOS"))
    )
    said = np.zeros_like(on)
    zero = pd.Timestamp("2024-05-01", tz="UTC")
    for first, past in zip(found["start"], found["end"], strict=True):
        said[max(int((first - zero).total_seconds() / 60), 0) : int((past - zero).total_seconds() / 60)] = (
            True
        )
    assert (said & on).sum() / said.sum() > 0.8
    narrow = np.diff(minutes)
    assert (said & on).sum() > more * narrow[narrow <= 60].sum()


def test_few_silences_say_nothing():
    """Thirty receptions are too few to go by, forty are enough; another station's do not help."""
    few = points(np.arange(0, 30 * 100, 100))
    many = points(np.arange(0, 40 * 100, 100), station="Q2RX")
    gap, _ = silences.allowed(pd.concat([few, many]), gap_min=60, pad_min=10)
    assert set(gap[:30]) == {60.0}
    assert set(gap[30:]) == {180.0}


def test_a_receiver_that_hears_its_beacon_every_two_hours_is_a_monitor():
    """Always on, with a signal every 120 minutes; in the hour it fails for a day it is not listening."""
    spots = locals_every(120, start="2024-05-01", days=90, station="Q5RX")
    failed = spots["time"].between("2024-06-10", "2024-06-11")
    found = listening.find_listening(together(spots[~failed]))
    assert listening.evidence_tier(found, band="6m") == "A"
    silent = pd.Timestamp("2024-06-10 12:00", tz="UTC")
    assert not ((found["start"] <= silent) & (found["end"] > silent)).any()


def test_no_receptions():
    """An empty table has no silences."""
    gap, pad = silences.allowed(points(np.array([], int)), gap_min=60, pad_min=10)
    assert len(gap) == len(pad) == 0

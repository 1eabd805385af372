"""The paths to one square: who could have heard whom, and what an empty answer means."""

import pandas as pd
import pytest

from analysis.find.listening import find_listening
from analysis.find.one_path import path_half_hours
from analysis.fit.share import share_open
from analysis.gather.problems import InputError
from tests.find.make import at, locals_every, together

DAY = "2025-09-10"
BEACON = pd.DataFrame({"call": ["Q2IN/B"], "locator": ["JN05aa"]})


@pytest.fixture(scope="module")
def spots():
    """A receiver in IN93 that runs for ten days, and tropo from a beacon in JN05 for one evening hour."""
    running = locals_every(10, start=DAY, days=10, station="Q1RX", band="2m")
    running = running.assign(tx_locator="IN93", rx_locator="IN93")
    known = at(
        [0, 14_000],
        day=DAY,
        band="2m",
        mechanism="TR",
        distance_km=300.0,
        tx_call="Q2IN/B",
        tx_locator="JN05",
    )
    evening = at([1200, 1215, 1235], day=DAY, band="2m", mechanism="TR", distance_km=300.0)
    evening = evening.assign(tx_call="Q2IN/B", tx_locator="JN05", rx_call="Q1RX", rx_locator="IN93")
    return together(running, known.assign(rx_call="Q3RX", rx_locator="IN80"), evening)


def asked(spots, **options):
    """Half-hours of 2 m tropo between the square and IN93."""
    listening = find_listening(spots)
    return path_half_hours(
        spots, listening, band="2m", mechanism="TR", home="IN93", beacons=BEACON, **options
    )


def test_both_ends_are_needed(spots):
    """The receiver runs and the beacon always does: every half-hour is watched, two of them open."""
    found = asked(spots, to="JN05")
    assert (found["watched"] > 0).sum() == 10 * 48
    assert found.loc[found["seen"] > 0, "start"].dt.strftime("%d %H:%M").tolist() == ["10 20:00", "10 20:30"]


def test_a_square_without_anybody_is_unknown(spots):
    """No sender and no receiver there: nothing is watched, which is not the same as closed."""
    found = asked(spots, to="JN99")
    assert len(found) > 400
    assert (found["watched"] == 0).all()
    assert (found["seen"] == 0).all()


def test_the_other_end_counts(spots):
    """Reports from elsewhere into the square are none of this path."""
    everywhere = path_half_hours(
        spots, find_listening(spots), band="2m", mechanism="TR", to="JN05", beacons=BEACON
    )
    assert everywhere["watched"].sum() >= asked(spots, to="JN05")["watched"].sum()
    assert asked(spots, to="JN05")["seen"].max() == 1


def test_night_is_told_by_the_sun(spots):
    """At 45 degrees north in September the Sun is well up at noon and well down at midnight."""
    found = asked(spots, to="JN05").set_index("start")["sun_deg"]
    noon, midnight = (found[pd.Timestamp(f"{DAY}T{hour}:00Z")] for hour in ("12", "00"))
    assert 40 < noon < 60
    assert -50 < midnight < -30


@pytest.mark.parametrize("ends", [{"to": "september"}, {"to": "JN05", "home": "XX"}])
def test_a_place_that_is_no_locator_gets_one_line(spots, ends):
    """The wrong one is named."""
    with pytest.raises(InputError, match=r"^(to september|home XX): is no locator"):
        path_half_hours(spots, find_listening(spots), band="2m", mechanism="TR", **ends)


def test_a_band_that_nobody_used_has_no_half_hours(spots):
    """Nothing gathered, nothing to ask; the answer in words does not fail on it."""
    found = path_half_hours(spots, find_listening(spots), band="70cm", mechanism="TR", to="JN05")
    assert found.empty
    assert share_open(found.query("month == 9 and sun_deg < -6")).verdict == "refuse"

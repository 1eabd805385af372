"""Half-hours of a season at home, and what is known of each."""

import pandas as pd

from analysis.find.diary.calendar import here_calendar
from analysis.find.listening import find_listening
from analysis.find.openings import find_openings
from analysis.gather import locators
from tests.find.make import at, locals_every, tagged, together

HOME = locators.place("IN93")
SERIES = {"band": "6m", "mechanism": "ES"}


def states(spots):
    """State by half-hour of 10 June."""
    listening = find_listening(spots)
    spots, openings = find_openings(spots, listening=listening, home=HOME)
    table = here_calendar(openings, spots, listening, **SERIES, **HOME)
    day = table[table["start"].dt.floor("D") == pd.Timestamp("2024-06-10", tz="UTC")]
    return day.set_index(day["start"].dt.strftime("%H%M"))["state"]


def test_open_quiet_and_unknown():
    """A receiver near home listens until noon; two contacts of home's cross a half-hour's border."""
    heard = locals_every(30, start="2024-06-05", days=5.5, station="Q1W").assign(
        rx_locator="IN93", tx_locator="IN93"
    )
    calls = {"tx_call": ["Q1A", "Q1B"], "rx_call": "Q1W"}
    opened = at([625, 635], rx_locator="IN93", tx_locator="JO60", **calls)
    found = states(together(heard, opened).assign(hops=1))
    assert found[["0930", "1000", "1030", "1100"]].tolist() == ["quiet", "open", "open", "quiet"]
    assert found["1500"] == "unknown"
    assert len(found) == 48


def test_closed_for_sure():
    """Four local contacts of home's in a half-hour, none by sporadic E."""
    near = {
        "kind": "worked",
        "mechanism": "LOS",
        "distance_km": 90.0,
        "rx_locator": "IN93",
        "tx_locator": "IN94",
    }
    found = states(tagged(at([600, 605, 610, 615], **near)))
    assert found["1000"] == "closed"
    assert (found.drop("1000") == "unknown").all()


def test_nothing_known_is_no_row():
    """No report of the band: an empty table with its columns."""
    table = here_calendar(
        find_openings(tagged(at([600])), home=HOME)[1],
        tagged(at([600], band="2m")),
        find_listening(tagged(at([600]))),
        band="4m",
        mechanism="ES",
        **HOME,
    )
    assert table.empty
    assert list(table) == ["start", "season", "season_day", "hour", "state"]

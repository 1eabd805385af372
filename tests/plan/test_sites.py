"""Places on the map: locators, coasts, sea headings and the sun, against what atlases and almanacs say."""

import math

import pytest

from analysis.gather.problems import InputError
from analysis.plan.sites import ground, headings, place, sun_times


def test_place_is_the_centre():
    """A square's centre lies half a cell in."""
    # IARU Region 1 VHF Managers Handbook: IN93 is 2 W to 0, 43 N to 44 N.
    assert place("in93") == (-1.0, 43.5)


@pytest.mark.parametrize("text", ["", "IN9", "ZZ99", "IN93ZZ", "<script>", "IN93\n"])
def test_no_locator_is_one_line(text):
    """What is no locator is named, with the repair."""
    if text.strip() == "IN93":
        assert place(text) == place("IN93")
        return
    with pytest.raises(InputError, match="no locator; give"):
        place(text)


@pytest.mark.parametrize(
    ("lon", "lat", "word", "low", "high"),
    [
        # Any atlas: Madrid lies some 300 km from the nearest sea, Land's End at it, Biscay in it.
        (-3.70, 40.42, "inland", 270, 330),
        (-5.68, 50.08, "coast", 0, 6),
        (-5.0, 45.5, "sea", 0, 0),
    ],
)
def test_ground_and_coast(lon, lat, word, low, high):
    """Ground and distance to the sea."""
    found = ground(lon=lon, lat=lat)
    assert found["ground"] == word
    assert low <= found["coast_km"] <= high


def test_far_from_any_coast():
    """Near Eurasia's pole of inaccessibility (46.28 N 86.67 E) no sea or large lake lies within 500 km."""
    found = ground(lon=86.67, lat=46.28)
    assert found["ground"] == "inland"
    assert math.isnan(found["coast_km"])


def test_coast_across_the_date_line():
    """Taveuni, Fiji, at 180 degrees, is an island; so says the grid from either side."""
    for lon in (179.99, -179.99):
        assert ground(lon=lon, lat=-16.85)["coast_km"] < 20


def test_sea_headings_of_a_headland():
    """From Cape Finisterre (42.88 N 9.27 W) the Atlantic lies west, Spain east."""
    table = headings(lon=-9.27, lat=42.88).set_index("heading")
    assert table.loc[["west", "south-west", "north-west"], "path_type"].tolist() == ["sea"] * 3
    assert table.loc["east", "path_type"] != "sea"
    assert table.loc["west", "longest_sea_km"] > 300


@pytest.mark.parametrize(
    ("lon", "lat", "zone", "sunrise", "sunset"),
    [
        # US Naval Observatory, sun table for Greenwich (51.48 N, 0.00 E), 21 June: 03:43 and 20:21 UTC.
        (0.0, 51.48, "UTC", "03:43", "20:21"),
        # Geoscience Australia, Sydney (33.87 S 151.21 E), 21 December: 05:41 and 20:05 summer time.
        (151.21, -33.87, "Australia/Sydney", "05:41", "20:05"),
    ],
)
def test_sun_at_midsummer(lon, lat, zone, sunrise, sunset):
    """Midsummer sunrise and sunset by the local clock, to two minutes."""
    found = sun_times(lon=lon, lat=lat, zone=zone, year=2025)
    for name, expected in (("sunrise", sunrise), ("sunset", sunset)):
        minutes = [int(text[:2]) * 60 + int(text[3:]) for text in (found[name], expected)]
        assert abs(minutes[0] - minutes[1]) <= 2


def test_midnight_sun_has_no_sunrise():
    """At 75 N the midsummer sun neither rises nor sets."""
    assert sun_times(lon=20.0, lat=75.0, zone="UTC", year=2025) == {"sunrise": "", "sunset": ""}

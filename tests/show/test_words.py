"""Numbers, dates and trade terms read the way an operator writes them."""

import pytest

from analysis.show.wording import words


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (0.344, "34 %"),
        (0.004, "0.4 %"),
        (0.0002, "less than 0.1 %"),
        (0.0, "0 %"),
        (0.997, "more than 99 %"),
        (1.0, "100 %"),
    ],
)
def test_percent_promises_no_false_digits(share, text):
    """A percentage has as many digits as it can carry."""
    assert words.percent(share) == text


@pytest.mark.parametrize(
    ("hour", "text"), [(10.75, "11:00"), (10.7, "10:30"), (23.9, "00:00"), (0.0, "00:00")]
)
def test_clock_is_never_finer_than_half_an_hour(hour, text):
    """Hours are rounded to half hours and wrap at midnight."""
    assert words.clock(hour) == text


def test_days_and_runs():
    """A run names its month once where it can."""
    assert words.date("2025-06-01") == "1 June 2025"
    assert words.run_of_days("2025-06-14", "2025-06-23") == "14 to 23 June"
    assert words.run_of_days("2025-06-28", "2025-07-07") == "28 June to 7 July"


def test_series_and_lists():
    """Bands and series carry the trade's words."""
    assert words.series(band_name="2m", mechanism="TR", path_type="sea") == "tropo over sea on 2 m"
    assert words.band("70cm") == "70 cm"
    assert words.band("1.25m") == "1.25 m"
    assert words.listed(["6 m", "4 m", "2 m"]) == "6 m, 4 m and 2 m"
    assert words.listed([]) == ""


def test_sun_phase_is_no_clock_time():
    """Sun-phase hours come back as words without a digit, also across midnight."""
    assert words.sun_phase(6.3) == "around sunrise"
    assert words.sun_phase(23.8) == words.sun_phase(0.2) == "in the middle of the night"
    assert not any(letter.isdigit() for hour in range(25) for letter in words.sun_phase(hour))


def test_square_names_no_house():
    """Locators of others stop at four characters."""
    assert words.square("IN93ab12") == "IN93"
    assert words.square("") == ""


def test_numbers_stay_beside_their_units():
    """Lines break neither before a unit nor inside a range."""
    assert words.kept_together("6 % (4 to 9 %) on 6 m") == "6\u00a0% (4\u00a0to\u00a09\u00a0%) on 6\u00a0m"
    assert words.kept_together("12 June to 3 July") == "12 June to 3 July"


def test_part_of_month():
    """A third of a month, as a person would say it."""
    said = [words.part_of_month(f"2001-06-{day:02d}") for day in (1, 10, 11, 20, 21, 30)]
    assert said == ["early June"] * 2 + ["mid-June"] * 2 + ["late June"] * 2

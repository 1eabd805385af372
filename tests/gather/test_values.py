"""Numbers, calls and bands, read the quick way and the patient way alike."""

import numpy as np
import pandas as pd
import pytest

from analysis.gather.cells import values


def read(function, *text):
    return function(pd.Series(text, dtype="str")).tolist()


@pytest.mark.parametrize(
    "text", ["50.313", "+50.313", "50.", ".5", "-12", "0050.25", "1e5", "5-3", "1.2.3", "7 W", ""]
)
def test_a_plain_column_is_read_like_a_mixed_one(text):
    """A number means the same whether or not a cell beside it needs the patient way."""
    alone, beside = read(values.numbers, text)[0], read(values.numbers, text, "about 7")[0]
    assert alone == beside or (np.isnan(alone) and np.isnan(beside))


def test_calls_have_a_letter_and_a_digit():
    """Letters alone, digits alone and stray strokes are no call."""
    assert (
        read(values.calls, "q2ab", "Q2AB/P", "QABC", "1234", "/Q2AB", "Q2//P", "Q2")
        == ["Q2AB", "Q2AB/P"] + [""] * 5
    )


def test_edges_of_bands():
    """A frequency on the edge of a band lies in it, one between bands in none."""
    # ADIF 3.1.7, section III.B, enumeration Band: 6m is 50 to 54 MHz, 5m begins at 54.000001 MHz, 2m is 144 to 148 MHz
    got = values.band_of(pd.Series([50.0, 54.0, 54.000001, 49.999999, 144.0, 148.0, 148.000001, 0.0, np.nan]))
    assert got.tolist() == ["6m", "6m", "5m", "", "2m", "2m", "", "", ""]


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("5e1", 50.0),
        ("1.5E+3 W", 1500.0),
        ("1e400", np.nan),
        ("1:30", np.nan),
        ("1.2.3", np.nan),
        ("50-54", np.nan),
    ],
)
def test_a_number_is_read_whole_or_not_at_all(text, number):
    """Powers of ten count; what only begins like a number, or is beyond all measure, is none."""
    assert read(values.numbers, text) == pytest.approx([number], nan_ok=True)


@pytest.mark.parametrize("text", ["٥٠.٣", "５０", "5٠", "۱۲۳", "²"])
@pytest.mark.parametrize("function", [values.numbers, values.degrees])
def test_digits_of_other_scripts_are_no_numbers(function, text):
    """A digit that is none of 0 to 9 makes its own cell unreadable and leaves its neighbours as they are."""
    assert read(function, text, "7") == pytest.approx([np.nan, 7], nan_ok=True)


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("N045 30.000", 45.5), ("W001 30.000", -1.5), ("45.5", 45.5), ("-1,5", -1.5), ("45.5S", -45.5), ("1.5° W", -1.5),
        ("N 45.5", 45.5), ("1e400", np.nan), ("45.5 north or so", np.nan),
    ],
)  # fmt: skip
def test_degrees_north_and_east(text, degrees):
    """Degrees as the ADIF standard writes them or decimal, the letter of a hemisphere before or behind them."""
    # ADIF 3.1.7, section II.B.1, data type Location: XDDD MM.MMM, X one of N, S, E, W
    assert read(values.degrees, text) == pytest.approx([degrees], nan_ok=True)


def test_a_long_sorted_column_is_known_to_repeat():
    """Days of a season in order repeat beside each other, calls at random far apart; seconds do neither."""
    rng = np.random.default_rng(4)
    days = pd.Series(np.repeat([f"day {i}" for i in range(2000)], 50), dtype="str")
    calls = pd.Series(rng.choice([f"Q{i}A" for i in range(2000)], 100_000), dtype="str")
    seconds = pd.Series([f"second {i}" for i in range(100_000)], dtype="str")
    assert [values.mostly_distinct(one) for one in (days, calls, seconds)] == [False, False, True]

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

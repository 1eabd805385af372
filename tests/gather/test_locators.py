"""Locators against published examples, the definition's edges, and as a round trip."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.gather import locators


@pytest.mark.parametrize(
    ("lat", "lon", "expected"),
    [
        # QST, January 1989, worked examples (from memory, recomputed by the definition)
        (48.14666, 11.60833, "JN58TD"),
        (-34.91, -56.21166, "GF15VC"),
        (38.92, -77.065, "FM18LW"),
        (-41.28333, 174.745, "RE78IR"),
        (41.714775, -72.72726, "FN31PR"),
        # The definition's edges (IARU Region 1 VHF Managers Handbook): the pole belongs to the last cell, 180 E is 180 W
        (90.0, 0.0, "JR09AX"),
        (0.0, 180.0, "AJ00AA"),
        (-90.0, -180.0, "AA00AA"),
    ],
)
@pytest.mark.outside
def test_encode(lat, lon, expected):
    """Places encode to the published locator."""
    assert locators.encode(lat=lat, lon=lon) == expected


@pytest.mark.parametrize(
    ("text", "lat", "lon"),
    [
        # Worked example of IARU Region 1 contest rules (distance JO55WW to JO65FR), centres to 1e-9 degrees
        ("JO55WW", 55.9375, 11.875),
        ("JO65FR", 55.7291666667, 12.4583333333),
    ],
)
@pytest.mark.outside
def test_centre(text, lat, lon):
    """Centres are those of the published example."""
    centre = locators.centre(pd.Series([text.lower()])).iloc[0]
    assert centre["lat"] == pytest.approx(lat, abs=1e-9)
    assert centre["lon"] == pytest.approx(lon, abs=1e-9)


def test_no_locators():
    """Letters past X in a subsquare or past R in a field, and odd lengths, are no locators."""
    centres = locators.centre(pd.Series(["JN58ZZ", "SA00", "JN5", "JN58T", "", None]))
    assert centres.isna().all().all()


@settings(deadline=None, max_examples=40)
@given(
    lat=st.floats(-90, 90),
    lon=st.floats(-180, 180),
    length=st.sampled_from([4, 6, 8]),
)
def test_round_trip(lat, lon, length):
    """A point lies in the cell that its locator names, to the rounding of a boundary."""
    text = locators.encode(lat=lat, lon=lon, length=length)
    cell = locators.centre(pd.Series([text])).iloc[0]
    assert abs(lat - cell["lat"]) <= cell["half_width_deg"] / 2 + 1e-6
    east = (lon - cell["lon"] + 180) % 360 - 180
    assert abs(east) <= cell["half_width_deg"] + 1e-6
    assert locators.encode(lat=cell["lat"], lon=cell["lon"], length=length) == text


def test_encode_refuses():
    """A length that no locator has, and a point that is none, are refused."""
    with pytest.raises(ValueError, match="4, 6 or 8"):
        locators.encode(lat=0, lon=0, length=5)
    with pytest.raises(ValueError, match="no point"):
        locators.encode(lat=np.nan, lon=0)

"""Geodesics against published lines and an independent implementation."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.tag import paths


def dms(degrees, minutes, seconds):
    """Decimal degrees; the sign stands on the degrees."""
    return np.copysign(abs(degrees) + minutes / 60 + seconds / 3600, degrees)


def line(lat1, lon1, lat2, lon2):
    """Geodesic from point 1, the receiver, to point 2."""
    return paths.geodesics(lon1=[lon1], lat1=[lat1], lon2=[lon2], lat2=[lat2]).iloc[0]


def pairs(*rows):
    """Pairs of locators, transmitter first."""
    return pd.DataFrame(rows, columns=["tx_locator", "rx_locator"])


@pytest.mark.outside
def test_flinders_peak_to_buninyong():
    """A line surveyors test with, to a millimetre and a hundredth of a second."""
    flinders = dms(-37, 57, 3.72030), dms(144, 25, 29.52440)
    buninyong = dms(-37, 39, 10.15610), dms(143, 55, 35.38390)
    result = line(*flinders, *buninyong)
    # Geoscience Australia, GDA technical manual: 54 972.271 m, 306 52 05.37, 127 10 25.07
    assert result["distance_km"] * 1000 == pytest.approx(54972.271, abs=1e-3)
    assert result["bearing_deg"] == pytest.approx(dms(306, 52, 5.37), abs=0.01 / 3600)
    assert result["tx_bearing_deg"] == pytest.approx(dms(127, 10, 25.07), abs=0.01 / 3600)


@pytest.mark.outside
@pytest.mark.parametrize(
    ("points", "metres", "azimuth", "arriving"),
    [
        # Karney, J. Geodesy 87, 43 (2013), tables 4 and 5 (from memory, recomputed)
        ((-30, 0, 29.9, 179.8), 19989832.8276, 161.890524736, 18.090737246),
        # GeographicLib documentation: Wellington to Salamanca (from memory, recomputed)
        ((-41.32, 174.81, 40.96, -5.50), 19959679.2674, 161.067669986, 18.825195123),
    ],
)
def test_nearly_antipodal(points, metres, azimuth, arriving):
    """Lines at which simpler methods fail, flagged as what they are."""
    result = line(*points)
    assert result["distance_km"] * 1000 == pytest.approx(metres, abs=1e-3)
    assert result["bearing_deg"] == pytest.approx(azimuth, abs=1e-8)
    assert result["tx_bearing_deg"] == pytest.approx((arriving + 180) % 360, abs=1e-8)
    assert result["antipodal"]


@pytest.mark.outside
def test_ten_thousand_kilometres():
    """The direct problem's end point, found back."""
    # Karney, J. Geodesy 87, 43 (2013), table 2 (from memory, recomputed): 40 N, azimuth 30, 10 000 km
    result = line(40, 0, 41.79331020506, 137.84490004377)
    assert result["distance_km"] == pytest.approx(10000, abs=1e-6)
    assert result["bearing_deg"] == pytest.approx(30, abs=1e-8)
    assert result["tx_bearing_deg"] == pytest.approx((149.09016931807 + 180) % 360, abs=1e-8)


@pytest.mark.outside
def test_locator_pair():
    """The worked example of the contest rules, on the ellipsoid."""
    table = paths.pair_table(pairs(("JO65FR", "JO55WW")))
    # IARU Region 1 example JO55WW-JO65FR (43.17 km on the sphere of the rules); WGS84 by geographiclib
    assert table.loc[0, "distance_km"] == pytest.approx(43.29069, abs=1e-4)


@given(lat1=st.floats(-89, 89), lon1=st.floats(-180, 180), lat2=st.floats(-89, 89), lon2=st.floats(-180, 180))
def test_against_geographiclib(lat1, lon1, lat2, lon2):
    """Distance to a millimetre of GeographicLib's Python twin, and the midpoint halves it."""
    geodesic = pytest.importorskip("geographiclib.geodesic").Geodesic.WGS84
    result = line(lat1, lon1, lat2, lon2)
    # GeographicLib (Karney) is the oracle
    expected = geodesic.Inverse(lat1, lon1, lat2, lon2)["s12"]
    assert result["distance_km"] * 1000 == pytest.approx(expected, abs=1e-3)
    half = geodesic.Inverse(lat1, lon1, result["mid_lat"], result["mid_lon"])["s12"]
    assert half == pytest.approx(expected / 2, abs=1e-3)


def test_bearings_are_from_the_receiver():
    """A transmitter due east of the receiver is at 90 degrees, seen back at 270."""
    table = paths.pair_table(pairs(("JJ10", "JJ00")))
    assert table.loc[0, "bearing_deg"] == pytest.approx(90, abs=0.01)
    assert table.loc[0, "tx_bearing_deg"] == pytest.approx(270, abs=0.01)


def test_quarter_points_lie_in_order():
    """From the receiver: a quarter, the middle, three quarters."""
    result = line(0, 0, 0, 40)
    assert result[["near_lon", "mid_lon", "far_lon"]].tolist() == pytest.approx([10, 20, 30])


def test_midpoint_crosses_the_date_line():
    """Between 170 E and 170 W the middle is 180, not 0."""
    assert abs(line(0, 170, 0, -170)["mid_lon"]) == pytest.approx(180)


@pytest.mark.parametrize("names", [("IN93", "JN18EU"), ("JN05", "JN06"), ("FK68", "EM55"), ("IN93", "IN93")])
def test_distance_error_holds_every_placement(names):
    """No two points of the two cells are further from the centres' distance than the error says."""
    row = paths.pair_table(pairs(names)).iloc[0]
    shifts = np.linspace(-1, 1, 5)
    x1, y1, x2, y2 = (grid.ravel() for grid in np.meshgrid(shifts, shifts, shifts, shifts))
    moved = paths.geodesics(
        lon1=row["rx_lon"] + x1 * row["rx_half_width_deg"],
        lat1=row["rx_lat"] + y1 * row["rx_half_width_deg"] / 2,
        lon2=row["tx_lon"] + x2 * row["tx_half_width_deg"],
        lat2=row["tx_lat"] + y2 * row["tx_half_width_deg"] / 2,
    )["distance_km"]
    worst = (moved - row["distance_km"]).abs().max()
    assert worst <= row["distance_err_km"] * 1.05  # the bound is of first order
    assert row["distance_err_km"] <= worst * 1.35


@pytest.mark.definition
def test_distance_error_of_six_characters():
    """A 6-character cell at 50 N reaches at most 3.78 km from its centre."""
    table = paths.pair_table(pairs(("JO10AA", "IO80AA"), ("JO10AA", "JO10AA")))
    # Definition of the locator on WGS84: half diagonal at 50 N 3.78 km, at either end
    assert (table["distance_err_km"] <= 2 * 3.79).all()
    assert table.loc[1, "distance_err_km"] == pytest.approx(2 * 3.78, abs=0.05)


def test_missing_locators_are_nan():
    """One missing end leaves the whole path unknown, other rows untouched."""
    table = paths.pair_table(pairs(("", "IN93"), ("JN18", "IN93"), ("IN93", "XX")))
    assert table["distance_km"].isna().tolist() == [True, False, True]
    assert table.loc[[0, 2], ["bearing_deg", "mid_lon", "distance_err_km"]].isna().all().all()


def test_pair_codes_number_each_pair_once():
    """Codes lead back to the locators of every row; direction matters."""
    spots = pairs(("A", "B"), ("B", "A"), ("A", "B"), ("", "B"))
    codes, unique = paths.pair_codes(spots)
    assert len(unique) == 3
    assert unique.iloc[codes].reset_index(drop=True).equals(spots)

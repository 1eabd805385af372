"""Sidereal time and the height of a fixed point of the sky."""

import numpy as np
import pandas as pd
import pytest

from analysis.physics import sky


def seconds(text):
    """UTC seconds since 1970."""
    return pd.Timestamp(text, tz="UTC").timestamp()


@pytest.mark.outside
@pytest.mark.parametrize(
    ("when", "hours", "minutes", "rest"),
    [
        # Meeus, Astronomical Algorithms, 2nd edition, examples 12.a and 12.b
        ("1987-04-10 00:00", 13, 10, 46.3668),
        ("1987-04-10 19:21", 8, 34, 57.0896),
    ],
)
def test_sidereal_time(when, hours, minutes, rest):
    """Published examples to a tenth of a second."""
    expected = 15 * (hours + minutes / 60 + rest / 3600)
    assert sky.sidereal_degrees(seconds(when)) == pytest.approx(expected, abs=15 * 0.1 / 3600)


def test_against_a_numerical_ephemeris():
    """Mean sidereal time agrees with skyfield's over thirty years to a hundredth of a degree."""
    skyfield = pytest.importorskip("skyfield.api")
    clock = skyfield.load.timescale(builtin=True)
    for when in pd.date_range("1995-01-03", periods=60, freq="4567h", tz="UTC"):
        expected = clock.from_datetime(when.to_pydatetime()).gmst * 15
        apart = (sky.sidereal_degrees(when.timestamp()) - expected + 180) % 360 - 180
        assert abs(apart) < 0.01


def test_at_the_pole_and_through_the_zenith():
    """From the pole a point stands at its declination all day; where its declination is the latitude it passes overhead."""
    day = seconds("2024-08-12") + np.arange(0, 86400, 60)
    pole = sky.elevation(day, lon=0.0, lat=90.0, right_ascension=48.0, declination=58.0)
    assert pole == pytest.approx(np.full(len(day), 58.0))
    below = sky.elevation(day, lon=5.0, lat=58.0, right_ascension=48.0, declination=58.0)
    assert below.max() == pytest.approx(90, abs=0.3)
    assert below.min() == pytest.approx(58 + 58 - 90, abs=0.3)

"""Ducts: refractivity as the recommendation has it, a duct where the textbook draws one, none in standard air."""

import numpy as np
import pandas as pd
import pytest

from analysis.find.signs import ducts
from analysis.physics import ducting
from analysis.physics.horizon import horizon_deg

HEIGHT = np.arange(0, 3001, 50.0)


def levels(**columns):
    """A sounding of standard air at 60 % humidity, some columns otherwise."""
    standard = {
        "height_m": HEIGHT,
        "pressure_hpa": np.nan,
        "temperature_c": 15 - 6.5e-3 * HEIGHT,
        "dew_point_c": np.nan,
    }
    standard |= {"time": pd.Timestamp("2024-06-01 12:00", tz="UTC"), "humidity": 60.0}
    return pd.DataFrame(standard | columns)


def inversion():
    """Eight degrees warmer within a hundred metres from 200 m on, and drier above."""
    warmer = np.clip((HEIGHT - 200) / 100, 0, 1) * 8
    return levels(
        temperature_c=15 - 6.5e-3 * HEIGHT + warmer, humidity=np.clip(80 - (HEIGHT - 200) * 0.5, 25, 80)
    )


@pytest.mark.outside
@pytest.mark.parametrize(
    ("celsius", "humidity", "n_units"),
    # ITU-R P.453-14, equations 6 and 9, at 1013.25 hPa, as an independent implementation works them out.
    [(15, 50, 311.37), (15, 60, 319.07), (20, 50, 319.227), (25, 80, 370.638), (0, 0, 287.857)],
)
def test_refractivity(celsius, humidity, n_units):
    """N of moist air to a hundredth."""
    vapour = ducting.vapour_pressure(celsius=celsius, pressure_hpa=1013.25) * humidity / 100
    found = ducting.refractivity(pressure_hpa=1013.25, celsius=celsius, vapour_hpa=vapour)
    assert found == pytest.approx(n_units, abs=0.01)


@pytest.mark.outside
def test_coupling_loss():
    """Low frequencies pay to get into a duct over sea."""
    # ITU-R P.2001 D.5.2 and P.452-18 equation 47a at 50.3, 70.2, 144.3 and 432.2 MHz.
    expected = [38.72, 36.21, 27.53, 3.44]
    assert ducting.coupling_loss_db([50.3, 70.2, 144.3, 432.2]) == pytest.approx(expected, abs=0.01)
    assert ducting.coupling_loss_db(1296) == 0


@pytest.mark.parametrize(
    ("mhz", "strength", "surface_m", "elevated_m"),
    # From memory: longest wave 2/3 C d sqrt(dM), C 3.77e-3 on the ground and 5.66e-3 above it.
    [(50.3, 10, 750, 499), (144.3, 20, 185, 123), (432.2, 5, 123, 82)],
)
def test_lowest_trapped(mhz, strength, surface_m, elevated_m):
    """Thickness tables read the other way round."""
    for thickness, surface in ((surface_m, True), (elevated_m, False)):
        found = ducting.lowest_trapped_mhz(thickness_m=thickness, strength_m=strength, surface=surface)
        assert found == pytest.approx(mhz, rel=0.01)


def test_a_duct_in_an_inversion_and_none_in_standard_air():
    """The inversion bounds the duct above; standard air falls by some 40 N units a km and holds nothing."""
    none = ducts.ducts_table(levels()).iloc[0]
    assert (none["kind"], none["n_ducts"], none["strength_m"]) == ("none", 0, 0)
    assert -50 < none["steepest_n_km"] < -35
    found = ducts.ducts_table(inversion()).iloc[0]
    assert (found["kind"], found["top_m"]) == ("elevated", 300)
    assert found["thickness_m"] == pytest.approx(found["top_m"] - found["base_m"])
    assert found["lowest_mhz"] < 144


def test_heights_from_pressure_and_dew_point_agree():
    """The same air told by pressure and dew point has the same duct."""
    told = inversion()
    height, _, _ = ducts.profile(told)
    kelvin = told["temperature_c"] + 273.15
    middle = np.r_[kelvin.iloc[0], (kelvin.to_numpy()[1:] + kelvin.to_numpy()[:-1]) / 2]
    pressure = 1013.25 * np.exp(-np.cumsum(np.diff(HEIGHT, prepend=0.0) / (29.27 * middle)))
    vapour = (
        ducting.vapour_pressure(celsius=told["temperature_c"], pressure_hpa=pressure) * told["humidity"] / 100
    )
    log = np.log(vapour / 6.1121 / (1 + 1e-4 * (7.2 + 0.032 * pressure)))
    other = told.assign(
        height_m=np.nan, pressure_hpa=pressure, humidity=np.nan, dew_point_c=257.14 * log / (18.678 - log)
    )
    assert ducts.profile(other)[0][:60] == pytest.approx(height[:60], abs=1)
    one, two = (ducts.ducts_table(table).iloc[0] for table in (told, other))
    assert two["top_m"] == pytest.approx(one["top_m"], abs=1)
    assert two["strength_m"] == pytest.approx(one["strength_m"], rel=0.1)


def test_ground_duct_reaches_the_ground():
    """Where M on top is below M on the ground, the duct begins on the ground."""
    found = ducts.ducts(np.array([0.0, 50, 100, 200]), np.array([330.0, 320, 310, 325]))
    assert [(one["kind"], one["base_m"], one["top_m"], one["strength_m"]) for one in found] == [
        ("surface", 0, 100, 20)
    ]


def test_ducts_stand_beside_their_day():
    """A sounding late in the evening west of Greenwich is of the local day; days nobody listened to are unknown."""
    table = ducts.ducts_table(levels(time=pd.Timestamp("2024-06-02 02:00", tz="UTC")))
    days = pd.DataFrame(
        {
            "day": pd.to_datetime(["2024-06-01", "2024-06-02"]),
            "listened": [True, False],
            "open": [True, False],
        }
    )
    days = days.assign(scope="here", band="2m", mechanism="TR", path_type="all")
    told = ducts.with_openings(table, days, lon=-60.0).iloc[0]
    assert told["day"] == pd.Timestamp("2024-06-01")
    assert told["open_2m"] == 1
    assert np.isnan(ducts.with_openings(table, days, lon=0.0).iloc[0]["open_2m"])


def test_horizon_over_flat_ground_lies_below():
    """Over flat ground the horizon of 10 m is some 0.09 degrees down, by the 4/3 Earth."""
    km = np.arange(0.2, 40, 0.2)
    # Geometry: the dip of the horizon is sqrt(2 h / (4/3 R)).
    dip = -np.degrees(np.sqrt(2 * 0.010 / (4 / 3 * 6371)))
    assert horizon_deg(np.zeros((1, len(km))), km=km, eye_m=10.0)[0] == pytest.approx(dip, abs=0.002)
    assert np.isnan(horizon_deg(np.full((1, len(km)), np.nan), km=km, eye_m=10.0)[0])

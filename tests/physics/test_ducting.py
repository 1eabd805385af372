"""Ducting against the validation rows of ITU-R P.452."""

import pytest

from analysis.physics import ducting


@pytest.mark.outside
@pytest.mark.parametrize(
    ("latitude", "land_km", "inland_km", "expected"),
    # ITU-R P.452-18, validation examples of the Recommendation: profile by profile, six decimals
    [
        (51.30987, 34.5, 6.0, 3.225567),
        (51.35034, 100, 100, 1.192048),
        (51.17752, 5, 5, 6.950436),
        (44.50339, 1000, 1000, 1.911738),
        (39.64412, 11.15835, 0, 9.333319),
        (53.68658, 17.456175, 12.519075, 4.268390),
        (53.68658, 235.1, 235.1, 1.014612),
        (40.28551, 69.940429, 69.940429, 2.557658),
    ],
)
def test_beta0(latitude, land_km, inland_km, expected):
    """Incidence of anomalous propagation as the validation set prints it."""
    result = ducting.beta0(latitude_deg=latitude, land_km=land_km, inland_km=inland_km)
    assert result == pytest.approx(expected, abs=1e-5)


@pytest.mark.outside
def test_beta0_sea_against_inland():
    """All sea beats long inland paths by 3.2 at 30 and 6.4 at 50 degrees."""
    sea = ducting.beta0(latitude_deg=[30, 40, 50, 60], land_km=0, inland_km=0)
    inland = ducting.beta0(latitude_deg=[30, 40, 50, 60], land_km=1000, inland_km=1000)
    # ITU-R P.452-18, equations 2 to 4 at dtm = dlm = 0 and at long inland paths, two digits
    assert sea == pytest.approx([16.6, 11.7, 8.3, 5.9], abs=0.06)
    assert inland == pytest.approx([5.2, 2.6, 1.3, 0.66], abs=0.06)


def test_beta0_beyond_seventy_degrees():
    """The polar form takes over and does not depend on latitude."""
    north = ducting.beta0(latitude_deg=[71, 85, -85], land_km=50, inland_km=20)
    assert north[0] == north[1] == north[2]


@pytest.mark.outside
def test_beta0_polar_values():
    """Beyond 70 degrees: all sea, and long inland paths."""
    # ITU-R P.452-18, equations 2 to 4: mu1 = 1 over sea, 10^-0.85 far inland; 4.17 mu1 mu1^0.3
    found = ducting.beta0(latitude_deg=75, land_km=[0, 1000], inland_km=[0, 1000])
    assert found == pytest.approx([4.17, 4.17 * 10 ** (-0.85 * 1.3)], rel=1e-4)

"""Refractivity against ITU-R P.453 and P.452."""

import pytest

from analysis.physics import refractivity


@pytest.mark.outside
@pytest.mark.parametrize(
    ("temperature", "humidity", "expected"),
    # ITU-R P.453-14 equations at 1013.25 hPa; an independent implementation agrees to the digit
    [(15, 50, 311.370), (15, 60, 319.070), (20, 50, 319.227), (25, 80, 370.638), (0, 0, 287.857)],
)
def test_refractivity(temperature, humidity, expected):
    """N at sea level."""
    result = refractivity.refractivity(
        pressure_hpa=1013.25, temperature_c=temperature, humidity_percent=humidity
    )
    assert result == pytest.approx(expected, abs=0.01)


@pytest.mark.outside
def test_vapour_pressure():
    """15 degrees at 50 %."""
    # ITU-R P.453-14, saturation pressure with the enhancement factor
    result = refractivity.vapour_pressure(15.0, humidity_percent=50.0, pressure_hpa=1013.25)
    assert result == pytest.approx(8.5608, abs=5e-5)


@pytest.mark.outside
def test_earth_factor():
    """The effective radius of the validation file."""
    # ITU-R P.452-18, equations 5 and 6, validation example: 42.504613 N/km
    assert refractivity.earth_factor(42.504613) == pytest.approx(1.3712343, abs=1e-6)
    assert 6371 * refractivity.earth_factor(42.504613) == pytest.approx(8736.1336, abs=1e-3)


@pytest.mark.outside
def test_trapping():
    """Where N falls as fast as this, M does not change with height."""
    # Definition: 1e6/6371 N units per km
    assert pytest.approx(-156.96, abs=0.01) == refractivity.TRAPPING
    assert refractivity.modified(300 + refractivity.TRAPPING, height_km=1.0) == pytest.approx(300)


@pytest.mark.parametrize(
    ("gradient", "word"),
    # Trapping limit by definition; -79 and 0 are common practice, no source
    [(20, "sub-refraction"), (-40, "normal"), (-100, "super-refraction"), (-200, "trapping")],
)
def test_gradient_class(gradient, word):
    """Words for gradients."""
    assert refractivity.gradient_class(gradient) == word

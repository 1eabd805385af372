"""The sphere: directions, distances, points in between."""

import numpy as np
import pytest

from analysis.physics import earth


def test_directions():
    """Greenwich on the equator, a quarter turn east of it, the pole."""
    found = earth.directions(lon=[0, 90, 45], lat=[0, 0, 90])
    np.testing.assert_allclose(found, np.eye(3), atol=1e-12)


@pytest.mark.outside
def test_mean_radius():
    """A quarter of the meridian of the mean sphere."""
    # Moritz 2000, Geodetic Reference System 1980: mean radius 6 371 008.7714 m; a quarter turn is pi/2 of it
    pole, equator = earth.directions(lon=[0, 0], lat=[90, 0])
    assert earth.apart_km(pole, equator) == pytest.approx(np.pi / 2 * 6371.0087714, abs=1e-3)


def test_apart():
    """Nothing from a place to itself, half the globe to its antipode, unknown from an unknown place."""
    here, there, nowhere = earth.directions(lon=[10, -170, np.nan], lat=[50, -50, 0])
    assert earth.apart_km(here, here) == 0
    assert earth.apart_km(here, there) == pytest.approx(np.pi * earth.EARTH_KM)
    assert np.isnan(earth.apart_km(here, nowhere))


def test_along():
    """A third of the way is a third of the distance from the start, and both ends are reached."""
    start, end = earth.directions(lon=[0, 60], lat=[40, 50])
    starts, ends = np.tile(start, (3, 1)), np.tile(end, (3, 1))
    points = earth.along(starts, ends, share=np.array([0, 1 / 3, 1]))
    np.testing.assert_allclose(points[[0, 2]], [start, end], atol=1e-12)
    assert earth.apart_km(start, points[1]) == pytest.approx(earth.apart_km(start, end) / 3)
    np.testing.assert_allclose(np.linalg.norm(points, axis=1), 1)


def test_along_a_path_of_no_length():
    """Both ends in one place: every point is there."""
    place = earth.directions(lon=[5], lat=[45])
    np.testing.assert_allclose(earth.along(place, place, share=np.array([0.5])), place)

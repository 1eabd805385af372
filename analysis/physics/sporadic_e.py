"""Sporadic E as a thin mirror over a round Earth: reach, secant factor, skip, and the Sun on the layer.

Plain numbers in, plain numbers out; every function takes scalars or arrays that broadcast. Distances
are along the ground [km], heights above it [km], frequencies [MHz], angles [degrees].
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analysis.physics.earth import EARTH_KM

LAYER_KM = 110.0  # one mirror height where a single number must do; the layer wanders over 90–120 km
SOFT_EDGE_KM = (2300.0, 2600.0)  # one hop is sure below, impossible above, fading in between
GROUND_REFRACTIVITY, SCALE_HEIGHT_KM = 315.0, 7.35  # mean atmosphere of ITU-R P.453


def one_hop_reach(height_km: ArrayLike, *, refracted: bool = True) -> NDArray:
    """Longest ground distance of one hop off a mirror at a height [km], ray leaving horizontally.

    Parameters
    ----------
    height_km : array_like
        Height of the mirror.
    refracted : bool
        With the bending of the mean atmosphere N = 315 exp(-h/7.35); without it the ray is straight
        and some 145 km are lost.

    References
    ----------
    Straight ray: 2R acos(R/(R+h)). Bent ray: Bouguer's rule n(R+h)cos(elevation) = constant,
    integrated over the reference atmosphere of ITU-R P.453.
    """
    height = np.asarray(height_km, dtype=float)
    if not refracted:
        return 2 * EARTH_KM * np.arccos(EARTH_KM / (EARTH_KM + height))
    # Substituting u² for height removes the infinite slope of a horizontal ray at the ground.
    u = np.linspace(0, 1, 4001) * np.sqrt(height)[..., None]
    h = u**2
    ground = EARTH_KM * (1 + GROUND_REFRACTIVITY * 1e-6)
    bent = (1 + GROUND_REFRACTIVITY * 1e-6 * np.exp(-h / SCALE_HEIGHT_KM)) * (EARTH_KM + h)
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = ground / np.sqrt(bent**2 - ground**2) / (EARTH_KM + h) * 2 * u
    slope[..., 0] = 2 * slope[..., 1] - slope[..., 2]
    return 2 * EARTH_KM * np.trapezoid(slope, u, axis=-1)


def secant_factor(distance_km: ArrayLike, *, height_km: ArrayLike = LAYER_KM) -> NDArray:
    """How many times its critical frequency a layer reflects over one hop; NaN beyond the reach.

    References
    ----------
    The secant law over a round Earth: 1/cos of the angle between the ray and the vertical at the layer.
    """
    distance, height = np.broadcast_arrays(np.asarray(distance_km, float), np.asarray(height_km, float))
    half = distance / (2 * EARTH_KM)
    factor = np.hypot(1.0, np.sin(half) / (1 + height / EARTH_KM - np.cos(half)))
    return np.where(distance <= one_hop_reach(height, refracted=False), factor, np.nan)


def lowest_foes(distance_km: ArrayLike, *, freq_mhz: ArrayLike, height_km: ArrayLike = LAYER_KM) -> NDArray:
    """Lowest critical frequency [MHz] that carries a frequency over one hop.

    Between the straight-ray reach and the soft edge the ray grazes the layer, so the factor stays at
    its largest; beyond the soft edge one hop cannot be and the answer is NaN.
    """
    distance, height = np.broadcast_arrays(np.asarray(distance_km, float), np.asarray(height_km, float))
    grazing = np.minimum(distance, one_hop_reach(height, refracted=False))
    needed = np.asarray(freq_mhz, float) / secant_factor(grazing, height_km=height)
    return np.where(distance <= SOFT_EDGE_KM[1], needed, np.nan)


def shortest_distance(
    foes_mhz: ArrayLike, *, freq_mhz: ArrayLike, height_km: ArrayLike = LAYER_KM
) -> NDArray:
    """Shortest one-hop distance [km] that a critical frequency allows; NaN where no distance works.

    References
    ----------
    The secant law solved for distance; the inverse of `lowest_foes`.
    """
    with np.errstate(invalid="ignore", divide="ignore"):
        ratio = np.asarray(foes_mhz, float) / np.asarray(freq_mhz, float)
        radius = 1 + np.asarray(height_km, float) / EARTH_KM
        at_layer = np.arccos(np.minimum(ratio, 1.0))
        take_off = np.arccos(radius * np.sin(at_layer))  # NaN where even a grazing ray leaks through
    return 2 * EARTH_KM * (np.pi / 2 - at_layer - take_off)


def one_hop_chance(distance_km: ArrayLike) -> NDArray:
    """Weight of one hop at a distance: 1 up to 2300 km, 0 from 2600 km, straight in between."""
    low, high = SOFT_EDGE_KM
    return np.clip((high - np.asarray(distance_km, float)) / (high - low), 0.0, 1.0)

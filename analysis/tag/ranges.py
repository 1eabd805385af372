"""Which distances each mechanism bridges: hard bounds, and how likely each distance is in between."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.physics import scatter, sporadic_e
from analysis.tag import bands, features
from analysis.tag.likelihoods import MISTAKE, NEVER, RIVALS, log_prior

FOES_CEILING_MHZ = 34.0  # above any foEs that hour-by-hour soundings show
FOES_DECAY = 0.30  # fall of log P(foEs > f) for each MHz, after the straight lines of Phillips
ERROR_KM = np.array([5.0, 40.0, 110.0])  # what stands for each class of the distance's error
LEAST = 1e-9  # chance of a kilometre [1/km] below which no distance falls unless it is out of bounds
N_SEA = len(features.SEA_EDGES) + 2  # definition


def reach(mechanism: str, *, mhz: float, sea: int) -> tuple[float, float]:
    """Shortest and longest distance that a mechanism can carry a frequency [km].

    Parameters
    ----------
    mechanism : str
        One of `likelihoods.RIVALS`.
    mhz : float
    sea : int
        Class of the sea share: ducts reach further over the sea.

    References
    ----------
    Sporadic E: the secant law with `FOES_CEILING_MHZ` and a low layer; ITU-R P.534 treats paths up to
    4000 km, further hops are common knowledge. Meteors: geometry of trails at 100 km. Aircraft: two
    radio horizons of a 12 km flight level and masts of 20 m. Tropospheric, auroral, F2 and
    trans-equatorial limits: common practice, no source.
    """
    shortest_es = float(sporadic_e.shortest_distance(FOES_CEILING_MHZ, freq_mhz=mhz, height_km=95.0))
    limits = {
        "ES": (max(shortest_es, 350.0), 12000.0 if mhz < 100 else 4600.0),
        "TR": (60.0, 1700.0 if sea < 2 else 2600.0 if sea < 3 else 4200.0),
        "MS": (400.0, float(sporadic_e.one_hop_reach(100.0))),
        "AS": (150.0, float(scatter.aircraft_reach(12.0, mast_m=20.0))),
        "AUR": (80.0, 2100.0),
        "F2": (1800.0 if mhz < 35 else 2700.0, 20100.0),
        "TEP": (3500.0, 11000.0),
        "LOS": (0.0, 300.0),
        MISTAKE: (0.0, 20100.0),
    }
    low, high = limits[mechanism]
    return (low, high) if np.isfinite(low) else (np.inf, -np.inf)


def log_band(classes: pd.DataFrame) -> NDArray:
    """Log prior of the band, rows by `RIVALS`."""
    return log_prior()[classes["band"].to_numpy()]


def log_distance(classes: pd.DataFrame) -> NDArray:
    """Log density of the distance [1/km], rows by `RIVALS`."""
    place = [classes[name].to_numpy() for name in ("band", "sea", "distance")]
    return _densities()[place[0], place[1], np.maximum(place[2], 0)]


def log_bounds(classes: pd.DataFrame) -> NDArray:
    """0 where a mechanism is possible, `NEVER` where the distance forbids it."""
    names = ("band", "sea", "distance", "error")
    band, sea, distance, error = (classes[name].to_numpy() for name in names)
    return _bounds()[band, sea, np.maximum(distance, 0), np.minimum(error, 2)]


def log_fixed(classes: pd.DataFrame) -> NDArray:
    """Sum of `log_band`, `log_distance` and `log_bounds`, `RIVALS` by rows, float32."""
    table, shape = _fixed()
    names = ("band", "sea", "distance", "error")
    limits = np.array(shape)[:, None] - 1
    cell = np.ravel_multi_index(
        tuple(np.clip(np.array([classes[name].to_numpy() for name in names]), 0, limits)), shape
    )
    return table[:, cell]


@lru_cache(maxsize=1)
def _fixed() -> tuple[NDArray, tuple[int, ...]]:
    prior, density = log_prior()[:, None, None], _densities()
    whole = (prior + density)[:, :, :, None, :] + _bounds()
    return np.ascontiguousarray(whole.reshape(-1, len(RIVALS)).T.astype("float32")), whole.shape[:-1]


@lru_cache(maxsize=1)
def _densities() -> NDArray:
    """Log density by band, sea share, distance class and rival."""
    steps = np.arange(10.0, 20000.0, 20.0)
    middle = features.distance_km(np.arange(len(features.DISTANCE_EDGES)))
    result = np.full((len(bands.BANDS), N_SEA, len(middle), len(RIVALS)), np.log(LEAST))
    for band, mhz in enumerate(bands.BAND_MHZ.values(), start=1):
        for sea in range(N_SEA):
            for rival, name in enumerate(RIVALS):
                area = max(_density(name, steps, mhz, sea).sum() * 20.0, 1e-12)
                result[band, sea, :, rival] = np.log(
                    np.maximum(_density(name, middle, mhz, sea) / area, LEAST)
                )
    return result


@lru_cache(maxsize=1)
def _bounds() -> NDArray:
    """Bounds by band, sea share, distance class, class of its error and rival."""
    middle = features.distance_km(np.arange(len(features.DISTANCE_EDGES)))
    width = np.diff(features.DISTANCE_EDGES, append=features.DISTANCE_EDGES[-1] + 1000)
    slack = ERROR_KM + width[:, None] / 2
    shape = (len(bands.BANDS), N_SEA, len(middle), len(ERROR_KM), len(RIVALS))
    result = np.full(shape, NEVER)
    for band, mhz in enumerate([50.3, *bands.BAND_MHZ.values()]):
        for sea in range(N_SEA):
            for rival, name in enumerate(RIVALS):
                low, high = reach(name, mhz=mhz, sea=sea)
                inside = (middle[:, None] + slack >= low) & (middle[:, None] - slack <= high)
                result[band, sea, :, :, rival][inside] = 0.0
    return result


def _density(mechanism: str, d: NDArray, mhz: float, sea: int) -> NDArray:
    """Shape of the distance distribution, not normalised."""
    if mechanism == "ES":
        return _sporadic_e(d, mhz)
    if mechanism == "TR":
        # Few ducts are thick enough for 50 or 70 MHz, and little gets into them (P.2001, coupling loss).
        reach_km = (200.0, 200.0, 220.0, 290.0, 400.0)[sea] * (0.75 if mhz < 100 else 1.0)
        fall = np.exp(-d / reach_km)
        ocean = 0.01 * np.exp(-d / 1500) if sea == len(features.SEA_EDGES) + 1 else 0.0  # trade-wind ducts
        return -np.expm1(-((d / 160) ** 3)) * (fall + ocean)
    if mechanism == "LOS":
        return np.exp(-d / 55)
    if mechanism == MISTAKE:
        return d * np.exp(-d / 3000)
    centre, width = {
        "MS": (1250.0, 420.0),
        "AS": (520.0, 170.0),
        "AUR": (800.0, 500.0),
        "F2": (6000.0, 3000.0),
        "TEP": (6500.0, 1500.0),
    }[mechanism]
    return np.exp(-0.5 * ((d - centre) / width) ** 2)


def _sporadic_e(d: NDArray, mhz: float) -> NDArray:
    """One to four hops: the chance that the layer is dense enough, and the share of longer paths."""
    total = np.zeros_like(d)
    least = mhz / 5.58  # no lower foEs carries the frequency off a layer at 105 km
    again = np.exp(-FOES_DECAY * max(least - 9.0, 0.0))  # another such layer is the rarer, the denser
    for hops, share in ((1, 1.0), (2, 0.10), (3, 0.03), (4, 0.01)):
        each, weight = d / hops, share * again ** (hops - 1)
        needed = sporadic_e.lowest_foes(each, freq_mhz=mhz, height_km=105.0)
        open_often = np.exp(-FOES_DECAY * np.nan_to_num(needed - least, nan=1e3) * hops)
        # Operators cluster at home: the ring of a given width holds more of them the larger it is.
        ring = np.minimum(each / 1500, 1.0) if hops == 1 else 1.0
        total += weight * open_often * sporadic_e.one_hop_chance(each) * ring
    return total

"""What a station at a place of the demo could have used, exactly, beside the chance that was fitted for it.

The demo's sky (data/demo/sky.py) is known patch by patch. A path from a place is open when the layer at its
middle carries the frequency over that length; so a place is open in a slot when any point of any patch carries
a path from there. Who was on the air, and where, plays no part.
"""

from __future__ import annotations

import importlib.util
from types import ModuleType
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.find.watched import usable_paths
from analysis.fit.model.curves import Fit, curve
from analysis.fit.model.paths import fit_paths
from analysis.gather import locators
from analysis.series import vhf_series
from analysis.shipped import demo_files
from analysis.tables import Tables
from tests.fit import region

PLACES = ("IN93", "IO91", "JO21", "IN80")  # home; London, Antwerp, Madrid: squares with stations around
WORLD_PLACES = {
    "middle": {"lon": 3.0, "lat": 48.0},
    "west": {"lon": -8.0, "lat": 44.0},
    "north": {"lon": 0.0, "lat": 56.0},
    "south-east": {"lon": 13.0, "lat": 41.0},
}
MANY = {"people": 300, "silent": 100, "monitors": 10, "beacons": 20}
FIRST_SEED = 4001
FREQ_MHZ = 50.2
ONE_HOP_KM = (450.0, 2450.0)  # as the demo's reports are made
RINGS, SPOKES = np.linspace(0.1, 0.98, 9), 24  # points of a patch that are tried, beside its centre


def demo_sky() -> tuple[ModuleType, pd.DataFrame]:
    """The module that made the sky, and its openings."""
    folder = demo_files()[0].parent
    spec = importlib.util.spec_from_file_location("demo_sky", folder / "sky.py")
    assert spec is not None
    assert spec.loader is not None
    sky = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(sky)
    openings = pd.read_csv(folder / "truth" / "openings.csv", parse_dates=["start", "end"])
    return sky, openings


def open_half_hours(starts: pd.DatetimeIndex, *, lon: float, lat: float) -> NDArray:
    """Whether a path of one hop from a place was open on 6 m at any time of each half-hour.

    Parameters
    ----------
    starts : DatetimeIndex
        Half-hours, in order.
    lon, lat : float
        The place [degrees east, north].
    """
    sky, openings = demo_sky()
    slots = pd.DatetimeIndex(np.repeat(starts, 3)) + pd.to_timedelta(
        np.tile(np.arange(3) * sky.SLOT_MIN, len(starts)), unit="min"
    )
    active = sky.es_active(openings, slots)
    serves = np.zeros(len(active), dtype=bool)
    for share in (0.0, *RINGS):
        field = sky.ES6_FLOOR_MHZ + (active["mhz"].to_numpy() - sky.ES6_FLOOR_MHZ) * (1 - share**2)
        for turn in np.arange(SPOKES if share else 1) * 360 / SPOKES:
            km = share * active["radius_km"].to_numpy()
            spot = sky.moved(lat=active["lat"], lon=active["lon"], km=km, bearing_deg=turn)
            hop = 2 * _km(sky.EARTH_KM, spot, lon=lon, lat=lat)
            inside = (hop >= ONE_HOP_KM[0]) & (hop <= ONE_HOP_KM[1])
            serves |= inside & (field >= sky.required_mhz(hop, freq_mhz=FREQ_MHZ))
    found = np.zeros(len(slots), dtype=bool)
    found[active["slot"].to_numpy()[serves]] = True
    return found.reshape(-1, 3).any(axis=1)


def _km(earth_km: float, spot: tuple[NDArray, NDArray], *, lon: float, lat: float) -> NDArray:
    """Distance of points from a place."""
    phi, other = np.radians(spot[0]), np.radians(lat)
    turn = np.radians(spot[1] - lon)
    cosine = np.sin(phi) * np.sin(other) + np.cos(phi) * np.cos(other) * np.cos(turn)
    return earth_km * np.arccos(np.clip(cosine, -1, 1))


def chances(season: Tables, *, places: tuple[str, ...] = PLACES) -> pd.DataFrame:
    """Mean chance over the hours of 6 m sporadic E *here*, over the truth, for four places of the demo."""
    spots = season.spots[season.spots["band"] == "6m"]
    listening = season.listening[season.listening["band"] == "6m"]
    rows = {}
    for name in places:
        home: dict[str, Any] = locators.place(name)
        home = {axis: home[axis] for axis in ("lon", "lat")}
        found = vhf_series(spots, listening, beacons=season.beacons, scope="here", **home)
        one = next(series for series in found if series.mechanism == "ES")
        truth = open_half_hours(pd.DatetimeIndex(one.cells["start"]), **home)
        rows[name] = {"scope": one.scope} | _against(one.fit, one.cells, truth)
    return pd.DataFrame(rows).T


def simulated(replicates: int) -> pd.DataFrame:
    """The same in worlds of `tests.fit.region` with three hundred people, whose clouds are small and many."""
    rows = {}
    for seed in range(FIRST_SEED, FIRST_SEED + replicates):
        world = region.region("evenings", seasons=4, seed=seed, **MANY)
        for name, home in WORLD_PLACES.items():
            ways = usable_paths(world.watch, mechanism="ES", scope="here", **home)
            cells, less = region.as_seen(world, ways)
            rows[seed, name] = _against(fit_paths(cells, less), cells, region.open_from(world, **home))
    return pd.DataFrame(rows).T


def _against(fit: Fit, cells: pd.DataFrame, truth: NDArray) -> dict[str, Any]:
    """Mean over the hours with a chance, fitted and true."""
    told = curve(fit).set_index("x")["chance"]
    hours = pd.Series(truth).groupby(np.floor(cells["hour"].to_numpy() * 2) / 2 + 0.25).mean()
    chance, true = told.mean(), hours.reindex(told.index)[told.notna()].mean()
    seen = cells["n_detected"].to_numpy() > 0
    return {
        "chance": chance,
        "truth": true,
        "chance/truth": chance / true,
        "noticed, told": np.average(fit.noticed, weights=fit.counts.classes["bins"]),
        "noticed, true": seen[truth].mean(),
        "verdict": fit.verdict.status,
    }

"""A published climatology beside the user's own curves: does the shape agree, and where does it not?

The maps of foEs by Leftin, Ostrow and Preston (1968, ESSA Technical Report ERL 73-ITS 63) give median
and upper decile by month and hour for the whole Earth, from ionosondes of around 1958 and 1964. They
travel in the package PyIRI, an optional extra. Their level is not the operator's (a spot needs paths
and stations as well), so they serve as a shape only, and a shape drawn from few ionosondes: real stations
differ from it, and only what exceeds that is called a disagreement.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.fit.model.curves import Fit, curve
from analysis.fit.peaks import calendar_day
from analysis.physics.sporadic_e import lowest_foes

MISSING = "the published foEs maps are an optional extra: install seasonbook with [climatology]"
# Lower edges of the bands, where the maps are asked.
FREQUENCY_MHZ = {"8m": 40.0, "6m": 50.0, "5m": 60.0, "4m": 70.0, "2m": 144.0}
MAP_YEAR = 1964.0  # of the magnetic field that the maps were drawn in
MODIP_KM = 300.0  # height at which the maps' makers took the dip
# Correlation of the maps' shape with that of single stations: five of them (26 to 45 north, hourly foEs,
# 28 to 32 years each) gave .97 to .98 through the season and .88 to .94 through the day.
LIKENESS = {"season_day": 0.97, "hour": 0.90}
# Standard errors that a difference of shapes must exceed somewhere; judgement, so that nine such stations
# in ten pass (`benchmarks.nature`). With 2.5 instead one curve in three would have a mark somewhere.
BEYOND = 3.0
DAYS_IN_MONTH = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])  # definition
MIDDLE_OF_MONTH = np.cumsum(DAYS_IN_MONTH) - DAYS_IN_MONTH / 2  # definition


def published_foes(*, lat: float, lon: float) -> pd.DataFrame:
    """Median and upper decile of foEs by month and local solar hour, from the published maps.

    Parameters
    ----------
    lat, lon : float
        Degrees north, east: the midpoint of the paths.

    Returns
    -------
    DataFrame
        `month` (1 to 12), `hour` (0 to 23, local mean solar time), `median_mhz`, `upper_mhz`: means of
        low and high solar activity.

    Raises
    ------
    ImportError
        If PyIRI is not installed; the message says how to get it.
    """
    try:
        import PyIRI
        import PyIRI.igrf_library as field
        import PyIRI.main_library as maps
    except ImportError as error:
        raise ImportError(MISSING) from error
    hours = np.arange(24)
    at = np.array([lon]), np.array([lat])
    dip = field.inclination(PyIRI.coeff_dir, MAP_YEAR, *at, MODIP_KM, only_inc=True)
    modified_dip = field.inc2modip(dip, at[1])
    order = maps.highest_power_of_extension()
    months = [
        maps.read_ccir_ursi_coeff(month, PyIRI.coeff_dir, output_deciles=True) for month in range(1, 13)
    ]
    values = {}
    for name, key, place in (("median_mhz", "Es_median", 3), ("upper_mhz", "Es_upper", 5)):
        world = maps.set_global_functions(order["QM"][key], order["nk"][key], *at, modified_dip)
        daily = maps.set_diurnal_functions(order["nj"][key], (hours - lon / 15) % 24).T
        # The last axis is low and high solar activity.
        values[name] = np.concatenate(
            [(daily @ month[place].mean(axis=2) @ world).ravel() for month in months]
        )
    table = pd.DataFrame({"month": np.repeat(np.arange(1, 13), 24), "hour": np.tile(hours, 12)} | values)
    # In a few cells of the published maps the decile lies below the median.
    return table.assign(upper_mhz=table["upper_mhz"].clip(lower=table["median_mhz"] * 1.01))


def support_chance(foes: pd.DataFrame, *, freq_mhz: float, distance_km: float = 1600.0) -> pd.Series:
    """Chance that foEs at the midpoint carries a frequency over one hop.

    The logarithm of the share of time above a critical frequency falls in a straight line with it
    (Phillips's rule, found steady over eleven years by Chadwick, National Bureau of Standards); the
    line runs through median and upper decile.

    Parameters
    ----------
    foes : DataFrame
        As `published_foes` returns it.
    freq_mhz : float
        MHz.
    distance_km : float
        Ground distance of the path.
    """
    needed = float(lowest_foes(distance_km, freq_mhz=freq_mhz))
    slope = np.log(0.1 / 0.5) / (foes["upper_mhz"] - foes["median_mhz"])
    return np.exp(np.minimum(np.log(0.5) + slope * (needed - foes["median_mhz"]), 0.0)).rename("chance")


def published_curve(foes: pd.DataFrame, chance: pd.Series, fit: Fit, *, by: str) -> np.ndarray:
    """The published chance at the hours or season days of `curve(fit, by=by)`, averaged over the other.

    Hours are averaged over the season days that the fit was listened to; months are joined by straight
    lines between their middles.
    """
    grid = chance.to_numpy().reshape(12, 24)
    table = curve(fit, by="season_day")
    middles = np.r_[MIDDLE_OF_MONTH[-1] - 365, MIDDLE_OF_MONTH, MIDDLE_OF_MONTH[0] + 365]
    calendar = calendar_day(table["x"].to_numpy(), fit.counts)
    by_day = np.array([np.interp(calendar, middles, np.r_[g[-1], g, g[0]]) for g in grid.T]).T
    if by == "season_day":
        return by_day.mean(axis=1)
    hours = by_day[table["chance"].notna().to_numpy()].mean(axis=0)
    x = curve(fit, by="hour")["x"].to_numpy()
    return np.interp(x, np.arange(25), np.r_[hours, hours[0]])


def overlay(fit: Fit, published: np.ndarray, *, by: str) -> pd.DataFrame:
    """Own and published curve as shapes, and where they disagree.

    Parameters
    ----------
    published : array
        As `published_curve` returns it.

    Returns
    -------
    DataFrame
        `x own own_low own_high published disagrees`; both curves are scaled to a mean of one over the
        classes that are not blank. They disagree where they differ by more than the own interval and the
        usual distance between the maps and a real station (`LIKENESS`) together allow.
    """
    table = curve(fit, by=by)
    known = table["chance"].notna().to_numpy()
    scale = table["chance"].mean()
    shape = np.where(known, published / published[known].mean() if known.any() else np.nan, np.nan)
    found = pd.DataFrame({"x": table["x"], "own": table["chance"] / scale})
    found["own_low"], found["own_high"] = table["low"] / scale, table["high"] / scale
    return found.assign(published=shape, disagrees=known & _beyond(found, shape, LIKENESS[by]))


def _beyond(own: pd.DataFrame, shape: np.ndarray, likeness: float) -> np.ndarray:
    """Where the published shape differs by more than both curves' errors allow; mask."""
    # Two shapes of equal spread that correlate by r differ by this share of the spread (rms).
    usual = BEYOND * np.nanstd(shape) * np.sqrt(2 * (1 - likeness)) if np.isfinite(shape).any() else np.nan
    reach = np.where(shape > own["own"], own["own_high"] - own["own"], own["own"] - own["own_low"])
    return np.abs(shape - own["own"].to_numpy()) > np.hypot(reach, usual)

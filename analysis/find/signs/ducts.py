"""Ducts in soundings: where modified refractivity falls with height, from where to where, what they carry."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.physics import ducting

LEAST_M = 1.0  # M units; a smaller step is the rounding of a tenth of a degree (judgement)
HIGHEST_M = 3000.0  # higher layers bend nothing back to the ground (judgement; ducts lie below 2.5 km in published reanalyses)
SEA_LEVEL_HPA, SCALE_M = (
    1013.25,
    29.27,
)  # standard atmosphere; metres of height a kelvin and unit of log pressure (gas constant / gravity)
TWO_M_MHZ, SIX_M_MHZ = 144.0, 50.0  # bottom of the bands
COLUMNS = [
    *("time", "n_levels", "n_ducts", "kind", "base_m", "top_m", "thickness_m", "strength_m"),
    *("lowest_mhz", "steepest_n_km"),
]


def ducts_table(levels: pd.DataFrame) -> pd.DataFrame:
    """The strongest duct of each sounding, or that there is none.

    Parameters
    ----------
    levels : DataFrame
        As `gather.evidence.files.Evidence.soundings`.

    Returns
    -------
    DataFrame
        `time n_levels n_ducts kind base_m top_m thickness_m strength_m lowest_mhz steepest_n_km`: `kind` "surface", "elevated"
        or "none"; heights above the lowest level's ground [m]; strength in M units; `lowest_mhz` the lowest
        frequency that it holds whole; the steepest gradient of N [N units a km]. `strength_m` is 0 without a duct.
    """
    told = []
    for time, own in levels.groupby("time"):
        height, m, n = profile(own)
        found = ducts(height, m)
        best = max(found, key=lambda one: one["strength_m"], default=_none())
        steep = np.gradient(n, height / 1000).min() if len(height) > 2 else np.nan
        told.append(
            {"time": time, "n_levels": len(height), "n_ducts": len(found), "steepest_n_km": steep} | best
        )
    return pd.DataFrame(told, columns=COLUMNS)


def profile(own: pd.DataFrame) -> tuple[NDArray, NDArray, NDArray]:
    """Height [m], M and N of the levels of one sounding, from the ground up; heights from pressure where they are missing."""
    by = "height_m" if own["height_m"].notna().all() else "pressure_hpa"
    rows = own[own[by].notna()].sort_values(by, ascending=by == "height_m").drop_duplicates(by)
    kelvin = rows["temperature_c"].to_numpy(float) + 273.15
    between = np.r_[kelvin[:1], (kelvin[1:] + kelvin[:-1]) / 2]
    if by == "pressure_hpa":
        pressure = rows["pressure_hpa"].to_numpy(float)
        height = np.cumsum(SCALE_M * between * -np.diff(np.log(pressure), prepend=np.log(pressure[0])))
    else:
        height = rows["height_m"].to_numpy(float)
        steps = np.diff(height, prepend=0.0) / (SCALE_M * between)
        usual = SEA_LEVEL_HPA * np.exp(-np.cumsum(steps))
        pressure = rows["pressure_hpa"].fillna(pd.Series(usual, index=rows.index)).to_numpy(float)
    n = ducting.refractivity(
        pressure_hpa=pressure, celsius=rows["temperature_c"], vapour_hpa=_vapour(rows, pressure)
    )
    height = height - height[0]
    low = height <= HIGHEST_M
    return height[low], ducting.modified(n, height_m=height)[low], n[low]


def _vapour(rows: pd.DataFrame, pressure: NDArray) -> NDArray:
    """Vapour pressure [hPa] from the dew point, else from relative humidity [%]."""
    dew = rows["dew_point_c"].to_numpy(float)
    full = ducting.vapour_pressure(celsius=rows["temperature_c"], pressure_hpa=pressure)
    by_dew = ducting.vapour_pressure(celsius=dew, pressure_hpa=pressure)
    return np.where(np.isfinite(dew), by_dew, full * rows["humidity"].to_numpy(float) / 100)


def ducts(height: NDArray, m: NDArray) -> list[dict]:
    """Every duct of a profile of M: a layer in which M falls, down to where M is again what it is on its top.

    Parameters
    ----------
    height : array
        Metres above the ground, rising.
    m : array
        Modified refractivity.
    """
    falling = np.diff(m) < 0
    begins = np.flatnonzero(falling & ~np.r_[False, falling[:-1]])
    ends = np.flatnonzero(falling & ~np.r_[falling[1:], False]) + 1
    found = [_duct(height, m, int(low), int(top)) for low, top in zip(begins, ends, strict=True)]
    return [one for one in found if one["strength_m"] >= LEAST_M]


def _duct(height: NDArray, m: NDArray, low: int, top: int) -> dict:
    """One duct whose M falls from level `low` to level `top`."""
    below = np.flatnonzero(m[: low + 1] <= m[top])
    surface = len(below) == 0
    base = (
        height[0]
        if surface
        else np.interp(m[top], m[[below[-1], below[-1] + 1]], height[[below[-1], below[-1] + 1]])
    )
    strength, thickness = m[low] - m[top], height[top] - base
    lowest = ducting.lowest_trapped_mhz(thickness_m=thickness, strength_m=strength, surface=surface)
    return {
        "kind": "surface" if surface else "elevated",
        "base_m": float(base),
        "top_m": float(height[top]),
        "thickness_m": float(thickness),
        "strength_m": float(strength),
        "lowest_mhz": float(lowest),
    }


def _none() -> dict:
    unknown = dict.fromkeys(("base_m", "top_m", "thickness_m", "lowest_mhz"), np.nan)
    return {"kind": "none", "strength_m": 0.0} | unknown


def with_openings(table: pd.DataFrame, days: pd.DataFrame, *, lon: float) -> pd.DataFrame:
    """The ducts with their local `day` and whether tropo opened that day here and in the region (`open_2m`, `region_2m` ...).

    Parameters
    ----------
    table : DataFrame
        As `ducts_table` makes it.
    days : DataFrame
        As `find.days.days_table` makes it.
    lon : float
        Home [degrees east], whose mean solar day is a day.
    """
    local = pd.to_datetime(table["time"], utc=True) + pd.Timedelta(hours=lon / 15)
    table = table.assign(day=local.dt.floor("D").dt.tz_localize(None))
    tropo = days[(days["mechanism"] == "TR") & (days["path_type"] == "all")]
    for scope, said in (("here", "open"), ("region", "region")):
        for band in ("2m", "6m"):
            own = tropo[(tropo["scope"] == scope) & (tropo["band"] == band)].set_index("day")
            known = own["open"].astype(float).where(own["listened"].astype(bool) | own["open"].astype(bool))
            table[f"{said}_{band}"] = known.reindex(table["day"]).to_numpy(float)
    return table


def daily_ducts(table: pd.DataFrame) -> pd.DataFrame:
    """For each day with a sounding: the strength of its strongest duct, and whether one holds 144 MHz whole."""
    traps = (table["lowest_mhz"] <= TWO_M_MHZ).astype(float)
    by_day = table.assign(duct_holds_2m=traps, duct_strength=table["strength_m"]).groupby("day")
    return by_day[["duct_strength", "duct_holds_2m"]].max().reset_index()

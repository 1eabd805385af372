"""Curves and trends against the truth of simulated regions, by kind of effort.

python -m benchmarks.truth            eight worlds of each kind, about twelve minutes of processor
python -m benchmarks.truth --quick    two of each, about three

Worlds of `tests.fit.region`; seeds 1, 2, 11-13, 71 and 900 were looked at while the model was made, those here
were not. The truth is the chance that a cloud lies anywhere over the region, over 300 seasons; before it
is compared with intervals it is scaled to the mean of the curve, since stations see but a part of the sky.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator

import numpy as np
import pandas as pd

from analysis.find.watched import steady_paths
from analysis.fit.estimate import Estimate, Series
from analysis.fit.model.curves import curve, season_levels
from analysis.fit.model.occupancy import fit_occupancy
from analysis.fit.season_index import index_trend
from benchmarks.fit import at_least, at_most, within
from tests.fit import region

SEEDS = range(2001, 2009)
LATER = 1000  # added for trends: how seasons are compared was changed once after a look at the others
KINDS = ("even", "evenings", "weekends", "diurnal", "growth", "no monitors", "called in")
HOUR_BAR = {"even": 0.22, "diurnal": 0.33}
ORDINARY_BAR = 0.26
TRUE_TREND = np.log(1.15)


def main() -> None:
    """Print measured value and bar, then the table of before and after."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.truth", description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="a quarter of the worlds")
    parser.add_argument("--rows", default="curves,few,trends", help="which rows, comma-separated")
    args = parser.parse_args()
    seeds = SEEDS[:2] if args.quick else SEEDS
    rows = {"curves": curves, "few": few_stations, "trends": trends}
    failed = 0
    for name in args.rows.split(","):
        for what, value, bar, good in rows[name](seeds):
            failed += not good
            print(f"{name:8}{what:58}{value:>12}  {bar}{'' if good else '   <-- misses'}", flush=True)
    sys.exit(failed > 0)


def curves(seeds: range) -> Iterator[tuple]:
    """Shape and coverage of hour and season curves, five seasons of each kind of effort."""
    table = pd.DataFrame([measured(kind, seed) for kind in KINDS for seed in seeds])
    means = table.groupby("effort", sort=False).mean(numeric_only=True)
    for kind, found in means.iterrows():
        bar = HOUR_BAR.get(str(kind), ORDINARY_BAR)
        yield at_most(f"{kind}: shape of the hour curve", found["after"], bar)
        yield at_least(f"{kind}: error of counting reports over ours", found["counted"] / found["after"], 1)
        yield f"{kind}: by listening alone", f"{found['before']:.3g}", "(no bar)", True
        yield f"{kind}: level", f"{found['level']:.3g}", "(no bar)", True
    worse = (table["after"] > table["counted"]).sum()
    yield at_most("share of worlds in which counting reports was better", worse / len(table), 0.05)
    yield within("hour curve, coverage of 90 %", means["cover_hour"].mean(), 0.85, 0.97)
    yield within("season curve, coverage of 90 %", means["cover_season"].mean(), 0.85, 0.97)
    print(table.round(3).to_string(index=False))


def measured(effort: str, seed: int) -> dict[str, object]:
    """Errors of one world: counting reports, by listening alone (before), by watched paths (after)."""
    world = region.region(effort, seasons=5, seed=seed)
    hours, days = region.usual()
    cells, thinned = region.as_seen(world)
    fit = series(world, cells, thinned).fit
    found: dict[str, object] = {
        "effort": effort,
        "seed": seed,
        "detected": int((cells["n_detected"] > 0).sum()),
    }
    counted = np.bincount((cells["hour"] * 2).astype(int), world.reports, 48)
    found["counted"] = region.shape_error(counted, hours)
    slots = 3 * np.asarray(world.watch.receivers.sum(axis=1)).ravel().astype(int)
    listened = cells.assign(n_listening=slots, n_detected=np.minimum(cells["n_detected"], slots))
    found["before"] = region.shape_error(curve(fit_occupancy(listened))["chance"], hours)
    if len(fit.coef):
        by_hour, by_day = curve(fit), curve(fit, by="season_day")
        found["after"] = region.shape_error(by_hour["chance"], hours)
        found["cover_hour"], found["level"] = covered(by_hour, hours)
        found["cover_season"] = covered(by_day, days)[0]
        found["after_season"] = region.shape_error(by_day["chance"], days)
    return found


def covered(table: pd.DataFrame, truth: np.ndarray) -> tuple[float, float]:
    """Share of the scaled truth inside the intervals, and the scale."""
    known = table["chance"].notna().to_numpy()
    table, truth = table[known], truth[known]
    scale = table["chance"].mean() / truth.mean()
    return float(((table["low"] <= truth * scale) & (truth * scale <= table["high"])).mean()), float(scale)


def series(world: region.Region, cells: pd.DataFrame, thinned: pd.DataFrame) -> Series:
    """The series of a world."""
    return Series("6m", "ES", "all", "solar", "A", cells, thinned=thinned, senders=world.sending)


def few_stations(seeds: range) -> Iterator[tuple]:
    """Four stations that report: refused, or no worse than counting their reports."""
    refused, worse = 0, 0
    for seed in seeds:
        found = measured("four stations", seed)
        refused += "after" not in found
        worse += found.get("after", 0) > found["counted"]
    yield at_most("four stations: worlds in which counting was better", worse, 0)
    yield "four stations: refused", f"{refused} of {len(seeds)}", "(no bar)", True


def trends(seeds: range) -> Iterator[tuple]:
    """Ten seasons: nothing but growth of effort is no trend; a true one is told."""
    worlds = {
        "40 % more people a year": ("growth", 0.0),
        "1 to 20 far senders": ("far senders", 0.0),
        "truly 15 % a year": ("evenings", TRUE_TREND),
    }
    rising = {}
    for name, (effort, trend) in worlds.items():
        found = [trended(effort, seed + LATER, trend) for seed in seeds]
        drifts = [drift for _, drift in found if np.isfinite(drift)]
        rising[name] = np.mean([estimate.verdict == "rising" for estimate, _ in found])
        yield at_most(f"{name}: mean drift of the index a year", abs(np.mean(drifts)), 0.025)
        yield f"{name}: worlds with an index", f"{len(drifts)} of {len(seeds)}", "(no bar)", True
    *grown, true = rising.values()
    yield at_most("growth alone called rising", np.mean(grown), 0.05)
    yield at_least("a true rise called rising", true, 0.60)


def trended(effort: str, seed: int, trend: float) -> tuple[Estimate, float]:
    """The trend of ten seasons as told, and how much faster the log index grows than the truth."""
    world = region.region(effort, seasons=10, seed=seed, trend=trend)
    ways = region.usable(world.watch)
    always = steady_paths(world.watch, ways, season=world.cells["season"].to_numpy())
    one = series(world, *region.as_seen(world, always))
    told = index_trend(one)
    if not len(one.fit.coef):
        return told, np.nan
    years = np.arange(10) - 4.5
    real = world.open.reshape(10, -1).mean(axis=1)
    away = np.log(season_levels(one.fit)[0]) - np.log(real)
    return told, float(years @ away / (years @ years))


if __name__ == "__main__":
    main()

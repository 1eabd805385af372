"""Measure the fits against a real ionosphere: one hourly foEs series, value beside bar.

    python -m benchmarks.nature [--quick] [--final] [--real FOLDER]

Constants were tried on the years up to 1988; the years from 1989 on are for one final look (--final).
An hour is open at or above 8, 9.5 or 12.9 MHz: three bands, as it were. Stations that the project has
not seen judge better than this one.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.ndimage import gaussian_filter1d

from analysis.fit.ahead.verify import _windows, back_test, reliability
from analysis.fit.climatology import (
    MIDDLE_OF_MONTH,
    overlay,
    published_curve,
    published_foes,
    support_chance,
)
from analysis.fit.compare import predictive_range
from analysis.fit.model.curves import curve
from analysis.fit.model.harmonics import DAYS, SEASON_DAYS, cycle
from analysis.fit.nature import USUAL_SEASON
from analysis.fit.season import seasons_table
from benchmarks.fit import at_least, at_most, within
from tests.fit.real_days import ionosonde_days
from tests.fit.real_hours import LAT, LON, ionosonde_series

REAL = Path(__file__).parents[2] / "shared" / "real"
LEVELS = (8.0, 9.5, 12.9)  # MHz
TRIED, FINAL = (1958, 1988), (1989, 2005)
WHOLE = 300  # days measured in a year that counts
TRAIN = 5
BANDWIDTHS = (4, 6, 8, 10, 13, 16)  # days, of the smoothed calendars
FLOORS = (8e-4, 5e-5)  # below which the published maps only extrapolate, as `nature.USUAL_SEASON` says


def main() -> None:
    """Print every bar with what was measured."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.nature", description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="every fourth year only")
    parser.add_argument("--final", action="store_true", help="the years kept for the final look")
    parser.add_argument("--real", type=Path, default=REAL, help="folder with foes_kokubunji_hourly.csv.gz")
    options = parser.parse_args()
    about = {"share": 0.25 if options.quick else 1.0, "years": FINAL if options.final else TRIED}
    for part in (seasons, coverage, windows, maps, blanks):
        for what, value, bar, good in part(folder=options.real, **about):
            print(f"{what:62}{value:>10}  {bar}{'' if good else '   <-- misses'}", flush=True)


def bars(share: float) -> dict[int, list[tuple]]:
    """Bars 13 to 16 of `python -m benchmarks`; without the series only the simulated one."""
    of_nature = {13: years_and_curves, 14: windows, 15: maps}
    missing = [("foEs series", "absent", "(no bar)", True)]
    there = (REAL / "foes_kokubunji_hourly.csv.gz").is_file()
    found = {bar: list(part(share=share)) if there else missing for bar, part in of_nature.items()}
    return found | {16: list(first_season(share))}


def years_and_curves(*, share: float) -> Iterator[tuple]:
    """Bar 13: seasons and curves."""
    yield from seasons(share=share)
    yield from coverage(share=share)


def seasons(*, share: float, years: tuple[int, int] = TRIED, folder: Path = REAL) -> Iterator[tuple]:
    """How often a year is called above or below normal, and how often its range holds the next one."""
    unusual, held = [], []
    for level in LEVELS:
        days = ionosonde_days(folder, open_mhz=level)
        days = days[days["monitored"] & days["season"].between(*years)]
        counted = days.groupby("season")["open"].agg(["sum", "size"])
        counted = counted[counted["size"] >= WHOLE]
        for first in range(len(counted) - TRAIN):
            past, ahead = counted.iloc[first : first + TRAIN], counted.iloc[first + TRAIN]
            about = past["sum"].to_numpy(), past["size"].to_numpy()
            low, high = predictive_range(*about, of_days=float(ahead["size"]))
            held.append(low <= ahead["sum"] <= high)
        for first in range(years[0], years[1] - 6, 4 if share == 1 else 12):
            one = ionosonde_series(folder, seasons=range(first, first + 8), open_mhz=level)
            unusual += list(seasons_table([one])["verdict"].isin(["above", "below"]))
    yield within("years called above or below normal, of eight", np.mean(unusual), 0.12, 0.28)
    yield within("next year's opening days within the 90 % range from five", np.mean(held), 0.85, 0.96)


def coverage(*, share: float, years: tuple[int, int] = TRIED, folder: Path = REAL) -> Iterator[tuple]:
    """How often 90 % intervals of curves from five years hold the share of all years, a fortnight smoothed."""
    held: dict[str, list[float]] = {"hour": [], "season_day": []}
    whole = ionosonde_series(folder).cells
    opened = whole["n_detected"] > 0
    by_day = opened.groupby(whole["season_day"]).mean().reindex(SEASON_DAYS, fill_value=0.0).to_numpy()
    by_hour = opened.groupby(np.floor(whole["hour"] * 2).astype(int)).mean()
    truth = {
        "season_day": pd.Series(gaussian_filter1d(by_day, 7, mode="wrap"), index=SEASON_DAYS),
        "hour": by_hour.set_axis(by_hour.index / 2 + 0.25),
    }
    for first in range(years[0], years[1] - TRAIN + 2, TRAIN if share == 1 else 2 * TRAIN):
        fit = ionosonde_series(folder, seasons=range(first, first + TRAIN)).fit
        for by, inside in held.items():
            table = (
                curve(fit, by=by)
                .set_index("x")[["low", "high"]]
                .join(truth[by].rename("truth"), how="inner")
                .dropna()
            )
            inside.append(table["truth"].between(table["low"], table["high"]).mean())
    for by, inside in held.items():
        yield within(f"curve by {by}, five years: 90 % interval holds", float(np.mean(inside)), 0.85, 0.97)


def windows(*, share: float, years: tuple[int, int] = TRIED, folder: Path = REAL) -> Iterator[tuple]:
    """Sixth year from five: against every smoothed calendar of the five, and the calendar of all others."""
    losses, every = [], []
    for level in LEVELS:
        days = ionosonde_days(folder, open_mhz=level)
        days = days[days["season"].between(*years)]
        found = back_test(days, counts=(1, 4), train=TRAIN)
        found = found[found["season"] % round(1 / share) == 0]
        found = with_calendars(days, found)
        losses.append(pd.DataFrame(brier(found)))
        every.append(found)
    loss, off = pd.concat(losses, ignore_index=True), reliability(pd.concat(every))
    smoothed = loss[[f"smoothed {width}" for width in BANDWIDTHS]].min(axis=1)
    skill, best, ceiling = (
        1 - (of / loss["flat"]).mean() for of in (loss["model"], smoothed, loss["ceiling"])
    )
    yield at_least("skill over flat as a share of that of all other years", skill / ceiling, 0.98)
    yield at_least("skill over flat beyond the best smoothed calendar of the five", skill - best, 0.02)
    yield at_least("Brier skill over that calendar", 1 - (loss["model"] / smoothed).mean(), 0.02)
    off = off[off["n"] >= 100]
    yield at_most(
        "worst tenth with 100 windows or more, bands together",
        (off["share"] - off["chance"]).abs().max(),
        0.10,
    )
    mean = np.average((off["share"] - off["chance"]).abs(), weights=off["n"])
    yield "the same, mean over windows", f"{mean:.3f}", "(no bar)", True


def maps(*, share: float, years: tuple[int, int] = TRIED, folder: Path = REAL) -> Iterator[tuple]:
    """Eight years at a time beside the published maps: how much is called a disagreement; their shape."""
    try:
        foes = published_foes(lat=LAT, lon=LON)
    except ImportError:
        yield "published maps", "not installed", "(no bar)", True
        return
    yield at_most("usual season, from the maps anew: largest difference", usual_difference(), 0.01)
    chance, marked = support_chance(foes, freq_mhz=50.0), []
    for level in LEVELS[:2]:
        for first in range(years[0], years[1] - 6, 8 if share == 1 else 16):
            fit = ionosonde_series(folder, seasons=range(first, first + 8), open_mhz=level).fit
            for by in ("hour", "season_day"):
                shapes = overlay(fit, published_curve(foes, chance, fit, by=by), by=by)
                marked.append(shapes["disagrees"].mean())
    yield at_least("curves without a mark of disagreement", np.mean(np.array(marked) == 0), 0.90)
    yield at_most("part of the axes marked", float(np.mean(marked)), 0.05)


def blanks(*, share: float, years: tuple[int, int] = TRIED, folder: Path = REAL) -> Iterator[tuple]:
    """Blank hours read as not measured, and as no sporadic E: what it changes."""
    del share
    seen = {}
    for read in ("unmeasured", "shut"):
        days = ionosonde_days(folder, blanks=read)
        days = days[days["season"].between(*years)]
        seen[read] = (
            days[days["monitored"]].groupby("season_day")["open"].mean().reindex(SEASON_DAYS).mean() * 365
        )
    change = seen["shut"] / seen["unmeasured"] - 1
    yield "opening days a year, blanks not measured", f"{seen['unmeasured']:.1f}", "(no bar)", True
    yield "opening days a year, blanks without sporadic E", f"{seen['shut']:.1f}", "(no bar)", True
    yield "change by reading blanks as shut", f"{change:.1%}", "(no bar)", True


def first_season(share: float) -> Iterator[tuple]:
    """One simulated season with and without the usual course, against the long run (seeds 500 on)."""
    from analysis.fit.ahead import daymodel
    from benchmarks.windows import against_truth, found_days, true_chance

    truth = true_chance("es6", years=max(round(400 * share), 200))
    sets = [found_days("es6", seed=500 + seed, seasons=1) for seed in range(max(round(16 * share), 6))]
    every, found = daymodel.BENDINGS, {}
    for name, candidates in (("with", every), ("without", tuple(one for one in every if not one[2]))):
        daymodel.BENDINGS = candidates
        found[name] = pd.DataFrame([against_truth(days, truth) for days in sets]).mean()
    daymodel.BENDINGS = every
    yield at_most("es6, one season: rmse of windows with the usual course", found["with"]["rmse"], 0.14)
    yield within("es6, one season: coverage", found["with"]["coverage"], 0.83, 1.0)
    yield "es6, one season: rmse without it", f"{found['without']['rmse']:.3f}", "(no bar)", True


def with_calendars(days: pd.DataFrame, forecasts: pd.DataFrame) -> pd.DataFrame:
    """The forecasts with columns `smoothed N` (of the same five years) and `ceiling` (of all other years)."""
    seen, parts = _windows(days, length=10), []
    for (season, count), part in forecasts.groupby(["season", "at_least"]):
        row = part["season_day"].to_numpy() - SEASON_DAYS[0]
        five = seen[seen["season"].between(season - TRAIN, season - 1)]
        named = {f"smoothed {width}": (five, width) for width in BANDWIDTHS}
        named["ceiling"] = (seen[seen["season"] != season], 5)
        parts.append(part.assign(**{name: _smoothed(*about, count)[row] for name, about in named.items()}))
    return pd.concat(parts)


def brier(forecasts: pd.DataFrame) -> list[pd.Series]:
    """Brier scores of every forecast, one row a count of opening days."""
    names = ["model", "flat", "ceiling", *(f"smoothed {width}" for width in BANDWIDTHS)]
    return [
        part[names].sub(part["happened"].astype(float), axis=0).pow(2).mean()
        for _, part in forecasts.groupby("at_least")
    ]


def usual_season() -> np.ndarray:
    """`nature.USUAL_SEASON` worked out from the published maps: three parts, harmonics of the season day."""
    chance = np.mean(
        [
            support_chance(published_foes(lat=lat, lon=lon), freq_mhz=50.0)
            .to_numpy()
            .reshape(12, 24)
            .mean(axis=1)
            for lat in (30.0, 40.0, 50.0)
            for lon in range(-180, 180, 60)
        ],
        axis=0,
    )
    middles = np.r_[MIDDLE_OF_MONTH - 365, MIDDLE_OF_MONTH, MIDDLE_OF_MONTH + 365]
    high, low = (
        np.interp(SEASON_DAYS + 172, middles, np.tile(np.log(chance + floor), 3)) for floor in FLOORS
    )
    from_winter = (SEASON_DAYS + 167 + 182.5) % 365 - 182.5
    parts = np.column_stack([high, low - high, np.exp(-0.5 * (from_winter / 20) ** 2)])
    waves = cycle(SEASON_DAYS, period=DAYS, order=USUAL_SEASON.shape[1] // 2)
    return np.linalg.lstsq(waves, parts - parts.mean(axis=0), rcond=None)[0].T


def usual_difference() -> float:
    """Largest difference of the kept coefficients from those of the maps."""
    return float(np.abs(usual_season() - USUAL_SEASON).max())


def _smoothed(seen: pd.DataFrame, width: float, count: int) -> np.ndarray:
    """Share of good windows by season day, smoothed around the year."""
    row, good = seen["season_day"].to_numpy() - SEASON_DAYS[0], (seen["n_days"] >= count).to_numpy(float)
    sums = np.zeros((2, len(SEASON_DAYS)))
    np.add.at(sums[0], row, good)
    np.add.at(sums[1], row, 1.0)
    above, below = gaussian_filter1d(sums, width, axis=1, mode="wrap")
    return above / np.maximum(below, 1e-9)


if __name__ == "__main__":
    main()

"""Measure the chances of windows against known truth and against a real series, value beside bar.

    python -m benchmarks.windows [--replicates 16] [--years 1000] [--real FOLDER]

Simulated seasons (tests/fit/simulate.py) are reported by always-on receivers, openings are found from
those reports, and the chances of 10-day windows are held against those of many simulated years.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path

import numpy as np
import pandas as pd

from analysis.find.days import LEAST_MIN, Key, series_days
from analysis.fit.ahead.daymodel import fit_days
from analysis.fit.ahead.days import model_days
from analysis.fit.ahead.verify import back_test, reliability, scores
from analysis.fit.ahead.windows import LENGTH, Drawing, near_best, window_chance
from analysis.fit.model.harmonics import SEASON_DAYS
from tests.fit import simulate
from tests.fit.real_days import ionosonde_days

KINDS = ("es6", "land2", "sea2")
SKILL = {"es6": 0.35, "sea2": 0.12}  # bars of the skill over a flat forecast
REPORTS_PER_HOUR = 6.0  # of one receiver while the band is open
GAP = pd.Timedelta(minutes=30)
LONGEST_EXTENSION = 30.0
REAL = Path(__file__).parents[2] / "shared" / "real"
FOLDER_HELP = "folder with foes_kokubunji_hourly.csv.gz"


def main() -> None:
    """Print every bar with what was measured."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--replicates", type=int, default=16)
    parser.add_argument("--years", type=int, default=1000)
    parser.add_argument("--real", type=Path, default=REAL, help=FOLDER_HELP)
    options = parser.parse_args()
    for kind in KINDS:
        simulated(kind, replicates=options.replicates, years=options.years)
    if options.real.is_dir():
        real(options.real)
    planning()


def simulated(kind: str, *, replicates: int, years: int) -> None:
    """Bias, error, coverage, back-tested skill and near-best precision of one kind of series."""
    truth = true_chance(kind, years=years)
    sets = [found_days(kind, seed=seed) for seed in range(replicates)]
    mean = measured(sets, truth)
    bars = {
        "bias": "|bias| <= .04",
        "rmse": "<= .10",
        "coverage": ".83-.97",
        "precision": ">= .80",
        "skill_flat": f">= {SKILL[kind]:.2f}" if kind in SKILL else "no bar",
        "skill_possible": "what knowing the truth would score",
        "skill_calendar": ">= .03",
    }
    print(f"\n{kind}: {LENGTH}-day windows, 8 seasons, monitors, {replicates} replicates, {years} true years")
    for name, bar in bars.items():
        print(f"  {name:15s} {mean[name]:7.3f}   bar {bar}")
    for n in (2, 3, 5):
        few = [against_truth(days[days["season"] > days["season"].max() - n], truth) for days in sets]
        found = pd.DataFrame(few).mean()
        print(
            f"  {n} seasons: bias {found['bias']:6.3f}  rmse {found['rmse']:.3f}  coverage {found['coverage']:.3f}"
        )


def measured(sets: list[pd.DataFrame], truth: np.ndarray) -> pd.Series:
    """Mean over data sets of every score that has a bar."""
    return pd.DataFrame([against_truth(days, truth) | own_skill(days, truth) for days in sets]).mean()


def against_truth(days: pd.DataFrame, truth: np.ndarray) -> dict[str, float]:
    """Fitted chances against the truth."""
    found = window_chance(fit_days(days), length=LENGTH, drawing=Drawing(draws=100))
    near = near_best(found["share"]).to_numpy()
    error = found["chance"].to_numpy() - truth
    return {
        "bias": error.mean(),
        "rmse": np.sqrt((error**2).mean()),
        "coverage": ((found["low"] <= truth) & (truth <= found["high"])).mean(),
        "precision": (truth[near] >= truth.max() - 0.10).mean(),
    }


def own_skill(days: pd.DataFrame, truth: np.ndarray) -> dict[str, float]:
    """Brier skill of the back-test, and what a forecaster who knows the truth would have had."""
    forecasts = back_test(days)
    skill = scores(forecasts).query("score == 'brier skill'").set_index("against")["value"]
    happened = forecasts["happened"].to_numpy(float)
    known = truth[forecasts["season_day"] - SEASON_DAYS[0]]
    possible = 1 - ((known - happened) ** 2).sum() / ((forecasts["flat"] - happened) ** 2).sum()
    return {"skill_flat": skill["flat"], "skill_calendar": skill["calendar"], "skill_possible": possible}


def true_chance(kind: str, *, years: int) -> np.ndarray:
    """Chance of a true opening of half an hour or more starting in each window, over many years."""
    good = np.zeros(len(SEASON_DAYS))
    for seed in range(years // 20):
        one = simulate.simulate(kind, seasons=20, seed=90_000 + seed)
        long = one.openings[one.openings["duration_min"] >= LEAST_MIN]
        opened = np.zeros((20, len(simulate.DAYS)), bool)
        opened[long["season"] - simulate.FIRST_YEAR, long["season_day"] - simulate.DAYS[0]] = True
        # The simulated season begins a day before ours and goes round.
        shifted = np.roll(opened, simulate.DAYS[0] - SEASON_DAYS[0], axis=1)
        good += np.any([np.roll(shifted, -step, axis=1) for step in range(LENGTH)], axis=0).sum(axis=0)
    return good / (20 * (years // 20))


def found_days(kind: str, *, seed: int, seasons: int = 8) -> pd.DataFrame:
    """Days of simulated seasons as the receivers saw them."""
    one = simulate.simulate(kind, seasons=seasons, seed=seed)
    openings = found_openings(one, seed=seed)
    heard = one.cells.loc[one.cells["n_listening"] > 0, ["start"]]
    heard = heard.assign(end=heard["start"] + pd.Timedelta(minutes=30))
    return model_days(series_days(openings, heard, Key(band="6m", mechanism="ES"), lon=5.0, lat=50.0))


def found_openings(one: simulate.Simulated, *, seed: int) -> pd.DataFrame:
    """Openings out of reports at random times: runs of three or more, durations corrected for sampling."""
    rng = np.random.default_rng(seed)
    sure = pd.merge_asof(one.openings, one.cells[["start", "n_listening"]], on="start")
    listeners = sure["n_listening"].to_numpy() / 3
    minutes = one.openings["duration_min"].to_numpy(float)
    n = rng.poisson(REPORTS_PER_HOUR * listeners * minutes / 60)
    at = one.openings["start"].repeat(n) + pd.to_timedelta(
        rng.random(n.sum()) * minutes.repeat(n), unit="min"
    )
    at = at.sort_values().reset_index(drop=True)
    runs = at.groupby((at.diff() > GAP).cumsum()).agg(["min", "max", "size"])
    runs = runs[runs["size"] >= 3]
    span = (runs["max"] - runs["min"]).dt.total_seconds() / 60
    longer = (span * 2 / (runs["size"] - 1)).clip(upper=LONGEST_EXTENSION)
    table = pd.DataFrame({"start": runs["min"], "end": runs["max"], "duration_min": span + longer})
    series = {"band": "6m", "mechanism": "ES", "path_type": "all"}
    return table.assign(**series, scope="region", grade="confirmed", max_km=np.nan)


def real(folder: Path) -> None:
    """Sixth year from five over the whole ionosonde series: skill with intervals, reliability."""
    forecasts = back_test(ionosonde_days(folder), counts=(1, 4), train=5)
    seasons = forecasts["season"].nunique()
    print(
        f"\nreal series: sixth year from five, {seasons} seasons; bars .50 (1 day) and .76 (4 days) over flat"
    )
    print(scores(forecasts).round(3).to_string(index=False))
    table = reliability(forecasts)
    off = (table["share"] - table["chance"]).abs()[table["n"] >= 100].max()
    print(table.round(3).to_string(index=False))
    print(f"largest miss of a tenth with 100 cases or more: {off:.3f}   bar <= .10")


def planning() -> None:
    """Time of three bands times four directions times a year, fits included."""
    days = found_days("es6", seed=1)
    began = time.process_time()
    for _ in range(12):
        window_chance(fit_days(days), length=LENGTH, at_least=4)
    print(f"\nplanning 12 series: {time.process_time() - began:.1f} s of CPU   bar <= 20 s after the fits")


if __name__ == "__main__":
    main()

"""Measured value beside each bar of the fitting room, on seeded seasons with known truth.

python benchmarks/fit.py            everything, about five minutes
python benchmarks/fit.py --quick    fewer replicates, about one minute
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

import numpy as np
import pandas as pd

sys.path.insert(0, str(Path(__file__).parents[1]))

from analysis.fit.assess import assess
from analysis.fit.estimate import Series
from analysis.fit.findings import estimates_table
from analysis.fit.model import occupancy
from analysis.fit.model.counts import count
from analysis.fit.model.curves import curve
from analysis.fit.model.glm import irls
from analysis.fit.model.harmonics import design
from analysis.fit.model.mixture import objective
from analysis.fit.model.occupancy import fit_occupancy
from analysis.fit.peaks import hour_peaks, season_dates, simultaneous
from analysis.fit.rule_of_thumb import rule_of_thumb
from analysis.fit.season_index import season_index
from tests.fit import simulate

COMMON = ("es6", "land2", "sea2")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="a quarter of the replicates")
    parser.add_argument("--rows", default="1,2,3,4,7,8,11,12,peaks", help="which rows, comma-separated")
    args = parser.parse_args()
    share = 0.25 if args.quick else 1.0
    rows = {
        "peaks": peaks,
        "1": exactness,
        "2": monitored,
        "3": unmonitored,
        "4": coverage,
        "7": trend,
        "8": rule,
        "11": refusals,
        "12": speed,
    }
    failed = 0
    print(f"{'row':6}{'what':58}{'measured':>12}  bar")
    for row in args.rows.split(","):
        for what, value, bar, good in rows[row](share):
            failed += not good
            print(f"{row:6}{what:58}{value:>12}  {bar}{'' if good else '   <-- misses'}", flush=True)
    sys.exit(failed > 0)


def exactness(share):
    """Row 1: the companion against statsmodels, the main model's gradient against differences."""
    import statsmodels.api as sm

    cells = simulate.simulate("es6", seasons=8, seed=1).cells
    classes = count(cells).classes
    x = design(classes["half"].to_numpy() / 2 + 0.25, -181 + 5 * classes["block"].to_numpy())
    y, n = classes["open_bins"].to_numpy(float), classes["bins"].to_numpy(float)
    own = irls(x, successes=y, trials=n)
    theirs = sm.GLM(np.c_[y, n - y], x, family=sm.families.Binomial()).fit(tol=1e-12).params
    yield at_most("largest difference of coefficients", np.abs(own - theirs).max(), 1e-6)
    problem = occupancy.occupancy_problem(count(cells), (3, 3, 1, 1), 10.0, 3e-4)
    beta = (
        np.random.default_rng(1).normal(0, 0.3, problem.x.shape[1] + 3)
        - np.r_[3, np.zeros(problem.x.shape[1] + 2)]
    )
    gradient = objective(beta, problem)[1]
    ahead = [
        (objective(beta + e, problem)[0] - objective(beta - e, problem)[0]) / 2e-5
        for e in 1e-5 * np.eye(len(beta))
    ]
    yield at_most("gradient against finite differences, relative", np.abs(gradient / ahead - 1).max(), 1e-4)


def monitored(share):
    """Row 2: eight seasons with monitors against what those seasons really held."""
    for kind in COMMON:
        errors = pd.DataFrame(
            [errors_of(kind, seed, monitors=True) for seed in range(round(12 * share))]
        ).mean()
        yield at_most(f"{kind}: hour curve, rmse over mean", errors["hour"], 0.18)
        yield within(f"{kind}: ratio of means", errors["ratio"], 0.90, 1.10)
        yield at_most(f"{kind}: shape of hour curve", errors["shape"], 0.18)
        yield at_most(f"{kind}: season curve (28 days), rmse over mean", errors["season"], 0.30)
        yield f"{kind}: the same by fortnights", f"{errors['fortnights']:.3g}", "(no bar)", True


def unmonitored(share):
    """Row 3: nobody always on the air; the shape must hold where the spots' own shape does not."""
    for kind in COMMON:
        errors = pd.DataFrame(
            [errors_of(kind, seed, monitors=False) for seed in range(round(12 * share))]
        ).mean()
        yield at_most(f"{kind}, no monitors: shape of hour curve", errors["shape"], 0.25)
        yield at_least(f"{kind}: shape error of the spots over ours", errors["spots"] / errors["shape"], 2)
    cells = simulate.simulate("es6", seasons=8, monitors=False, seed=1).cells
    verdict = assess(cells, tier="B")
    yield (
        "says that it is indicative",
        str(any("indicative" in reason for reason in verdict.reasons)),
        "True",
        "indicative" in verdict.reason,
    )


def coverage(share):
    """Row 4: how often 90 % intervals hold the chance of the long run."""
    truth = {kind: long_run(kind) for kind in COMMON}
    for seasons in (2, 3, 5, 8):
        held, factors = {"hour": [], "season_day": []}, []
        for kind in COMMON:
            for seed in range(100, 100 + round(20 * share)):
                fit = fit_occupancy(simulate.simulate(kind, seasons=seasons, seed=seed).cells)
                for by, values in held.items():
                    table = curve(fit, by=by)
                    values.append(
                        ((table["low"] <= truth[kind][by]) & (truth[kind][by] <= table["high"])).mean()
                    )
                    if by == "hour":
                        factors.append((table["high"] / table["chance"]).median())
        for by, values in held.items():
            yield within(f"{seasons} seasons: coverage of the curve by {by}", np.mean(values), 0.85, 0.98)
        if seasons == 2:
            yield at_most("2 seasons: median factor of the hour curve", np.median(factors), 2.5)


def peaks(share):
    """Beyond the bars: how often intervals of the maxima, and bands of whole curves, hold the long run."""
    truth = long_run("es6")
    hours = {
        "morning peak": truth["hour"][10:29].argmax() + 10,
        "evening peak": truth["hour"][29:48].argmax() + 29,
    }
    above = np.flatnonzero(truth["season_day"] > 0.75 * truth["season_day"].max()) - 182
    date = 172 + (above.min() + above.max()) / 2
    for seasons in (2, 4, 8):
        held = {"morning peak": [], "evening peak": [], "season peak": [], "whole hour curve": []}
        widths = []
        for seed in range(900, 900 + round(16 * share)):
            fit = fit_occupancy(simulate.simulate("es6", seasons=seasons, seed=seed).cells)
            found = hour_peaks(fit, mechanism="ES", axis="solar") | season_dates(fit)
            band = simultaneous(fit)
            held["whole hour curve"].append(
                ((band["low"] <= truth["hour"]) & (truth["hour"] <= band["high"])).all()
            )
            for name, half in hours.items():
                if np.isfinite(found[name].value):
                    held[name].append(found[name].low - 0.25 <= half / 2 + 0.25 <= found[name].high + 0.25)
            if np.isfinite(found["season peak"].value):
                held["season peak"].append(found["season peak"].low <= date <= found["season peak"].high)
                widths.append(found["season peak"].high - found["season peak"].low)
        for name, values in held.items():
            yield (
                f"{seasons} seasons: {name} held, of {len(values)} given",
                f"{np.mean(values):.2f}",
                "(no bar)",
                True,
            )
        yield (
            f"{seasons} seasons: median width of the peak's interval",
            f"{np.median(widths):.0f} d",
            "(no bar)",
            True,
        )


def trend(share):
    """Row 7: seasons without a trend, ever more activity."""
    slopes, spots, r, by_people = [], [], [], []
    for seed in range(200, 200 + round(24 * share)):
        found = simulate.simulate("es6", seasons=8, seed=seed)
        season = found.truth["season"]
        truth = np.log(found.truth.groupby("season")["open"].mean().to_numpy())
        index = np.log(season_index(fit_occupancy(found.cells))[0])
        people = simulate.simulate("es6", seasons=8, seed=seed, monitors=False)
        loose = np.log(season_index(fit_occupancy(people.cells, tier="B"))[0])
        count_spots = np.log(pd.Series(found.spots).groupby(season).sum().to_numpy())
        slopes.append(slope(index - truth))
        by_people.append(slope(loose - truth))
        spots.append(slope(count_spots - truth))
        r.append(np.corrcoef(index, truth)[0, 1])
    yield at_most("spurious trend of the index, per year", abs(np.mean(slopes)), 0.025)
    yield at_least("trend of the spots, per year", np.mean(spots), 0.25)
    yield at_least("correlation of the index with the truth", np.mean(r), 0.93)
    yield "spurious trend without monitors, per year", f"{np.mean(by_people):.3f}", "(no bar)", True


def rule(share):
    """Row 8: the rule of thumb where nothing is there, and where it is."""
    null, real = [], []
    for seed in range(300, 300 + round(100 * share)):
        null.append(verdicts(simulate.simulate("land2", seasons=1, seed=seed, swing=0.0)))
    for seed in range(500, 500 + round(50 * share)):
        real.append(verdicts(simulate.simulate("land2", seasons=1, seed=seed)))
    yield at_most("one season, no cycle: says supported", np.mean([v == "supported" for v in null]), 0.08)
    yield at_most(
        "one season, no cycle: says contradicted", np.mean([v == "contradicted" for v in null]), 0.08
    )
    yield at_least("one season, full cycle: says supported", np.mean([v == "supported" for v in real]), 0.9)
    refused = verdicts(simulate.simulate("land2", seasons=1, seed=1), tier="C")
    yield "contacts only", refused, "refuse", refused == "refuse"


def refusals(share):
    """Row 11: input that carries nothing gets words."""
    cells = simulate.simulate("es6", seasons=1, seed=4).cells
    open_days = cells.loc[cells["n_detected"] > 0, "season_day"].drop_duplicates().iloc[:3]
    cases = {
        "three opening days": (
            cells.assign(n_detected=cells["n_detected"].where(cells["season_day"].isin(open_days), 0)),
            "A",
        ),
        "contacts only": (cells, "C"),
        "feed outage all year": (cells.assign(n_listening=0, n_detected=0), "A"),
        "nothing heard": (cells.assign(n_detected=0), "A"),
        "always open": (cells.assign(n_detected=cells["n_listening"]), "A"),
        "no rows": (cells.iloc[:0], "A"),
    }
    for name, (case, tier) in cases.items():
        table = estimates_table([Series("6m", "ES", "all", "solar", tier, case)])
        silent = table["value"].isna().all() and (table["reason"].str.len() > 20).all()
        yield name, table["verdict"].iloc[0], "refuse", silent and (table["verdict"] == "refuse").all()
    one = assess(cells, tier="A")
    yield "one season", one.status, "provisional", one.status == "provisional"


def speed(share):
    """Row 12: one series of eight seasons with its eight refits."""
    for kind, monitors in (("es6", True), ("land2", True), ("land2", False)):
        cells = simulate.simulate(kind, seasons=8, monitors=monitors, seed=1).cells
        begin = time.perf_counter()
        fit = fit_occupancy(cells)
        curve(fit), curve(fit, by="season_day")
        yield at_most(
            f"{kind}{'' if monitors else ', no monitors'}: seconds", time.perf_counter() - begin, 10
        )


def errors_of(kind: str, seed: int, *, monitors: bool) -> pd.Series:
    """Errors of the curves against the seasons that happened, over the mean chance."""
    found = simulate.simulate(kind, seasons=8, monitors=monitors, seed=seed)
    fit = fit_occupancy(found.cells, tier="A" if monitors else "B")
    hour, day = curve(fit)["chance"].to_numpy(), curve(fit, by="season_day")["chance"].to_numpy()
    half = np.floor(found.truth["hour"] * 2).astype(int)
    true_hour = found.truth.groupby(half)["open"].mean().to_numpy()
    true_day = found.truth.groupby("season_day")["open"].mean().reindex(range(-182, 182)).to_numpy()
    by_days = {days: rms(means(day, days) - means(true_day, days)) / true_day.mean() for days in (14, 28)}
    spots = pd.Series(found.spots).groupby(half).sum().to_numpy()
    return pd.Series(
        {
            "hour": rms(hour - true_hour) / true_hour.mean(),
            "ratio": hour.mean() / true_hour.mean(),
            "shape": rms(hour / hour.mean() - true_hour / true_hour.mean()),
            "season": by_days[28],
            "fortnights": by_days[14],
            "spots": rms(spots / spots.mean() - true_hour / true_hour.mean()),
        }
    )


def long_run(kind: str) -> dict[str, np.ndarray]:
    """Chance by hour on the series' axis and by season day over many simulated years."""
    chance = simulate.population(kind, years=600)
    half = np.floor(simulate.axis_hours(kind) * 2).astype(int)
    hour = np.bincount(half.ravel(), chance.ravel()) / np.bincount(half.ravel())
    day = pd.Series(np.r_[chance.mean(axis=1), chance.mean(axis=1)[:1]])  # day 182 is day -183 of the next
    smooth = day.rolling(9, center=True, min_periods=1).mean()
    return {"hour": hour, "season_day": smooth.to_numpy()[1:]}


def verdicts(found, *, tier="A") -> str:
    one = Series("2m", "TR", "land", "sun", tier, found.cells)
    return rule_of_thumb([one])["sunrise over afternoon on land paths"].verdict


def means(x, days: int) -> np.ndarray:
    """Means of a season curve over so many days: three yearly harmonics cannot follow single weeks."""
    return np.asarray(x)[:364].reshape(-1, days).mean(axis=1)


def rms(x) -> float:
    return float(np.sqrt(np.mean(np.square(x))))


def slope(y) -> float:
    x = np.arange(len(y)) - (len(y) - 1) / 2
    return float(x @ y / (x @ x))


def at_most(what, value, bar):
    return what, f"{value:.3g}", f"<= {bar:g}", value <= bar


def at_least(what, value, bar):
    return what, f"{value:.3g}", f">= {bar:g}", value >= bar


def within(what, value, low, high):
    return what, f"{value:.3g}", f"{low:g} to {high:g}", low <= value <= high


if __name__ == "__main__":
    main()

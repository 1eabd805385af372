"""Measured value beside each bar of a user's own evidence: `python -m benchmarks.evidence [sets]`.

Seeded sets with planted truth (`tests/fit/simulate_evidence.py`). The seeds start apart from those that the
tests use and that the methods were tried on, so that nothing was tuned on them.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator

import numpy as np
import pandas as pd

from analysis.find.signs.spread import COLUMNS
from analysis.fit.signs.forecast import SKILL, forecast_scores
from analysis.fit.signs.nearby import DIFFER, neighbours_table
from analysis.fit.signs.weather import LINK, weather_table
from benchmarks.fit import at_least, at_most
from tests.fit import simulate_evidence as simulate

FIRST_SEED = 19000


def main() -> None:
    """Print each part with its bar."""
    sets = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    for what, value, bar, met in parts(sets):
        print(f"{what:62} {value:>8}  {bar:>10}  {'met' if met else 'MISSED'}", flush=True)


def parts(sets: int) -> Iterator[tuple]:
    """Every part: what, measured value, bar, whether it is met."""
    seeds = range(FIRST_SEED, FIRST_SEED + sets)
    yield from of_neighbours(seeds)
    yield from of_weather(seeds)
    yield from of_forecasts(seeds)


def of_forecasts(seeds: range) -> Iterator[tuple]:
    """A forecast with skill is told, four kinds of void ones are not; in six seasons and in one."""
    for seasons in (6, 1):
        told = [_told(seed, kind="skill", seasons=seasons) for seed in seeds]
        yield at_least(f"a forecast with skill told, {seasons} season(s)", np.mean(told), 0.95)
        for kind in simulate.VOID_FORECASTS:
            calm = [not _told(seed, kind=kind, seasons=seasons) for seed in seeds]
            yield at_least(f"  void ({kind}) not called useful, {seasons} season(s)", np.mean(calm), 0.95)


def of_weather(seeds: range) -> Iterator[tuple]:
    """A real link is told, three void ones are not; in six seasons and in one."""
    for seasons in (6, 1):
        found = [_links(seed, seasons=seasons) for seed in seeds]
        yield at_least(f"a real weather link told, {seasons} season(s)", np.mean([a for a, _ in found]), 0.95)
        calm = np.mean([not b for _, b in found])
        yield at_least(f"  no void one of three called a link, {seasons} season(s)", calm, 0.95)


def _links(seed: int, *, seasons: int) -> tuple[bool, bool]:
    """Whether the real link of one set is told, and whether any void one is."""
    rng = np.random.default_rng(seed)
    states = simulate.days(rng, seasons=seasons)
    file = simulate.weather(rng, states)
    table = weather_table(file, simulate.days_table(states), pd.DataFrame(columns=COLUMNS))
    linked = set(table.loc[table["verdict"] == LINK, "factor"])
    return "pressure" in linked, bool(linked & set(simulate.VOID_WEATHER))


def of_neighbours(seeds: range) -> Iterator[tuple]:
    """Six decibels recovered, and none told where there are none."""
    apart, equal = ([_pair(seed, diff_db=diff_db) for seed in seeds] for diff_db in (6.0, 0.0))
    yield at_most("a pair 6 dB apart: bias [dB]", abs(np.mean([row["snr_db"] for row in apart]) - 6), 0.3)
    inside = np.mean([row["snr_low"] <= 6 <= row["snr_high"] for row in apart])
    yield at_least("  inside the 90 % interval", inside, 0.85)
    calm = np.mean([row["verdict"] != DIFFER for row in equal])
    yield at_least("  equals not told apart", calm, 0.95)


def _pair(seed: int, *, diff_db: float) -> pd.Series:
    found = simulate.neighbours(np.random.default_rng(seed), diff_db=diff_db)
    return neighbours_table(*found).iloc[0]


def _told(seed: int, *, kind: str, seasons: int) -> bool:
    """Whether any lead of one noted forecast is said to have skill."""
    rng = np.random.default_rng(seed)
    states = simulate.days(rng, seasons=seasons)
    found = forecast_scores(simulate.forecast_pairs(rng, states, kind=kind))
    return bool((found["verdict"] == SKILL).any())


if __name__ == "__main__":
    main()

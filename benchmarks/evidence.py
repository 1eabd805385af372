"""Measured value beside each bar of a user's own evidence: `python -m benchmarks.evidence [sets]`.

Seeded sets with planted truth (`tests/fit/simulate_evidence.py`). The seeds start apart from those that the
tests use and that the methods were tried on, so that nothing was tuned on them.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator

import numpy as np

from analysis.fit.signs.forecast import SKILL, forecast_scores
from benchmarks.fit import at_least
from tests.fit import simulate_evidence as simulate

FIRST_SEED = 9000


def main() -> None:
    """Print each part with its bar."""
    sets = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    for what, value, bar, met in parts(sets):
        print(f"{what:62} {value:>8}  {bar:>10}  {'met' if met else 'MISSED'}", flush=True)


def parts(sets: int) -> Iterator[tuple]:
    """Every part: what, measured value, bar, whether it is met."""
    seeds = range(FIRST_SEED, FIRST_SEED + sets)
    yield from of_forecasts(seeds)


def of_forecasts(seeds: range) -> Iterator[tuple]:
    """A forecast with skill is told, four kinds of void ones are not; in six seasons and in one."""
    for seasons in (6, 1):
        told = [_told(seed, kind="skill", seasons=seasons) for seed in seeds]
        yield at_least(f"a forecast with skill told, {seasons} season(s)", np.mean(told), 0.95)
        for kind in simulate.VOID_FORECASTS:
            calm = [not _told(seed, kind=kind, seasons=seasons) for seed in seeds]
            yield at_least(f"  void ({kind}) not called useful, {seasons} season(s)", np.mean(calm), 0.95)


def _told(seed: int, *, kind: str, seasons: int) -> bool:
    """Whether any lead of one noted forecast is said to have skill."""
    rng = np.random.default_rng(seed)
    states = simulate.days(rng, seasons=seasons)
    found = forecast_scores(simulate.forecast_pairs(rng, states, kind=kind))
    return bool((found["verdict"] == SKILL).any())


if __name__ == "__main__":
    main()

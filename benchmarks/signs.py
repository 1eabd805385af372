"""Measured value beside each bar of first signs: `python -m benchmarks.signs [sets]`.

Seeded sets with planted truth (`tests/fit/simulate_signs.py`). The seeds start apart from those that the
tests use, so that nothing was tuned on them.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator

import numpy as np

from analysis.find.signs.first import first_signs
from analysis.fit.signs.climb import chance_and_lead
from analysis.fit.signs.indicators import USEFUL as CALLED_USEFUL
from analysis.fit.signs.indicators import indicators_table
from analysis.fit.signs.leads import LEADS, leads_table
from analysis.fit.signs.uptime import uptime
from benchmarks.fit import at_least, at_most
from tests.fit import simulate_signs

FIRST_SEED = 7000
PLANTED_MIN = 20.0
WEAK_SHARE = 0.3  # of the openings that the weaker of the two planted signs comes before


def main() -> None:
    """Print each part with its bar."""
    sets = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    for what, value, bar, met in parts(sets):
        print(f"{what:58} {value:>8}  {bar:>10}  {'met' if met else 'MISSED'}")


def parts(sets: int) -> Iterator[tuple]:
    """Every part: what, measured value, bar, whether it is met."""
    seeds = range(FIRST_SEED, FIRST_SEED + sets)
    calm = [_led(seed, lead_min=0.0) for seed in seeds]
    yield at_least("no lead told where labels fall at random", 1 - np.mean(calm), 0.95)
    found = [_led(seed, lead_min=PLANTED_MIN) for seed in seeds]
    yield at_least(f"a lead of {PLANTED_MIN:g} min told", np.mean(found), 0.95)
    told, naive = np.array([_off(seed) for seed in seeds]).mean(axis=0)
    yield at_most("median lead with 30 % cut: bias", abs(told), 0.10)
    yield at_least("  without accounting for it: bias over that", abs(naive) / max(abs(told), 1e-9), 1.0)
    yield at_least("beacon's uptime within its 90 % interval", np.mean([_up(seed) for seed in seeds]), 0.85)
    for share in (0.6, WEAK_SHARE):
        void, first, last = np.array([_ranked(seed, share=share) for seed in seeds]).mean(axis=0)
        name = f"sign before {share:.0%} of openings"
        yield at_least(f"{name}: no void one called useful", 1 - void, 0.95)
        yield at_least("  called useful and ranked first", first, 0.95)
        yield at_least("  the misleading one below all others", last, 0.95)


def _ranked(seed: int, *, share: float) -> tuple[bool, bool, bool]:
    """Whether a void sign of one set is called useful, the useful one ranks first, the misleading one last."""
    rows = simulate_signs.watched_signs(np.random.default_rng(seed), share=share)
    table = indicators_table(rows).set_index("call")
    useful = table.index[table["verdict"] == CALLED_USEFUL]
    void = set(useful) - {simulate_signs.USEFUL}
    first = len(useful) > 0 and useful[0] == simulate_signs.USEFUL
    return bool(void), first, table["gain"].idxmin() == simulate_signs.MISLEADING


def _led(seed: int, *, lead_min: float) -> bool:
    """Whether any sign of one set is said to come before voice."""
    reports = simulate_signs.openings(np.random.default_rng(seed), n=120, lead_min=lead_min)
    return bool((leads_table(first_signs(*reports))["verdict"] == LEADS).any())


def _off(seed: int) -> tuple[float, float]:
    """Relative error of the median lead, with and without what was cut."""
    table, truth = simulate_signs.climbs(np.random.default_rng(seed))
    true = truth["lead_min"].median()
    told = chance_and_lead(table[table["ended"] != ""])[1]
    return told / true - 1, simulate_signs.seen_leads(table).median() / true - 1


def _up(seed: int) -> bool:
    on, heard = simulate_signs.keepers_year(np.random.default_rng(seed))
    found = uptime(heard)
    return found.low <= on[heard.notna().any(axis=1)].mean() <= found.high


if __name__ == "__main__":
    main()

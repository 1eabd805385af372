"""A small part of `benchmarks/fit.py`: the bars hold on a few seeded data sets of each kind."""

import numpy as np
import pytest

from analysis.fit.model.curves import curve
from analysis.fit.model.occupancy import fit_occupancy
from benchmarks import fit as benchmark
from tests.fit.make_series import found
from tests.fit.simulate import population


@pytest.mark.parametrize(
    "row", [benchmark.monitored, benchmark.unmonitored, benchmark.rule, benchmark.refusals]
)
def test_bars_hold_on_a_few_data_sets(row):
    """A twelfth of the replicates; each measured value is on the right side of its bar."""
    missed = [f"{what}: {value}, bar {bar}" for what, value, bar, good in row(1 / 12) if not good]
    assert not missed


def test_growing_activity_is_no_trend():
    """Spots of one data set rise by a third a year while nothing changed; the index does not follow them."""
    measured = {what: float(value) for what, value, *_ in benchmark.trend(1 / 12)}
    assert measured["trend of the spots, per year"] >= 0.25
    # One tenth of the spots' trend: two data sets leave the index a standard error of about 0.03.
    assert measured["spurious trend of the index, per year"] <= 0.08
    assert measured["correlation of the index with the truth"] >= 0.93


def test_intervals_hold_the_long_run():
    """Six data sets of four seasons: nine tenths of the hours lie within their interval, give or take."""
    truth = population("es6", years=150).mean(axis=0)
    held = []
    for seed in range(40, 46):
        table = curve(fit_occupancy(found("es6", seasons=4, seed=seed).cells))
        held.append(((table["low"] <= truth) & (truth <= table["high"])).mean())
    assert np.mean(held) >= 0.8

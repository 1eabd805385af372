"""The silence that ends an opening, told by the silences themselves."""

import numpy as np
import pytest

from analysis.find.grouping.gaps import bout_gap


def bouts(rng, *, within, between, spread=0.8, n=1500):
    """Silences of two log-normal populations, one in eight of the longer kind."""
    long = rng.random(n) < 1 / 8
    gaps = np.exp(rng.normal(np.log(np.where(long, between, within)), spread))
    return gaps, np.log([within, between]), spread


@pytest.mark.parametrize(("within", "between"), [(5, 400), (8, 600), (10, 900)])
def test_crossing_of_the_true_mixture(within, between):
    """The fitted crossing lies near that of the mixture the gaps were drawn from."""
    moments, centre, spread = bouts(np.random.default_rng(within), within=within, between=between)
    # Equal spreads: the densities cross where the difference of squares pays for the weights 7 : 1.
    truth = centre.mean() + spread**2 * np.log(7) / (centre[1] - centre[0])
    assert np.log(bout_gap(moments)) == pytest.approx(truth, abs=0.2)


def test_clipped_to_what_can_be_an_opening():
    """Never under 20 nor over 120 minutes, however dense or thin the reports."""
    rng = np.random.default_rng(1)
    assert bout_gap(bouts(rng, within=1, between=300, spread=0.3)[0]) == 20
    assert bout_gap(bouts(rng, within=60, between=3000)[0]) == 120


@pytest.mark.parametrize(("rate", "gap"), [(20, 30), (5, 60), (1.2, 120)])
def test_few_reports_go_by_their_density(rate, gap):
    """With fewer than 200 gaps: 30 min at 10 an hour or more, 60 at 3 or more, 120 below."""
    assert bout_gap(np.full(49, 60 / rate)) == gap


def test_nothing():
    """No gap at all is the thinnest case, not an error."""
    assert bout_gap(np.empty(0)) == 120


def test_quick_and_slow_within_an_opening_are_not_two_kinds():
    """Where reports come in bursts of minutes and pauses of a quarter of an hour, the pauses end nothing."""
    rng = np.random.default_rng(3)
    kind = rng.choice(3, 8000, p=[0.7, 0.29, 0.01])
    centre, spread = np.log([1.3, 6.0, 900.0]), np.array([0.3, 0.9, 0.8])
    gaps = np.exp(rng.normal(centre[kind], spread[kind]))
    # Own bar for own bursts: one in ten of the middle kind is longer than 6 exp(1.28 × 0.9) = 19 minutes.
    assert 25 < bout_gap(np.diff(np.unique(np.floor(np.cumsum(gaps))))) < 120


def test_two_hundred_silences_tell():
    """Of 199 the density decides, of 200 the two populations themselves."""
    silences = bouts(np.random.default_rng(5), within=5, between=400)[0]
    assert bout_gap(silences[:199]) in (30, 60, 120)
    assert bout_gap(silences[:200]) not in (20, 30, 60, 120)


@pytest.mark.parametrize(("rate", "gap"), [(10, 30), (9.9, 60), (3, 60), (2.9, 120)])
def test_densities_at_their_edges(rate, gap):
    """Ten and three reports an hour belong to the denser kind."""
    assert bout_gap(np.full(20, 60 / rate)) == gap


def test_density_is_that_while_open():
    """A silence of two hours still counts toward the rate, a longer one does not; none at all is as thin as can be."""
    assert bout_gap([*[6.0] * 10, 121.0]) == 30
    assert bout_gap([*[6.0] * 10, 120.0]) == 60
    assert bout_gap([0.0, 500.0]) == 120


def test_four_hours_are_surely_over():
    """Two hundred silences of which none is longer than four hours know of no end; one longer, and they do."""
    rng = np.random.default_rng(2)
    short = np.exp(rng.normal(np.log(3), 0.5, 250)).clip(1, 19)
    assert bout_gap(np.r_[short, 240.0]) in (30, 60, 120)
    assert bout_gap(np.r_[short, 241.0]) not in (30, 60, 120)

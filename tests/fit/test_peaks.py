"""Maxima of the curves: two hours for sporadic E, dates of the season, never surer than the data."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from analysis.fit.model.curves import curve
from analysis.fit.model.occupancy import fit_occupancy
from analysis.fit.peaks import calendar_day, date_text, draws, hour_peaks, season_dates, simultaneous
from tests.fit.make_series import found, series


def test_both_maxima_of_sporadic_e_are_recovered():
    """The simulator's openings start around 10.75 and 18.4 h."""
    peaks = hour_peaks(series("es6").fit, mechanism="ES", axis="solar")
    # tests/fit/simulate.py: centres of the two daily clusters
    assert peaks["morning peak"].value == pytest.approx(10.75, abs=1)
    assert peaks["evening peak"].value == pytest.approx(18.4, abs=1)


def test_hours_are_never_finer_than_half_an_hour():
    """Values stand on half-hours and their intervals reach at least half an hour either way."""
    for kind, mechanism in (("es6", "ES"), ("land2", "TR")):
        for peak in hour_peaks(series(kind).fit, mechanism=mechanism, axis="solar").values():
            assert peak.value * 2 == round(peak.value * 2)
            assert (peak.value - peak.low) % 24 >= 0.5
            assert (peak.high - peak.value) % 24 >= 0.5


def test_half_an_hour_even_where_all_refits_agree():
    """Refits that are all alike leave no spread; the hour is still given half an hour either way."""
    fit = series("es6").fit
    alike = replace(fit, refits=np.tile(fit.coef, (4, 1)))
    peak = hour_peaks(alike, mechanism="ES", axis="solar")["morning peak"]
    assert (peak.value - peak.low, peak.high - peak.value) == (0.5, 0.5)


def test_dates_are_never_surer_than_seasons_that_differ():
    """The same for the date: four seasons, each assumed 15 days off, leave t(5) x 15 / 2 = 15 days either way."""
    fit = series("es6").fit
    peak = season_dates(replace(fit, refits=np.tile(fit.coef, (4, 1))))["season peak"]
    assert peak.value - peak.low == pytest.approx(15.1, abs=1)
    assert peak.high - peak.value == pytest.approx(15.1, abs=1)


def test_tropo_has_a_strongest_and_a_weakest_hour():
    """Over land just after sunrise (sun-phase 6) and half a day later, as simulated."""
    peaks = hour_peaks(series("land2").fit, mechanism="TR", axis="sun")
    # tests/fit/simulate.py: TROPO
    assert peaks["strongest hour"].value == pytest.approx(6.5, abs=1.5)
    assert abs((peaks["weakest hour"].value - 18.5 + 12) % 24 - 12) <= 2.5


def test_season_dates_hold_the_truth():
    """Start, peak and end in order; the interval of the peak holds midsummer."""
    dates = season_dates(series("es6").fit)
    assert dates["season start"].value < dates["season peak"].value < dates["season end"].value
    # tests/fit/simulate.py: peak on day 172 plus a shift of up to 7 days
    assert dates["season peak"].low <= 172 <= dates["season peak"].high


def test_an_edge_of_the_listening_is_no_peak():
    """Listening only until mid-May: the chance still rises, so no peak is given, in words."""
    cells = found("es6").cells
    early = cells["season_day"] < -35
    dates = season_dates(fit_occupancy(cells.assign(n_listening=cells["n_listening"].where(early, 0))))
    peak = dates["season peak"]
    assert np.isnan(peak.value)
    assert peak.verdict == "refuse"
    assert peak.reason


def test_south_is_half_a_year_away_without_a_switch():
    """The same cells half a year later in the calendar, same season days: the peak moves by half a year."""
    cells = found("es6").cells
    fit = fit_occupancy(cells.assign(start=cells["start"] + pd.Timedelta(days=183)))
    north = season_dates(series("es6").fit)["season peak"].value
    south = season_dates(fit)["season peak"].value
    assert (south - north) % 365 == pytest.approx(183, abs=1)
    assert date_text(np.array([0.0]), fit.counts)[0] in ("12-20", "12-21", "12-22")
    assert 1 <= calendar_day(30, fit.counts) <= 365


def test_draws_spread_as_the_jackknife_does():
    """The covariance of many draws matches that of the refits; the seed repeats them."""
    fit = series("es6").fit
    many = draws(fit, n=4000, seed=3)
    away = fit.refits - fit.coef
    # t with five degrees of freedom: its middle half lies within 0.727 standard errors.
    spread = np.quantile(np.abs(many[:, 1] - fit.coef[1]), 0.5)
    assert spread == pytest.approx(0.727 * np.sqrt(0.75 * (away[:, 1] ** 2).sum()), rel=0.1)
    np.testing.assert_array_equal(many, draws(fit, n=4000, seed=3))


def test_a_whole_curve_needs_a_wider_band():
    """The simultaneous band contains the pointwise interval, and is empty where the fit is refused."""
    fit = series("es6").fit
    band, table = simultaneous(fit), curve(fit)
    assert (band["low"] <= table["low"]).all()
    assert (band["high"] >= table["high"]).all()
    assert len(simultaneous(fit_occupancy(found("es6").cells, tier="C"))) == 0

"""Curves: intervals from seasons, floors, blanks where nobody listened."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import t

from analysis.fit.model.counts import count
from analysis.fit.model.curves import all_refits, chances, curve, listened_days, season_levels, standard_error
from analysis.fit.model.occupancy import fit_occupancy
from tests.fit.make_series import found, series

BOTH = np.array([True, True])


def test_days_without_listening_do_not_widen_the_others():
    """Refits that run wild where nobody listened leave the listened class with its own error."""
    refits = np.exp([[0.6, 9.0], [-0.6, -9.0]])
    error = standard_error(np.ones(2), refits, listened=np.array([True, False]), n_seasons=2, season_sd=0.1)
    np.testing.assert_allclose(error, [0.6, 9.0])


def test_standard_error_is_the_jackknife_by_hand():
    """Two seasons left out in turn, logs off by +0.6 and -0.6: se = sqrt(1/2 * 0.72) = 0.6."""
    refits = np.exp([[0.6, 0.6], [-0.6, -0.6]])
    np.testing.assert_allclose(
        standard_error(np.ones(2), refits, listened=BOTH, n_seasons=2, season_sd=0.1), 0.6
    )


def test_no_class_is_surer_than_the_whole():
    """A class on which the refits agree by luck gets the pooled error, or the assumed spread."""
    refits = np.exp([[0.6, 0.0], [-0.6, 0.0]])
    pooled = np.sqrt(0.36 / 2)
    np.testing.assert_allclose(standard_error(np.ones(2), refits, listened=BOTH, n_seasons=2), [0.6, pooled])
    same = np.ones((5, 2))
    np.testing.assert_allclose(
        standard_error(np.ones(2), same, listened=BOTH, n_seasons=5), 0.45 / np.sqrt(5)
    )


def test_a_lone_season_is_known_within_a_factor_of_about_four():
    """The spread between seasons is assumed, so the factor is at least exp(0.45 t) = 3.7."""
    fit = fit_occupancy(found("es6", seasons=1).cells)
    table = curve(fit).dropna()
    factor = table["high"] / table["chance"]
    assert (factor[table["high"] < 1] >= np.exp(0.45 * t.ppf(0.95, 2)) - 1e-9).all()
    assert factor.median() < 8


def test_interval_follows_from_the_standard_error():
    """high is the chance times exp(t se); low is as far below, less what false reports could account for."""
    fit = series("es6").fit
    table = curve(fit)
    error = standard_error(
        table["chance"].to_numpy(), all_refits(fit, by="hour"), listened=np.full(48, True), n_seasons=4
    )
    factor = np.exp(t.ppf(0.95, 5) * error)
    np.testing.assert_allclose(table["high"], table["chance"] * factor)
    np.testing.assert_allclose(table["low"], np.maximum(table["chance"] / factor - fit.doubtful, 0))
    assert ((table["low"] < table["chance"]) & (table["chance"] < table["high"])).all()


def test_hours_seldom_listened_to_are_blank():
    """With nobody on between 0 and 6, those hours have no chance and bounds as wide as can be."""
    cells = found("es6").cells
    night = cells["hour"] < 6
    fit = fit_occupancy(cells.assign(n_listening=cells["n_listening"].where(~night, 0)))
    table = curve(fit)
    assert table.loc[table["x"] < 6, "chance"].isna().all()
    assert table.loc[table["x"] > 6, "chance"].notna().all()
    assert (table.loc[table["x"] < 6, "bound_high"] == 1).all()
    assert (table.loc[table["x"] < 6, "n_monitored"] == 0).all()


def test_long_gaps_without_listening_are_cut_out_of_the_season():
    """Forty silent days are blank, twenty are bridged."""
    cells = found("es6").cells
    for gap, blank in ((40, True), (20, False)):
        inside = cells["season_day"].between(60, 59 + gap)
        counts = count(cells.assign(n_listening=cells["n_listening"].where(~inside, 0)))
        # Days within three of the gap's ends have listened-to days in their week.
        assert listened_days(counts)[182 + 60 + 5 : 182 + 59 + gap - 5].any() != blank


def test_the_solstice_gap_wraps_round_the_year():
    """Listening from April to September only: winter is blank on both sides of day 182."""
    cells = found("es6").cells
    summer = cells["season_day"].abs() <= 90
    mask = listened_days(count(cells.assign(n_listening=cells["n_listening"].where(summer, 0))))
    assert mask[182 - 90 : 182 + 91].all()
    assert not mask[:80].any()
    assert not mask[-80:].any()


def test_places_that_the_data_cannot_tell_from_the_top_are_blank():
    """Refits that differ a hundredfold at the edges of the listened months leave the edges blank."""
    cells = found("es6").cells
    summer = cells["season_day"].between(-90, 90)
    fit = fit_occupancy(cells.assign(n_listening=cells["n_listening"].where(summer, 0)))
    known = curve(fit, by="season_day").set_index("x")["chance"].notna()
    wild = fit.refits.copy()
    # Yearly waves that cancel at midsummer and add up in spring and autumn, up in one refit, down in the next.
    wild[:, 7:13:2] += np.outer([1, -1, 1, -1], [1.5, -2.5, 1.0])
    table = curve(replace(fit, refits=wild), by="season_day").set_index("x")
    assert known[[-88, 0, 88]].all()
    assert table.loc[[-88, 88], "chance"].isna().all()
    assert table.loc[0, "chance"] > 0
    kept = table.dropna(subset=["chance"])
    wide = kept["high"] / kept["chance"] > 10
    assert (kept.loc[wide, "high"] <= kept.loc[kept["chance"].idxmax(), "high"]).all()


def test_one_look_a_day_still_makes_a_curve():
    """Two half-hours a day all year are 730 monitored ones: enough for a season curve, most hours blank."""
    cells = found("es6", seasons=1).cells
    looks = cells.assign(n_listening=cells["n_listening"].where(cells["hour"].isin([10.75, 18.25]), 0))
    fit = fit_occupancy(
        looks.assign(n_detected=looks["n_listening"].where(looks["season_day"].abs() < 20, 0))
    )
    assert fit.verdict.status == "provisional"
    assert curve(fit, by="season_day")["chance"].notna().mean() > 0.9
    assert curve(fit)["chance"].notna().sum() == 2


def test_bounds_hold_what_was_seen():
    """The lower bound is the share heard of all half-hours; the upper adds those without a listener."""
    cells = found("es6").cells
    table = curve(series("es6").fit)
    first = cells[np.floor(cells["hour"] * 2) == 0]
    heard = ((first["n_listening"] > 0) & (first["n_detected"] > 0)).mean()
    assert table["bound_low"].iloc[0] == pytest.approx(heard)
    assert table["bound_high"].iloc[0] == pytest.approx(heard + (first["n_listening"] == 0).mean())


def test_curves_average_seasons_with_equal_weight():
    """The hour curve is the mean of the seasons' own curves, and so are their levels."""
    fit = series("es6").fit
    each = chances(fit, by="hour", betas=np.tile(fit.coef, (4, 1)), seasons=np.eye(4, dtype=bool))
    np.testing.assert_allclose(each.mean(axis=0), chances(fit, by="hour")[0])
    np.testing.assert_allclose(each.mean(axis=1), season_levels(fit)[0])


def test_unknown_axis_is_named():
    """A curve runs by hour or by season day."""
    with pytest.raises(ValueError, match="hour or season_day"):
        curve(series("es6").fit, by="month")


def test_every_half_hour_counts_the_same_on_the_sun_axis():
    """Long summer days fill more half-hours of a daytime class: its chance is that of its half-hours."""
    data, fit = found("land2", seasons=8), series("land2", seasons=8).fit
    truth = data.truth.groupby(np.floor(data.truth["hour"] * 2))["open"].mean().to_numpy()
    table = curve(fit)["chance"].to_numpy()
    # Days counted alike instead of half-hours leave an error of shape of about 0.12 on these data.
    assert np.sqrt(np.mean((table / table.mean() - truth / truth.mean()) ** 2)) < 0.09
    np.testing.assert_allclose(fit.counts.stretch.sum(axis=1), 1)
    assert series("es6").fit.counts.stretch == pytest.approx(1 / 48)

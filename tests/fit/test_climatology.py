"""The published climatology as a shape: turned into chances, laid over our own curve, mixed in as a prior."""

import sys

import numpy as np
import pandas as pd
import pytest

from analysis.fit.climatology import (
    overlay,
    published_curve,
    published_foes,
    support_chance,
)
from analysis.fit.model.curves import curve
from analysis.fit.model.occupancy import fit_occupancy
from analysis.physics.sporadic_e import lowest_foes
from tests.fit.make_series import found, series


@pytest.fixture
def foes():
    """Invented maps: a summer maximum in June and July, one daily maximum at 11."""
    month, hour = np.repeat(np.arange(1, 13), 24), np.tile(np.arange(24), 12)
    high = 3 + 2 * np.cos(2 * np.pi * (month - 6.5) / 12) + 1.5 * np.cos(2 * np.pi * (hour - 11) / 24)
    return pd.DataFrame({"month": month, "hour": hour, "median_mhz": high, "upper_mhz": high + 2.5})


def test_the_line_runs_through_median_and_decile(foes):
    """A frequency that needs just the median has a chance of one half, the upper decile of one tenth."""
    needed = float(lowest_foes(1600.0, freq_mhz=50.0))
    flat = foes.assign(median_mhz=needed, upper_mhz=needed + 2)
    np.testing.assert_allclose(support_chance(flat, freq_mhz=50.0), 0.5)
    np.testing.assert_allclose(
        support_chance(flat.assign(median_mhz=needed - 2, upper_mhz=needed), freq_mhz=50.0), 0.1
    )


def test_higher_bands_have_smaller_chances(foes):
    """The same sky carries 144 MHz more seldom than 50 MHz, and never more often than always."""
    six, two = (support_chance(foes, freq_mhz=freq) for freq in (50.3, 144.3))
    assert (two < six).all()
    assert (six <= 1).all()


def test_published_curve_keeps_its_maxima(foes):
    """On the fit's own axes the maximum lies at 11 h and at the beginning of July."""
    fit = series("es6").fit
    chance = support_chance(foes, freq_mhz=50.3)
    hours = published_curve(foes, chance, fit, by="hour")
    days = published_curve(foes, chance, fit, by="season_day")
    assert curve(fit)["x"][hours.argmax()] == pytest.approx(11, abs=0.5)
    assert abs(curve(fit, by="season_day")["x"][days.argmax()] - 10) <= 16


def test_south_takes_the_other_half_of_the_maps(foes):
    """Maps with a June maximum, cells of the southern half: the published maximum is in midwinter there."""
    cells = found("es6").cells
    fit = fit_occupancy(cells.assign(start=cells["start"] + pd.Timedelta(days=183)))
    days = published_curve(foes, support_chance(foes, freq_mhz=50.3), fit, by="season_day")
    assert abs(curve(fit, by="season_day")["x"][days.argmax()]) > 150


def test_own_shape_agrees_with_itself_and_not_with_its_mirror():
    """Laid over itself nothing disagrees; turned by twelve hours most does."""
    fit = series("es6").fit
    own = curve(fit)["chance"].to_numpy()
    same, turned = overlay(fit, own, by="hour"), overlay(fit, np.roll(own, 24), by="hour")
    assert not same["disagrees"].any()
    assert turned["disagrees"].mean() > 0.3
    np.testing.assert_allclose(same[["own", "published"]].mean(), 1)


def test_a_usual_distance_is_no_disagreement():
    """A shape correlating by .97 with our season, as single stations do with the maps, is not marked; six weeks off is."""
    fit = series("es6").fit
    own = curve(fit, by="season_day")["chance"].to_numpy()
    wave = np.sin(np.arange(365) / 9)
    wave = wave * np.abs(own - own.mean()).mean()
    alike = next(
        mixed for k in np.arange(0, 3, 0.01) if np.corrcoef(own, mixed := own + k * wave)[0, 1] < 0.975
    )
    assert not overlay(fit, alike.clip(0), by="season_day")["disagrees"].any()
    assert overlay(fit, np.roll(own, 42), by="season_day")["disagrees"].mean() > 0.1


def test_refused_fit_stays_blank():
    """Contacts alone have no shape to disagree."""
    fit = fit_occupancy(found("es6").cells, tier="C")
    shapes = overlay(fit, np.ones(48), by="hour")
    assert shapes["own"].isna().all()
    assert not shapes["disagrees"].any()


@pytest.mark.outside
@pytest.mark.parametrize(("lat", "lon", "month"), [(51.5, 0.0, 6), (35.7, 139.5, 6), (-35.3, 149.1, 12)])
def test_season_of_the_published_maps(lat, lon, month):
    """London and Kokubunji have their maximum in June, Canberra in December."""
    pytest.importorskip("PyIRI", reason="the published maps are an optional extra")
    foes = published_foes(lat=lat, lon=lon)
    chance = support_chance(foes, freq_mhz=50.3)
    # 64 ionosondes 2006-2020 (MDPI 2021, scholar.afit.edu/facpub/887): summer maximum in both hemispheres
    assert chance.groupby(foes["month"]).mean().idxmax() == month


def test_missing_extra_is_named(monkeypatch):
    """Without the package one line says which extra to install."""
    monkeypatch.setitem(sys.modules, "PyIRI", None)
    with pytest.raises(ImportError, match=r"\[climatology\]"):
        published_foes(lat=50.0, lon=0.0)

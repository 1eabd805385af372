"""The whole plan in one call: every table is there, refusals are words, contacts get the published months."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from analysis.gather.problems import InputError
from analysis.plan.constraints import Wishes
from analysis.plan.plan import LABEL, climatology_months, make_plan
from analysis.plan.skeds import Sked
from tests.plan.test_places import season

HOME = {"lon": 0.0, "lat": 50.0}


@pytest.fixture(scope="module")
def data():
    """One made-up season with an opening a day, all east of home."""
    return season()


@pytest.fixture(scope="module")
def plan(data):
    """Five days in June or July 2025 for a place in France, two other places, one partner."""
    spots, openings, series = data
    wishes = Wishes(
        length=5,
        earliest=pd.Timestamp("2025-06-01"),
        latest=pd.Timestamp("2025-07-15"),
        zone="Europe/Paris",
        hours=(12, 20),
        at_least=2,
    )
    return make_plan(
        spots=spots,
        openings=openings,
        series=[series],
        wishes=wishes,
        places=["JO00", "IM58"],
        sked=Sked(home="JO00", partner="JN89", partner_zone="Europe/Vienna"),
    )


def test_windows_of_all_directions(plan):
    """The whole series and the quadrant with openings have windows, the others a reason."""
    found = plan.windows.groupby("direction", sort=False)["chance"].count()
    assert found["all"] == found["east"] == 41
    assert found[["north", "south", "west"]].sum() == 0
    assert plan.windows.loc[plan.windows["direction"] == "west", "reason"].iloc[0]


def test_every_table_is_there(plan):
    """Runs, hours, alarms, places, skeds and events, each with rows."""
    assert len(plan.runs)
    assert len(plan.hours) == 288
    assert plan.alarms["month"].isin([5, 6, 7]).all()
    assert plan.places["locator"].tolist() == ["JO00", "IM58"]
    assert set(plan.skeds["mechanism"]) == {"ES"}
    assert plan.climatology.empty


def test_events_leave_quadrants_out(plan):
    """The calendar has the whole series only, for as many opening days as were asked."""
    assert len(plan.events)
    assert set(plan.events["direction"]) == {"all"}
    assert plan.events["at_least"].eq(2).all()


def test_contacts_only_gets_the_published_months(data):
    """Contacts carry no chance: windows and hours are words, the maps' months are offered as such."""
    spots, openings, series = data
    contacts = replace(series, tier="C")
    found = make_plan(spots=spots, openings=openings, series=[contacts], wishes=Wishes(length=5))
    assert found.windows["chance"].isna().all()
    assert found.hours["chance"].isna().all()
    assert found.events.empty
    assert found.windows["reason"].str.contains("contacts").all()
    assert set(found.climatology["label"]) == {LABEL}


def test_published_months_peak_at_the_solstice():
    """The maps' best month is June in the north and December in the south, winter is thin."""
    pytest.importorskip("PyIRI")
    # Leftin, Ostrow and Preston 1968 (ESSA ERL 73-ITS 63): foEs peaks in local summer at middle latitudes.
    north = climatology_months("6m", lon=0.0, lat=45.0).set_index("month")["share_of_best"]
    south = climatology_months("6m", lon=150.0, lat=-35.0).set_index("month")["share_of_best"]
    assert north.idxmax() in (6, 7)
    assert south.idxmax() in (12, 1)
    assert north[[10, 11, 2, 3]].max() < 0.3
    assert north.max() == 1


def test_months_without_maps_are_words(monkeypatch):
    """A band beyond sporadic E, or maps that are not installed, give a reason and no number."""
    import sys

    assert "70cm" in climatology_months("70cm", **HOME)["reason"].iloc[0]
    monkeypatch.setitem(sys.modules, "PyIRI", None)
    found = climatology_months("6m", **HOME)
    assert np.isnan(found["share_of_best"]).all()
    assert "optional extra" in found["reason"].iloc[0]


def test_bad_wishes_stop_before_any_fit(data):
    """Nonsense is one line, at once."""
    spots, openings, series = data
    with pytest.raises(InputError, match="IANA"):
        make_plan(spots=spots, openings=openings, series=[series], wishes=Wishes(zone="Mars/Base"))


def test_no_series_is_one_line(data):
    """A log without VHF has nothing to plan from."""
    spots, openings, _ = data
    with pytest.raises(InputError, match="add files with VHF"):
        make_plan(spots=spots, openings=openings, series=[], wishes=Wishes())


def test_2m_months_say_that_they_are_extrapolated():
    """The maps were drawn for far lower frequencies than 144 MHz needs."""
    pytest.importorskip("PyIRI")
    assert climatology_months("2m", **HOME)["reason"].str.contains("extrapolated").all()

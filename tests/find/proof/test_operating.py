"""Contacts in a row: who was on, and what was closed for him."""

import pandas as pd

from analysis.find import listening
from analysis.find.proof import operating
from tests.find.make import at, tagged


def contacts(minutes, **columns):
    """Contacts of Q1RX."""
    return tagged(at(minutes, **({"kind": "worked", "mechanism": "LOS", "distance_km": 90.0} | columns)))


def test_a_run_of_contacts_proves_that_its_station_was_on():
    """Four contacts within ten minutes of one another are a run; three, or an hourly one, are none."""
    spans = operating.operating(contacts([0, 8, 16, 26, 200, 205, 210, 400]))
    assert len(spans) == 1
    assert spans["end"].iloc[0] - spans["start"].iloc[0] == pd.Timedelta("26min")


def test_operating_speaks_for_its_station_alone():
    """It is listed with its basis, makes no tier B and no listening for a series of the region."""
    spots = contacts(range(0, 60, 5))
    spans = listening.find_listening(spots)
    assert set(spans["basis"]) == {"operating"}
    assert listening.evidence_tier(spans, band="6m") == "C"
    assert listening.series_listening(spots, spans, band="6m", mechanism="ES").empty
    assert listening.outages(spans).empty

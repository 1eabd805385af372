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


def test_known_to_be_closed():
    """Four local contacts in a half-hour: closed; with one by sporadic E, or a far one without a call: not known."""
    near = contacts([0, 5, 10, 15])
    known = operating.worked_half_hours(near, band="6m", mechanism="ES")
    assert known[["station", "n_contacts", "n_open"]].to_numpy().tolist() == [["Q1RX", 4, 0]]
    for mechanism, km in (("ES", 1500.0), ("undetermined", 1500.0)):
        far = contacts([0, 5, 10, 15], mechanism=["LOS"] * 3 + [mechanism], distance_km=[90.0] * 3 + [km])
        assert operating.worked_half_hours(far, band="6m", mechanism="ES")["n_open"].tolist() == [1]
    assert operating.worked_half_hours(contacts([0, 5, 10]), band="6m", mechanism="ES").empty


def test_tropo_within_ordinary_range_leaves_it_closed():
    """A contact by scatter is no tropo opening, nor is it one that its squares cannot tell from it."""
    columns = {"mechanism": "TR", "distance_km": 330.0, "ordinary_km": 300.0, "distance_err_km": 110.0}
    near = contacts([0, 5, 10, 15], **columns)
    assert operating.worked_half_hours(near, band="6m", mechanism="TR")["n_open"].tolist() == [0]
    exact = near.assign(distance_err_km=5.0)
    assert operating.worked_half_hours(exact, band="6m", mechanism="TR")["n_open"].tolist() == [4]


def test_real_weekend(real_inputs):
    """Of 144 half-hours with four 6 m contacts or more, 15 hold none beyond 700 km; in five of them something far
    was left without a call or called so."""
    from analysis.gather.files import gather_files
    from analysis.tag.tags import tag_spots

    logs = sorted((real_inputs / "weekend_logs").glob("*.log"))
    spots = tag_spots(gather_files(logs).spots)
    known = operating.worked_half_hours(spots, band="6m", mechanism="ES")
    assert (len(known), (known["n_open"] == 0).sum()) == (144, 10)

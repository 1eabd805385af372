"""Half-hours in which home was busy and nothing came through."""

from analysis.find import intervals
from analysis.find.grouping import closed
from analysis.gather import locators
from tests.find.make import at, tagged

HOME = locators.place("IN93")
ABOUT = {"band": "6m", "mechanism": "ES"}


def contacts(minutes, **columns):
    """Contacts of a station at home."""
    plain = {"kind": "worked", "mechanism": "LOS", "distance_km": 90.0}
    places = {"rx_locator": "IN93", "tx_locator": "IN94"}
    return tagged(at(minutes, **(plain | places | columns)))


def half_hours(spots, **changes):
    found = closed.busy_half_hours(spots, **(ABOUT | changes), **HOME)
    return found[["n_contacts", "n_open"]].to_numpy().tolist()


def test_known_to_be_closed():
    """Four local contacts in a half-hour: closed; with one by sporadic E, or a far one without a call: not known."""
    near = contacts([0, 5, 10, 15])
    assert half_hours(near) == [[4, 0]]
    for mechanism, km in (("ES", 1500.0), ("undetermined", 1500.0)):
        far = contacts([0, 5, 10, 15], mechanism=["LOS"] * 3 + [mechanism], distance_km=[90.0] * 3 + [km])
        assert half_hours(far) == [[4, 1]]
    assert half_hours(contacts([0, 5, 10])) == []
    assert half_hours(contacts([0, 5, 10, 15], rx_locator="JO62", tx_locator="JO63")) == []


def test_tropo_within_ordinary_range_leaves_it_closed():
    """A contact by scatter is no tropo opening, nor is it one that its squares cannot tell from it."""
    columns = {"mechanism": "TR", "distance_km": 330.0, "ordinary_km": 300.0, "distance_err_km": 110.0}
    near = contacts([0, 5, 10, 15], **columns)
    assert half_hours(near, mechanism="TR") == [[4, 0]]
    assert half_hours(near.assign(distance_err_km=5.0), mechanism="TR") == [[4, 4]]


def test_a_report_is_contradicted_where_its_half_hour_is_closed():
    """One meaning for both: the report amid local contacts is, the one an hour later is not."""
    near = contacts([0, 5, 10, 15])
    rows = at([8, 70])
    rows["minute"] = intervals.minutes(rows["time"])
    assert closed.contradicted(rows, near, **ABOUT, **HOME).tolist() == [True, False]
    far = contacts([0, 5, 10, 15], mechanism=["LOS"] * 3 + ["ES"], distance_km=[90.0] * 3 + [1500.0])
    assert not closed.contradicted(rows, far, **ABOUT, **HOME).any()


def test_real_weekend(real_inputs):
    """Two homes on the first evening: the half-hours that the logs themselves show, and hardly one at the other home."""
    from analysis.gather.files import gather_files
    from analysis.tag.tags import tag_spots

    logs = sorted((real_inputs / "weekend_logs").glob("*.log"))
    spots = tag_spots(gather_files(logs).spots)
    known = {}
    for home in ("EM74", "EN37"):
        table = closed.busy_half_hours(spots, **ABOUT, **locators.place(home))
        known[home] = table[table["n_open"] == 0].set_index("start")["n_contacts"]
    # Source: README of the real inputs (six half-hours of six to nine contacts, 8 June, 1830 to 2200 UTC).
    assert [f"{start:%d %H%M}" for start in known["EM74"].index] == [
        *("08 1830", "08 1900", "08 1930", "08 2000", "08 2030", "08 2130")
    ]
    assert known["EM74"].between(6, 9).all()
    # There one half-hour at most: four contacts, the longest of 930 km by meteors if by anything.
    assert len(known["EN37"]) <= 1

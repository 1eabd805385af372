"""Opening days: local, listened to, half an hour or more, counted in one place."""

import numpy as np
import pandas as pd
import pytest

from analysis.find import days
from analysis.find.days import Key, cell_days, days_table, of_series, series_days
from analysis.find.hearers import listeners, near_stations, station_squares
from analysis.find.listening import find_listening
from analysis.find.openings import find_openings, openings_from
from analysis.gather import locators
from tests.find.make import at, locals_every, together

SERIES = {"band": "6m", "mechanism": "ES"}
OPENING = {**SERIES, "scope": "region", "path_type": "all", "grade": "confirmed", "max_km": 1500.0}


def utc(text):
    return pd.Timestamp(text, tz="UTC").as_unit("us")


def openings(*spans, **changes):
    """Openings between pairs of UTC times; what sampling missed is nothing unless told."""
    table = pd.DataFrame([{"start": utc(one), "end": utc(other)} for one, other in spans]).assign(**OPENING)
    table["duration_min"] = (table["end"] - table["start"]).dt.total_seconds() / 60
    return table.assign(**changes)


def heard(*spans):
    return pd.DataFrame([{"start": utc(one), "end": utc(other)} for one, other in spans])


ALWAYS = heard(("2024-06-01", "2024-06-20"))


def found(opened, listened=ALWAYS, *, lon=0.0, lat=50.0, **options):
    return series_days(opened, listened, Key(**SERIES, **options), lon=lon, lat=lat).set_index("day")


def open_on(table):
    return [f"{day:%m-%d}" for day in table.index[table["open"]]]


def test_a_day_is_home_s_own():
    """At 150 E an opening at 2000 UTC belongs to the next local day; at 150 W to the same one."""
    one = openings(("2024-06-10T20:00", "2024-06-10T20:40"))
    assert open_on(found(one, lon=150.0)) == ["06-11"]
    assert open_on(found(one, lon=-150.0)) == ["06-10"]


def test_an_opening_across_midnight_counts_where_half_an_hour_of_it_lies():
    """40 minutes before midnight and 20 after: one opening, one opening day; 40 and 40: two days."""
    assert open_on(found(openings(("2024-06-10T23:20", "2024-06-11T00:20")))) == ["06-10"]
    both = found(openings(("2024-06-10T23:20", "2024-06-11T00:40")))
    assert open_on(both) == ["06-10", "06-11"]
    assert both["opened_min"].sum() == pytest.approx(80)
    assert both["last"].max() == utc("2024-06-11T00:40")


def test_what_sampling_missed_counts_half_at_either_end():
    assert open_on(found(openings(("2024-06-10T12:00", "2024-06-10T12:20"), duration_min=30.0))) == ["06-10"]
    assert open_on(found(openings(("2024-06-10T12:00", "2024-06-10T12:20"), duration_min=29.0))) == []


def test_stretches_that_touch_are_one_and_others_are_not():
    """Two patches that overlap keep a day open for 40 minutes; apart they are 25 and 25."""
    over = openings(("2024-06-10T12:00", "2024-06-10T12:25"), ("2024-06-10T12:15", "2024-06-10T12:40"))
    apart = openings(("2024-06-10T12:00", "2024-06-10T12:25"), ("2024-06-10T15:00", "2024-06-10T15:25"))
    assert open_on(found(over)) == ["06-10"]
    assert open_on(found(apart)) == []
    day = found(apart).loc[pd.Timestamp("2024-06-10")]
    assert (day["opened_min"], day["n_openings"], day["grade"]) == (50.0, 2, "confirmed")


def test_somebody_must_have_listened_for_a_quarter_of_the_day():
    one = openings(("2024-06-02T12:00", "2024-06-02T13:00"))
    long, short = (
        heard(("2024-06-01", "2024-06-02"), ("2024-06-02T09:00", end))
        for end in ("2024-06-02T15:00", "2024-06-02T14:59")
    )
    assert open_on(found(one, long)) == ["06-02"]
    assert open_on(found(one, short)) == []
    assert found(one, short)["opened_min"].max() == 60  # it is told, but makes no opening day


def test_contacts_alone_count_every_opening():
    """Where nobody is ever known to have listened, no day is shut and every opening makes one."""
    one = openings(("2024-06-02T12:00", "2024-06-02T13:00"))
    table = found(one, heard(("2024-06-01", "2024-06-01")).iloc[:0])
    assert open_on(table) == ["06-02"]
    assert not table["listened"].any()


@pytest.mark.parametrize(
    "changes",
    [{"band": "2m"}, {"mechanism": "TR"}, {"path_type": "sea"}, {"grade": "single"}, {"scope": "elsewhere"}],
    ids=str,
)
def test_what_does_not_count(changes):
    one = openings(("2024-06-10T12:00", "2024-06-10T13:00"), **changes)
    assert open_on(found(one, path_type="all" if "path_type" not in changes else "land")) == []


def test_what_is_open_here_is_open_in_the_region():
    """Scopes lie within one another: neighbours in here, here in the region."""
    for scope, wide in (("neighbours", 3), ("here", 2), ("region", 1)):
        one = openings(("2024-06-10T12:00", "2024-06-10T13:00"), scope=scope)
        told = [open_on(found(one, scope=name)) == ["06-10"] for name in ("region", "here", "neighbours")]
        assert told == [True] * wide + [False] * (3 - wide)


@pytest.mark.parametrize("lon", [-179.5, -100, 0, 80, 179.5])
def test_season_days_go_up_one_by_one(lon):
    table = found(
        openings(("2024-06-10T20:00", "2024-06-10T21:00")), heard(("2023-11-20", "2024-07-10")), lon=lon
    )
    step = table["season_day"].diff().dropna()
    assert set(step[step > -300]) == {1}
    assert (table["season"].diff().fillna(0) != 0).sum() == (step < -300).sum() == 1


def test_nothing_at_all_has_its_columns():
    table = series_days(
        openings(("2024-06-10", "2024-06-11")).iloc[:0], ALWAYS.iloc[:0], Key(**SERIES), lon=0.0, lat=50.0
    )
    assert table.empty
    assert list(table.columns) == list(days.COLUMNS)


def test_half_hours_alone():
    """Of cells: a day open by a half-hour listened to, a day heard too little, a shut day."""
    day = np.repeat([1, 2, 3], [20, 5, 20])
    cells = pd.DataFrame({"season": 2024, "season_day": day, "n_listening": 1, "n_detected": 0})
    cells.loc[[3, 22], "n_detected"] = 1
    table = cell_days(cells)
    assert table["open"].tolist() == [True, False, False]
    assert table["listened"].tolist() == [True, False, True]


def season():
    """Two towns 3 000 km apart with a receiver each; home is the western one."""
    west, east = {"rx_call": "Q1W", "rx_locator": "IN93"}, {"rx_call": "Q2E", "rx_locator": "KN98"}
    listeners_ = [
        locals_every(30, start="2024-06-01", days=20, station="Q1W").assign(
            rx_locator="IN93", tx_locator="IN93"
        ),
        locals_every(30, start="2024-06-01", days=20, station="Q2E").assign(
            rx_locator="KN98", tx_locator="KN98"
        ),
    ]
    opened = []
    for town, day, lon, far in (
        (west, "2024-06-05", 6.0, "JO60"),
        (east, "2024-06-09", 30.0, "KN05"),
        (west, "2024-06-12", 6.0, "JO60"),
    ):
        calls = [f"Q{n}TX" for n in range(9)]
        opened.append(
            at(
                range(600, 645, 5),
                day=day,
                tx_call=calls,
                mid_lon=lon,
                mid_lat=47.0,
                distance_km=1200.0,
                tx_locator=far,
                **town,
            )
        )
    spots = together(*listeners_, *opened).assign(hops=1)
    listening = find_listening(spots)
    spots, table = find_openings(spots, listening=listening, home=locators.place("IN93"))
    return spots, table, listening


def test_a_far_region_s_opening_is_none_here():
    spots, table, listening = season()
    counted = days_table(table, spots, listening, series=[("6m", "ES", "all")], **locators.place("IN93"))
    told = {scope: open_on(of_series(counted, scope=scope).set_index("day")) for scope in ("here", "region")}
    assert told == {"here": ["06-05", "06-12"], "region": ["06-05", "06-09", "06-12"]}


def test_openings_from_another_place_are_its_own():
    """From the east only the eastern one; toward a quarter of the compass only what lies there."""
    spots, table, _ = season()
    away = openings_from(spots, table, **locators.place("KN98"))
    assert [f"{start:%m-%d}" for start in away["start"]] == ["06-09"]
    home = locators.place("IN93")
    assert len(openings_from(spots, table, **home)) == (table["scope"] == "here").sum() == 2
    assert len(openings_from(spots, table, toward=(0.0, 90.0), **home)) == 2
    assert openings_from(spots, table, toward=(180.0, 270.0), **home).empty


def test_only_near_listeners_count_here():
    spots, _, listening = season()
    squares = station_squares(spots)
    home = locators.place("IN93")
    assert list(near_stations(squares, scope="here", mechanism="ES", **home)) == ["Q1W"]
    assert len(near_stations(squares, scope="region", mechanism="ES", **home)) == 2
    known = listening[listening["station"] == "Q2E"]
    spans = listeners(spots[spots["rx_call"] == "Q2E"], known, **SERIES, **home)
    assert spans["here"].empty
    assert len(spans["region"]) == 1

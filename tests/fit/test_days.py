"""Opening days are counted by local solar day and only where somebody listened."""

import numpy as np
import pandas as pd
import pytest

from analysis.fit.ahead.days import assess_days, day_series, local_date, open_days, reference_longitude
from analysis.fit.assess import Verdict
from analysis.fit.estimate import Series
from analysis.tag.sun import season_of
from tests.fit.make_days import day_table

OPENING = {
    "scope": "region",
    "band": "6m",
    "mechanism": "ES",
    "path_type": "all",
    "grade": "confirmed",
    "duration_min": 60.0,
}


def cells(first, last, *, lon, lat=50.0):
    """Half-hours between two UTC dates, all listened to, hours in mean solar time at a longitude."""
    start = pd.Series(pd.date_range(first, last, freq="30min", tz="UTC", inclusive="left", unit="us"))
    table = (
        season_of(start, lat=lat).astype("int64").assign(start=start, block=0, n_listening=3, n_detected=0)
    )
    hour = start.dt.hour + start.dt.minute / 60 + 0.25 + lon / 15
    return table.assign(hour=hour % 24)


def openings(*starts, **changes):
    """Openings at the given UTC times."""
    start = pd.to_datetime(pd.Series(list(starts)), utc=True)
    return pd.DataFrame({"start": start}).assign(**(OPENING | changes))


def count(table, opened, **options):
    """`open_days` of the series the helpers make."""
    return open_days(opened, table, band="6m", mechanism="ES", **options).set_index("date")


def test_day_is_local():
    """At 150 E an opening at 2000 UTC belongs to the next local day; at 150 W to the same one."""
    for lon, day in ((150, "2024-06-11"), (-150, "2024-06-10")):
        found = count(cells("2024-06-01", "2024-06-20", lon=lon), openings("2024-06-10T20:00"), lon=lon)
        assert list(found.index[found["open"]]) == [pd.Timestamp(day)]


@pytest.mark.parametrize("lon", [-179.5, -100, 0, 80, 179.5])
def test_one_season_day_per_local_day(lon):
    """Season days go up one by one at any longitude, across the turn of the season too."""
    found = count(cells("2023-11-20", "2024-07-10", lon=lon), openings("2024-06-10T20:00"), lon=lon)
    step = found["season_day"].diff().dropna()
    assert set(step[step > -300]) == {1}
    assert (found["season"].diff().fillna(0) != 0).sum() == (step < -300).sum() == 1


@pytest.mark.parametrize("lon", [-170, -90, 5, 135, 179])
def test_longitude_read_from_cells(lon):
    """The cells' own noon tells the longitude."""
    found = reference_longitude(cells("2024-03-01", "2024-09-20", lon=lon))
    assert abs((found - lon + 180) % 360 - 180) < 0.01


def test_quarter_of_the_day_is_monitored():
    """Twelve half-hours listened to make a monitored day, eleven do not."""
    table = cells("2024-06-01", "2024-06-03", lon=0)
    day = table["start"].dt.day
    nth = table.groupby(day).cumcount()
    table["n_listening"] = ((day == 1) & (nth < 12) | (day == 2) & (nth < 11)).astype("int64")
    assert count(table, openings(), lon=0)["monitored"].tolist() == [True, False]


@pytest.mark.parametrize(
    "changes",
    [
        {"band": "2m"},
        {"mechanism": "TR"},
        {"path_type": "sea"},
        {"grade": "single"},
        {"duration_min": 29.0},
    ],
)
def test_other_openings_do_not_count(changes):
    """Other series, single reports and short openings leave the day shut."""
    found = count(cells("2024-06-01", "2024-06-20", lon=0), openings("2024-06-10T12:00", **changes), lon=0)
    assert not found["open"].any()


def test_hours_are_summed():
    """Two openings in a day give one opening day, two openings and their hours."""
    twice = openings("2024-06-10T09:00", "2024-06-10T18:00", duration_min=45.0)
    found = count(cells("2024-06-01", "2024-06-20", lon=0), twice, lon=0).loc[pd.Timestamp("2024-06-10")]
    assert (found["open"], found["n_openings"], found["open_hours"]) == (True, 2, 1.5)


def test_midnight_belongs_to_the_new_day():
    """A time at local midnight starts the day."""
    times = pd.to_datetime(pd.Series(["2024-06-10T00:00", "2024-06-09T23:59"]), utc=True)
    assert local_date(times, lon=0).dt.day.tolist() == [10, 9]


def test_few_opening_days_are_refused():
    """Nine opening days refuse, ten are provisional, forty pass; contacts-only stays refused."""
    days = day_table(seasons=4, swing=0.0, base=-50.0, memory=0.0)
    fine = Verdict("ok", "A", (), ())
    for n, status in ((9, "refuse"), (10, "provisional"), (39, "provisional"), (40, "ok")):
        days["open"] = np.arange(len(days)) < n
        assert assess_days(days, fine).status == status
    contacts = Verdict("refuse", "C", ("contacts alone",), ("listen",))
    assert assess_days(days, contacts) is contacts


def test_day_series_carries_the_verdict():
    """A series without any detection is refused in words."""
    series = Series("6m", "ES", "all", "solar", "A", cells("2024-05-01", "2024-08-01", lon=0))
    found = day_series(openings(), series)
    assert found.verdict.status == "refuse"
    assert "nothing was heard" in found.verdict.reason
    assert found.keys() == {"band": "6m", "mechanism": "ES", "direction": "all"}

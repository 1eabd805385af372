"""Days of a series are judged before anything is fitted to them."""

import numpy as np
import pandas as pd

from analysis.find.days import Key, series_days
from analysis.fit.ahead.days import assess_days, day_series
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
    "max_km": 1500.0,
}


def cells(first, last, *, lon, lat=50.0):
    """Half-hours between two UTC dates, all listened to, hours in mean solar time at a longitude."""
    start = pd.Series(pd.date_range(first, last, freq="30min", tz="UTC", inclusive="left", unit="us"))
    table = (
        season_of(start, lat=lat).astype("int64").assign(start=start, block=0, n_listening=3, n_detected=0)
    )
    hour = start.dt.hour + start.dt.minute / 60 + 0.25 + lon / 15
    return table.assign(hour=hour % 24)


def heard_in(table):
    """Spans in which the half-hours of a table were listened to."""
    on = table.loc[table["n_listening"] > 0, "start"]
    return pd.DataFrame({"start": on, "end": on + pd.Timedelta(minutes=30)})


def series(table, opened=None, *, lon=0.0, lat=50.0):
    """6 m sporadic E of the region with the days that its openings make."""
    opened = pd.DataFrame(columns=["start", "end", *OPENING]) if opened is None else opened
    opened = opened.astype({"start": "datetime64[us, UTC]", "end": "datetime64[us, UTC]"})
    home, keys = {"lon": lon, "lat": lat}, {"band": "6m", "mechanism": "ES"}
    by_day = series_days(opened, heard_in(table), Key(**keys), **home)
    return Series("6m", "ES", "all", "solar", "A", table, by_day=by_day, heard=heard_in(table), **home)


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
    found = day_series(series(cells("2024-05-01", "2024-08-01", lon=0)))
    assert found.verdict.status == "refuse"
    assert "nothing was heard" in found.verdict.reason
    assert found.keys() == {"band": "6m", "mechanism": "ES", "direction": "all"}
    assert found.days["monitored"].all()
    assert not found.days["open"].any()

"""Hours by month follow the clock on the wall: summer time in both hemispheres, half-hour zones, the date line."""

import numpy as np
import pandas as pd
import pytest

from analysis.fit.estimate import Series
from analysis.fit.model.curves import chances
from analysis.plan.localtime import _half_hours, alarms, hour_by_month, likely_directions, sector
from tests.fit.simulate import LAT, simulate

LON = 5.0


@pytest.fixture(scope="module")
def series():
    """Three simulated seasons of sporadic E at 52 N 5 E, two maxima near 10.75 and 18.4 solar time."""
    return Series("6m", "ES", "all", "solar", "A", simulate("es6", seasons=3, seed=1).cells)


def hours(series, zone):
    """Chances, rows months, columns local hours."""
    table = hour_by_month(series, lon=LON, lat=LAT, zone=zone, year=2025)
    return table.pivot_table(index="month", columns="hour", values="chance")


@pytest.mark.parametrize(
    ("zone", "january", "july"),
    [
        # IANA time zone database: hours ahead of UTC in January and in July 2025.
        ("Europe/Madrid", 1, 2),
        ("Australia/Sydney", 11, 10),
        ("Pacific/Auckland", 13, 12),
        ("Pacific/Kiritimati", 14, 14),
        ("Pacific/Honolulu", -10, -10),
    ],
)
def test_clock_moves_the_hours(series, zone, january, july):
    """The table in a zone is the UTC table moved by that month's offset."""
    utc, local = hours(series, "UTC"), hours(series, zone)
    for month, offset in ((1, january), (7, july)):
        moved = np.roll(utc.loc[month].to_numpy(), offset)
        assert np.allclose(local.loc[month], moved, rtol=0.06)
        other = np.roll(utc.loc[month].to_numpy(), offset + 1)
        assert not np.allclose(local.loc[month], other, rtol=0.06)


@pytest.mark.parametrize("zone", ["Asia/Kolkata", "Australia/Adelaide", "Asia/Kathmandu"])
def test_half_hour_zones(series, zone):
    """A local hour that straddles two UTC hours is their mean, weighted by how much of each it holds."""
    utc, local = hours(series, "UTC"), hours(series, zone)
    whole, part = divmod(pd.Timestamp("2025-07-15", tz=zone).utcoffset().total_seconds() / 3600, 1)
    before, after = (np.roll(utc.loc[7].to_numpy(), int(whole) + step) for step in (1, 0))
    straddled = part * before + (1 - part) * after
    busy = straddled > 0.02
    assert np.allclose(local.loc[7][busy], straddled[busy], rtol=0.1)
    assert not np.allclose(local.loc[7][busy], before[busy], rtol=0.1)
    assert not np.allclose(local.loc[7][busy], after[busy], rtol=0.1)


@pytest.mark.parametrize(
    ("zone", "day", "halves"),
    [
        # Directive 2000/84/EC; NSW Standard Time Act 1987; Lord Howe moves by half an hour (IANA, australasia).
        ("Europe/Madrid", "2025-03-30", 46),
        ("Europe/Madrid", "2025-10-26", 50),
        ("Australia/Sydney", "2025-10-05", 46),
        ("Australia/Sydney", "2025-04-06", 50),
        ("Australia/Lord_Howe", "2025-10-05", 47),
        ("Asia/Kolkata", "2025-03-30", 48),
    ],
)
def test_days_of_the_change(zone, day, halves):
    """A day on which the clocks change is an hour shorter or longer; a year never loses a half-hour."""
    times = _half_hours(2025, zone)
    assert len(times) == 17520
    assert (times.strftime("%Y-%m-%d") == day).sum() == halves


def test_maxima_fall_where_the_sun_puts_them(series):
    """In July in Madrid's time the morning maximum is two hours later by the clock than in UTC."""
    table = hours(series, "Europe/Madrid").loc[7]
    # Truth of the simulator: 10.75 h solar at 5 E is 10.5 UTC in July, 12.5 by summer time.
    assert table.loc[9:15].idxmax() in (11, 12, 13)
    assert table.loc[0:5].max() < 0.5 * table.max()


def test_interval_and_blank(series):
    """Low, chance and high in order; months nobody listened in are blank."""
    table = hour_by_month(series, lon=LON, lat=LAT, zone="UTC", year=2025)
    assert len(table) == 288
    assert (table["low"] < table["chance"]).all()
    assert (table["chance"] < table["high"]).all()
    summer = series.cells.assign(
        n_listening=series.cells["n_listening"].where(series.cells["start"].dt.month == 6, 0)
    )
    part = hour_by_month(
        Series("6m", "ES", "all", "solar", "A", summer), lon=LON, lat=LAT, zone="UTC", year=2025
    )
    assert set(part.loc[part["chance"].notna(), "month"]) == {6}


def test_more_seasons_than_refits():
    """Eighteen seasons are refitted in groups; the mean over a year's hours is that of the fit's own curve."""
    long = Series("6m", "ES", "all", "solar", "A", simulate("es6", seasons=18, seed=1).cells)
    assert len(long.fit.refits) < 18
    table = hour_by_month(long, lon=LON, lat=LAT, zone="UTC", year=2025)
    assert (table["low"] < table["chance"]).all()
    own = chances(long.fit, by="hour")[0].mean()
    assert table["chance"].mean() == pytest.approx(own, rel=0.02)


def test_contacts_only_is_words(series):
    """A refused series has one row, no number, and its reason."""
    table = hour_by_month(
        Series("6m", "ES", "all", "solar", "C", series.cells), lon=LON, lat=LAT, zone="UTC", year=2025
    )
    assert len(table) == 1
    assert table[["month", "chance", "low", "high"]].isna().all(axis=None)
    assert table["reason"].iloc[0]
    assert alarms(table).empty


def test_alarms_by_hand():
    """Hours with two thirds of the month's best, joined over midnight; quiet months have none."""
    chance = np.zeros((2, 24))
    chance[0, [23, 0, 10]] = [0.3, 0.22, 0.25]
    chance[1] = 0.001
    table = pd.DataFrame(
        {"month": np.repeat([6, 12], 24), "hour": np.tile(np.arange(24), 2), "chance": chance.ravel()}
    )
    found = alarms(table)
    assert found[["month", "start", "end"]].to_numpy().tolist() == [[6, 23, 25], [6, 10, 11]]
    assert found["chance"].tolist() == pytest.approx([0.26, 0.25])


def test_sectors_by_hand():
    """Eighths of the compass are centred on their names."""
    assert sector(np.array([0, 22.4, 22.6, 90, 180, 270, 337.4, 337.6])).tolist() == [0, 0, 1, 2, 4, 6, 7, 0]


def test_likely_direction_counts_openings():
    """Six openings from the south outweigh one from the north with fifty spots."""
    lat = [40.0] * 6 + [60.0] * 50
    spots = pd.DataFrame({"mid_lat": lat, "mid_lon": 0.0, "opening": [*range(1, 7), *[7] * 50]})
    spots["time"] = pd.Timestamp("2025-06-10T12:00", tz="UTC")
    spots = spots.assign(band="6m", mechanism="ES", path_type="land")
    found = likely_directions(spots, band="6m", mechanism="ES", lon=0.0, lat=50.0, zone="Europe/Madrid")
    assert found.to_numpy().tolist() == [[6, 14, "south", pytest.approx(6 / 7), 7]]
    few = likely_directions(
        spots[spots["opening"] < 5], band="6m", mechanism="ES", lon=0.0, lat=50.0, zone="UTC"
    )
    assert few.empty


def test_alarms_at_their_edges():
    """Two thirds of the month's best is good, a little less is not; one half-hour in fifty is worth an alarm."""
    hours = pd.DataFrame({"month": 6, "hour": np.arange(24), "chance": 0.0})
    hours.loc[[10, 14, 18], "chance"] = [0.3, 0.3 * 2 / 3, 0.199]
    assert alarms(hours)["start"].tolist() == [10, 14]
    flat = hours.assign(chance=0.02)
    assert len(alarms(flat)) == 1
    assert alarms(flat.assign(chance=0.0199)).empty

"""The Sun against almanacs, a numerical ephemeris, and its own continuity."""

import warnings

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.tag import sun


def utc(*texts):
    """Times from ISO text with or without an offset."""
    return pd.DatetimeIndex(pd.to_datetime(list(texts), utc=True, format="ISO8601"))


def event(time, *, lon, lat, side):
    """The event nearest to a time, as a time."""
    since = sun.from_events(time, lon=lon, lat=lat)[f"from_{side}_h"].to_numpy()
    return time - pd.to_timedelta(since, unit="h")


def seconds_apart(times, *texts):
    """Difference to times given as text [s]."""
    return np.abs((times - utc(*texts)).total_seconds())


@pytest.mark.outside
def test_position():
    """Elevation of the worked example."""
    # NREL/TP-560-34302 (Reda and Andreas), Golden 2003-10-17: refracted zenith 50.11162, refraction 0.016332
    height = sun.elevation(utc("2003-10-17T12:30:30-07:00"), lon=-105.1786, lat=39.742476)
    assert height == pytest.approx(90 - 50.11162 - 0.016332, abs=0.002)


@pytest.mark.outside
@pytest.mark.parametrize(
    ("lat", "day", "rise", "sets"),
    # NREL SPA table of sunrise and sunset at the standard zenith 90.8333
    [
        (-35, "1996-07-05", "07:08:15", "17:01:04"),
        (-35, "2004-12-04", "04:38:57", "19:02:02"),
        (35, "1994-01-02", "07:08:12", "16:59:55"),
    ],
)
def test_sunrise_and_sunset_to_the_second(lat, day, rise, sets):
    """Greenwich meridian; ours moves with astral's declination, good to a few seconds."""
    noon = utc(f"{day}T12:00Z")
    assert seconds_apart(event(noon, lon=0, lat=lat, side="sunrise"), f"{day}T{rise}Z")[0] <= 5
    assert seconds_apart(event(noon, lon=0, lat=lat, side="sunset"), f"{day}T{sets}Z")[0] <= 5


@pytest.mark.outside
@pytest.mark.parametrize(
    ("lat", "lon", "zone", "day", "rise", "sets"),
    # US Naval Observatory tables, rounded to the minute
    [
        (39, -105, "-07:00", "2015-01-02", "07:19", "16:49"),
        (39, -105, "-07:00", "2015-08-02", "05:01", "19:10"),
        (39.917, 116.383, "+08:00", "2015-04-02", "05:58", "18:39"),
        (39.917, 116.383, "+08:00", "2015-12-02", "07:17", "16:50"),
    ],
)
def test_sunrise_and_sunset_to_the_minute(lat, lon, zone, day, rise, sets):
    """Places where the evening belongs to another UTC date."""
    noon = utc(f"{day}T12:00{zone}")
    assert seconds_apart(event(noon, lon=lon, lat=lat, side="sunrise"), f"{day}T{rise}{zone}")[0] <= 45
    assert seconds_apart(event(noon, lon=lon, lat=lat, side="sunset"), f"{day}T{sets}{zone}")[0] <= 45


@pytest.mark.outside
def test_the_evening_meant_is_the_local_one():
    """The sunset of 17 October, not the one that falls on the 17th in UTC."""
    noon = utc("2003-10-17T12:00-07:00")
    # DE421 ephemeris: Golden, 39.742476 N 105.1786 W
    expected = "2003-10-17T17:18:51-07:00"
    assert seconds_apart(event(noon, lon=-105.1786, lat=39.742476, side="sunset"), expected)[0] <= 5


@pytest.fixture(scope="module")
def ephemeris():
    """Sun, Earth and clock of DE421 as packaged for tests; nothing is fetched."""
    api = pytest.importorskip("skyfield.api")
    from skyfield_data import get_skyfield_data_path

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # its file of polar motion is old, and not used here
        load = api.Loader(get_skyfield_data_path(), expire=False)
    kernel = load("de421.bsp")
    yield kernel["sun"], kernel["earth"], load.timescale(builtin=True)
    kernel.close()


@pytest.mark.outside
@pytest.mark.parametrize("lat", [-65, -50, -20, 0, 35, 60, 65])
@pytest.mark.parametrize("lon", [-150, -100, 0, 75, 180])
def test_sunrise_and_sunset_of_half_a_year(lat, lon, ephemeris):
    """Within 10 s of a numerical ephemeris on every day from solstice to solstice, up to 65 degrees."""
    from skyfield import almanac
    from skyfield.api import wgs84

    body, earth, ts = ephemeris
    place = earth + wgs84.latlon(lat, lon)
    for side, find in (("sunrise", almanac.find_risings), ("sunset", almanac.find_settings)):
        # JPL DE421 through skyfield, Sun's centre at -0.8333 degrees
        found, _ = find(place, body, ts.utc(2025, 1, 1), ts.utc(2025, 7, 5), horizon_degrees=-0.8333)
        expected = pd.DatetimeIndex(found.utc_datetime())
        for hours in (-9, 3):  # asked from before and from after the event
            times = expected + pd.Timedelta(hours=hours)
            since = sun.from_events(times, lon=lon, lat=lat)[f"from_{side}_h"]
            assert np.abs(since - hours).max() * 3600 <= 10


@given(
    lon=st.floats(-180, 180),
    lat=st.floats(-64, 64),
    start=st.datetimes(pd.Timestamp("2019-12-20"), pd.Timestamp("2026-01-10")),
)
@settings(max_examples=60, deadline=None)
def test_hours_since_the_nearest_event_are_continuous(lon, lat, start):
    """A minute later is a minute more, but for one jump of a day, wherever 00 UTC falls."""
    times = pd.date_range(pd.Timestamp(start, tz="UTC").floor("min"), periods=1500, freq="min")
    since = sun.from_events(times, lon=lon, lat=lat)
    for side in since:
        steps = np.diff(since[side].to_numpy()) * 60
        jumps = np.abs(steps - 1) > 0.01
        assert jumps.sum() <= 2
        assert np.all(np.abs(steps[jumps] + 1439) < 15)
        assert since[side].abs().max() < 12.2


@pytest.mark.parametrize("lon", [-180, -150, -100, 100, 150, 180])
def test_events_across_midnight(lon):
    """Hours since sunset run on across 00:00 UTC."""
    times = utc("2024-06-10T23:59:30Z", "2024-06-11T00:00:30Z")
    since = sun.from_events(times, lon=lon, lat=45.0)
    assert np.diff(since["from_sunset_h"]) * 60 == pytest.approx([1.0], abs=0.01)
    assert np.diff(since["from_sunrise_h"]) * 60 == pytest.approx([1.0], abs=0.01)


@pytest.mark.outside
def test_polar_day_and_night_are_classes():
    """No exception and no invented sunset at Tromso."""
    times = utc("2025-06-21T00:00Z", "2025-12-21T12:00Z")
    since = sun.from_events(times, lon=18.96, lat=69.65)
    height = sun.elevation(times, lon=18.96, lat=69.65)
    light = sun.light_of(height, since["from_sunrise_h"], since["from_sunset_h"])
    # Almanac: the Sun stays up from late May to late July and down from late November to mid January
    assert list(light) == ["polar day", "polar night"]
    assert since.isna().all().all()


def test_light():
    """Day, twilight and night in one June day at 45 N, and nothing where nothing is known."""
    times = utc("2024-06-10T12:00Z", "2024-06-10T20:10Z", "2024-06-11T00:00Z", "2024-06-10T12:00Z")
    lat = np.array([45, 45, 45, np.nan])
    since = sun.from_events(times, lon=0.0, lat=lat)
    light = sun.light_of(sun.elevation(times, lon=0.0, lat=lat), *(since[name] for name in since))
    assert list(light[:3]) == ["day", "twilight", "night"]
    assert pd.isna(light[3])


def test_the_e_layer_stays_lit_in_summer():
    """At 57 N the layer at 110 km sees no sunset in late June, and has its own events in April."""
    zenith = 100.571  # a bare round Earth hides the Sun from a layer at 110 km below that
    june = sun.from_events(utc("2024-06-21T00:00Z"), lon=0, lat=57.0, zenith=zenith)
    assert june.isna().all().all()
    times = pd.date_range("2024-04-25", "2024-06-05", freq="h", tz="UTC")
    since = sun.from_events(times, lon=0, lat=57.0, zenith=zenith)["from_sunset_h"]
    last = int(np.flatnonzero(since.between(0, 1))[-1])
    # Eighteen hours after the last sunset of the season it is still the nearest one
    assert since[last + 18] == pytest.approx(since[last] + 18, abs=0.01)
    assert since[last + 60 :].isna().all()


def test_solar_hour():
    """Noon is when the Sun crosses the meridian; the date line is no edge."""
    times = utc("2024-04-15T12:00Z", "2024-04-15T00:00Z", "2024-04-15T00:00Z")
    # Equation of time in mid April is zero to a few seconds (common practice, no source)
    hours = sun.solar_hour(times, lon=np.array([0.0, 180.0, -180.0]))
    assert hours == pytest.approx([12, 12, 12], abs=0.01)


@given(lon=st.floats(-180, 180), lat=st.floats(-89, 89), day=st.integers(0, 3000))
@settings(max_examples=100, deadline=None)
def test_sun_hours_run_once_round(lon, lat, day):
    """Sun-phase hours stay in [0, 24) and never run backward but at midnight."""
    times = pd.date_range(
        pd.Timestamp("2018-01-01", tz="UTC") + pd.Timedelta(days=day), periods=289, freq="5min"
    )
    hours = sun.sun_hours(times, lon=lon, lat=lat)
    assert np.all((hours >= 0) & (hours < 24))
    assert (np.diff(hours) < 0).sum() <= 2


def test_sun_hours_at_the_events():
    """Sunrise is 6, sunset 18, and polar night falls back to the solar hour."""
    noon = utc("2024-05-20T12:00Z")
    rise = event(noon, lon=2.0, lat=48.0, side="sunrise")
    sets = event(noon, lon=2.0, lat=48.0, side="sunset")
    assert sun.sun_hours(rise, lon=2.0, lat=48.0) == pytest.approx(6, abs=1e-3)
    assert sun.sun_hours(sets, lon=2.0, lat=48.0) == pytest.approx(18, abs=1e-3)
    dark = utc("2024-12-20T09:00Z")
    assert sun.sun_hours(dark, lon=20.0, lat=75.0) == pytest.approx(sun.solar_hour(dark, lon=20.0))


@pytest.mark.outside
def test_season_day_zero_is_the_solstice():
    """The date of the summer solstice, north and south."""
    # Almanac dates in UTC: 2024-06-20 20:51, 2025-06-21 02:42, 2024-12-21 09:21
    times = utc("2024-06-20T00:00Z", "2025-06-21T23:59Z", "2024-12-21T12:00Z")
    season = sun.season_of(times, lat=np.array([50.0, 50.0, -35.0]))
    assert season["season_day"].tolist() == [0, 0, 0]
    assert season["season"].tolist() == [2024, 2025, 2024]


def test_season_of_a_southern_summer():
    """January in the south belongs to the season of the December before."""
    season = sun.season_of(utc("2025-01-15T00:00Z"), lat=-35.0)
    assert season.iloc[0].tolist() == [2024, 25]


def test_season_days_span_the_year_once():
    """Every day of eight years is counted once, within -183 to 183."""
    times = pd.date_range("2018-01-01", "2025-12-31", freq="D", tz="UTC")
    for lat in (50.0, -50.0):
        season = sun.season_of(times, lat=lat)
        assert season["season_day"].between(-183, 183).all()
        assert not season.duplicated().any()


def test_unknown_places_stay_unknown():
    """NaN in, NaN or NA out, in every column."""
    times = utc("2024-06-10T12:00Z")
    assert sun.from_events(times, lon=np.nan, lat=np.nan).isna().all().all()
    assert np.isnan(sun.elevation(times, lon=np.nan, lat=np.nan)).all()
    assert np.isnan(sun.solar_hour(times, lon=np.nan)).all()
    assert sun.season_of(times, lat=np.nan).isna().all().all()


def test_naive_times_are_refused():
    """A time without a zone is not guessed."""
    with pytest.raises(ValueError, match="no time zone"):
        sun.solar_hour(pd.DatetimeIndex(["2024-06-10"]), lon=0.0)


def test_time_zone_and_unit_of_storage_do_not_matter():
    """The same instant gives the same answer in any zone and any unit."""
    times = utc("2024-06-10T12:34:56Z")
    expected = sun.from_events(times, lon=-100, lat=40)
    for other in (times.tz_convert("Asia/Tokyo"), times.as_unit("ns"), times.as_unit("s")):
        assert sun.from_events(other, lon=-100, lat=40).equals(expected)


@pytest.mark.parametrize(("height", "light"), [(-17.9, "twilight"), (-18.0, "night"), (-18.1, "night")])
def test_night_begins_at_eighteen_degrees(height, light):
    """With the Sun down for two hours, its height tells twilight from night."""
    assert sun.light_of(np.array([height]), np.array([-8.0]), np.array([2.0]))[0] == light

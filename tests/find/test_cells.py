"""Half-hours: who could have heard and who did, against a count by hand and by brute force."""

import numpy as np
import pandas as pd
import pytest

from analysis.find import intervals
from analysis.find.cells import Clock, half_hours, reference_point
from analysis.find.listening import find_listening
from tests.find.make import at, locals_every, tagged, together


def span(station, start, end, *, basis="receptions", band="6m"):
    """One row of a listening table, times as text of 10 June 2024."""
    day = "2024-06-10 "
    ends = {side: pd.Timestamp(day + text, tz="UTC") for side, text in (("start", start), ("end", end))}
    return {"station": station, "band": band, **ends, "basis": basis}


def row(cells, text):
    """The half-hour that starts at HH:MM."""
    return cells[cells["start"].dt.strftime("%H:%M") == text].iloc[0]


def test_station_slots_by_hand():
    """One station 10:05 to 10:45, another 10:00 to 10:20: 3 + 2 slots, then 1 (the middle 10:45 is past)."""
    listening = pd.DataFrame([span("Q1RX", "10:05", "10:45"), span("Q2RX", "10:00", "10:20")])
    spots = tagged(at([601, 605, 611, 700], rx_call=["Q1RX", "Q1RX", "Q1RX", "Q1RX"]))
    cells = half_hours(spots, listening, band="6m", mechanism="ES", monitors_only=False)
    assert (row(cells, "10:00")["n_listening"], row(cells, "10:00")["n_detected"]) == (5, 2)
    assert (row(cells, "10:30")["n_listening"], row(cells, "10:30")["n_detected"]) == (1, 0)
    # 11:40: heard while nothing else shows that the station listened, so it is no detection.
    assert row(cells, "11:30")["n_detected"] == 0
    assert len(cells) == 48


def test_own_series_never_proves_listening():
    """Only sporadic E heard: nobody is known to have listened, so nothing is open or closed."""
    spots = tagged(at([0, 10, 20, 30], tx_call=["Q1A", "Q1B", "Q1C", "Q1D"]))
    cells = half_hours(spots, find_listening(spots), band="6m", mechanism="ES")
    assert cells["n_listening"].sum() == cells["n_detected"].sum() == 0


def test_other_mechanism_proves_listening():
    """Tropo heard at the same time makes sporadic E a detection."""
    spots = tagged(at([0, 1, 20], mechanism=["TR", "ES", "ES"]))
    cells = half_hours(spots, find_listening(spots), band="6m", mechanism="ES")
    assert cells["n_detected"].sum() == 1


def test_monitors_alone_only_where_they_have_seen_enough():
    """With forty opening days by a monitor the visitors' slots do not count; with one they do, unless asked."""
    days = pd.date_range("2024-05-05", periods=40, tz="UTC")
    seen = [at([300], day=str(day.date()), rx_call="Q5RX") for day in days]
    parts = [
        locals_every(45, start="2024-05-01", days=80, station="Q5RX"),
        locals_every(45, start="2024-06-10", days=1, station="Q6RX"),
        at([5, 6, 7, 600, 601, 602], day="2024-06-10", rx_call=["Q5RX", "Q6RX", "Q7RX"] * 2),
    ]
    for openings, default in ((seen, 3), ([], 6)):
        spots = together(*parts, *openings)
        listening = find_listening(spots)
        cells = half_hours(spots, listening, band="6m", mechanism="ES")
        every = half_hours(spots, listening, band="6m", mechanism="ES", monitors_only=False)
        alone = half_hours(spots, listening, band="6m", mechanism="ES", monitors_only=True)
        counts = [table["n_listening"].max() for table in (cells, every, alone)]
        assert counts == [default, 6, 3]


def test_stray_report_of_a_rare_series_is_not_counted():
    """In 80 monitored days one lone decode is no opening, two within half an hour are."""
    alone = at([600], day="2024-06-10", rx_call="Q5RX")
    pair = at([600, 625], day="2024-06-12", rx_call="Q5RX", tx_call=["Q1A", "Q1B"])
    spots = together(locals_every(45, start="2024-05-01", days=80, station="Q5RX"), alone, pair)
    cells = half_hours(spots, find_listening(spots), band="6m", mechanism="ES")
    assert list(cells.loc[cells["n_detected"] > 0, "start"].dt.strftime("%d %H:%M")) == ["12 10:00"]
    assert cells["n_detected"].sum() == 2


def test_many_strays_do_not_make_a_series_common():
    """One lone decode on each of 40 days, 1 % of the half-hours: still no opening among them."""
    strays = [at([600], day=f"2024-06-{day:02d}", rx_call="Q5RX") for day in range(1, 31)]
    strays += [at([900], day=f"2024-05-{day:02d}", rx_call="Q5RX") for day in range(10, 20)]
    spots = together(locals_every(45, start="2024-05-01", days=80, station="Q5RX"), *strays)
    assert half_hours(spots, find_listening(spots), band="6m", mechanism="ES")["n_detected"].sum() == 0


def test_declared_hours_turn_contacts_into_detections():
    """A contact counts where its station said it listened, and silence there is closed."""
    spots = tagged(at([600, 610, 625], kind="worked", tx_call=["Q1A", "Q1B", "Q1C"]))
    declared = pd.DataFrame([span("Q1RX", "09:00", "12:00")])
    listening = find_listening(spots, declared=declared)
    cells = half_hours(spots, listening, band="6m", mechanism="ES")
    assert cells["n_listening"].sum() == 18
    assert row(cells, "10:00")["n_detected"] == 3


def test_outage_is_unmonitored_even_where_declared():
    """When three monitors fall silent together, declared hours do not turn the silence into a closed band."""
    parts = [locals_every(45, start="2024-05-01", days=60, station=f"Q{n}RX") for n in (5, 6, 7)]
    hole = pd.Timestamp("2024-06-01 06:00", tz="UTC"), pd.Timestamp("2024-06-01 15:00", tz="UTC")
    spots = together(*[part[~part["time"].between(*hole)] for part in parts])
    declared = pd.DataFrame([{"station": "Q9RX", "band": "6m", "start": hole[0], "end": hole[1]}])
    listening = find_listening(spots, declared=declared)
    cells = half_hours(spots, listening, band="6m", mechanism="ES", monitors_only=False)
    assert (
        cells.loc[
            cells["start"].between(hole[0] + pd.Timedelta("1h"), hole[1] - pd.Timedelta("1h")), "n_listening"
        ]
        .eq(0)
        .all()
    )


def test_calendar_of_both_hemispheres():
    """Block, hour and season day belong to the reference point, south of the equator too."""
    spots = together(
        locals_every(50, start="2024-12-01", days=40, station="Q5RX"), at([600, 620], day="2024-12-21")
    )
    for lat, day in ((-35.0, 0), (47.0, -183)):
        cells = half_hours(
            spots, find_listening(spots), band="6m", mechanism="ES", clock=Clock(lon=150.0, lat=lat)
        )
        solstice = cells[cells["start"] == pd.Timestamp("2024-12-21 02:00", tz="UTC")].iloc[0]
        assert abs((solstice["season_day"] - day + 183) % 366 - 183) <= 1
        assert solstice["block"] == solstice["season_day"] // 5
        # 02:15 UTC at 150 E is 12:15 mean solar time; the equation of time on 21 December is about +2 min.
        assert solstice["hour"] == pytest.approx(12.25 + 2 / 60, abs=0.03)


def test_sun_axis_puts_sunrise_at_six():
    """On the sun axis the half-hour of sunrise is hour 6 in winter as in summer."""
    spots = together(
        locals_every(50, start="2024-06-01", days=200, station="Q5RX"), at([0, 1], mechanism="TR")
    )
    cells = half_hours(
        spots, find_listening(spots), band="6m", mechanism="TR", clock=Clock(axis="sun", lon=0.0, lat=47.0)
    )
    by_day = cells.groupby(cells["start"].dt.date)["hour"].apply(lambda hour: np.abs(hour - 6).min())
    assert by_day.max() < 0.6
    with pytest.raises(ValueError, match="axis"):
        Clock(axis="clock")


def test_reference_point_across_the_date_line():
    """Midpoints on both sides of 180 degrees give a point between them."""
    lon, lat = reference_point(tagged(at([0, 1], mid_lon=[178.0, -176.0])), band="6m", mechanism="ES")
    assert abs(lon) == pytest.approx(179.0)
    assert lat == 47.0


def test_nothing_to_refer_to():
    """Without reports the table is empty and has its columns."""
    spots = tagged(at([0])).iloc[:0]
    cells = half_hours(spots, find_listening(spots), band="6m", mechanism="ES")
    assert list(cells.columns) == [
        "start",
        "season",
        "season_day",
        "block",
        "hour",
        "n_listening",
        "n_detected",
    ]
    assert cells.empty


def test_band_without_the_series():
    """Two days of contacts by tropo and no sporadic E: 96 half-hours that nobody monitored."""
    spots = tagged(at([600, 2000], mechanism="TR", kind="worked"))
    cells = half_hours(spots, find_listening(spots), band="6m", mechanism="ES")
    assert len(cells) == 96
    assert cells[["n_listening", "n_detected"]].sum().tolist() == [0, 0]
    assert cells["hour"].notna().all()


def test_against_brute_force():
    """Three days, five stations, random spans and reports: the same counts as slot-by-slot bookkeeping."""
    rng = np.random.default_rng(11)
    start = np.sort(rng.uniform(0, 4000, 60))
    spans = pd.DataFrame({"station": rng.choice([f"Q{n}RX" for n in range(5)], 60), "band": "6m"})
    day = 28_000_000 // 1440 * 1440.0
    spans["start"] = intervals.times(day + start)
    spans["end"] = intervals.times(day + start + rng.uniform(20, 200, 60))
    listening = intervals.union(spans).assign(basis="receptions")
    moments = intervals.times(day + rng.uniform(0, 4300, 800))
    spots = tagged({"time": moments, "rx_call": rng.choice([f"Q{n}RX" for n in range(6)], 800)})
    cells = half_hours(spots, listening, band="6m", mechanism="ES")
    for cell in cells.itertuples():
        n = k = 0
        for slot in range(3):
            opens = cell.start + pd.Timedelta(minutes=10 * slot)
            middle, past = opens + pd.Timedelta(minutes=5), opens + pd.Timedelta(minutes=10)
            there = set(
                listening.loc[(listening["start"] <= middle) & (listening["end"] > middle), "station"]
            )
            heard = set(spots.loc[(spots["time"] >= opens) & (spots["time"] < past), "rx_call"])
            n, k = n + len(there), k + len(there & heard)
        assert (cell.n_listening, cell.n_detected) == (n, k)
    assert cells["n_detected"].sum() > 100

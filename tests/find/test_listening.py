"""Who was listening: from background receptions, monitors and declared hours, never from contacts."""

import pandas as pd
import pytest

from analysis.find import listening
from analysis.find.proof import monitors
from tests.find.make import at, locals_every, tagged, together


def points(spots):
    """Receptions as `monitors` reads them."""
    return spots.rename(columns={"rx_call": "station"})[["station", "band", "time"]]


def test_receptions_an_hour_apart_are_one_span():
    """Gaps up to 60 minutes are listened through, 10 minutes are added at both ends."""
    spots = tagged(at([100, 160, 221], mechanism="LOS"))
    spans = listening.find_listening(spots)
    assert list(spans["start"].dt.strftime("%H:%M")) == ["01:30", "03:31"]
    assert list(spans["end"].dt.strftime("%H:%M")) == ["02:50", "03:51"]
    assert set(spans["basis"]) == {"receptions"}


@pytest.mark.parametrize(
    "row",
    [
        {"kind": "worked"},
        {"mechanism": "ES"},
        {"mechanism": "TR"},
        {"mechanism": "undetermined", "distance_km": 900.0},
        {"mechanism": "undetermined", "distance_km": float("nan")},
        {"doubt": "two locators on one day"},
    ],
    ids=str,
)
def test_what_proves_nothing(row):
    """Contacts, the opening's own signals, far unknown ones and doubtful rows are no proof of listening."""
    spots = tagged(at([0, 5, 10], **({"mechanism": "LOS"} | row)))
    assert listening.find_listening(spots).empty


def test_other_mechanisms_prove_for_one_series():
    """Tropo proves listening for sporadic E, not for tropo; a short unknown signal where E cannot reach."""
    spots = tagged(at([0, 1, 2], mechanism=["TR", "undetermined", "ES"], distance_km=[500.0, 300.0, 1500.0]))
    assert listening.proves_listening(spots, mechanism="ES").tolist() == [True, True, False]
    assert listening.proves_listening(spots, mechanism="TR").tolist() == [False, False, True]


def test_always_on_station_is_a_monitor():
    """80 days round the clock make a monitor; 20 days do not."""
    spots = together(
        locals_every(45, start="2024-05-01", days=80, station="Q5RX"),
        locals_every(45, start="2024-05-01", days=20, station="Q6RX"),
    )
    spans = listening.find_listening(spots)
    hours = (spans["end"] - spans["start"]).dt.total_seconds().groupby(
        [spans["station"], spans["basis"]]
    ).sum() / 3600
    assert hours["Q5RX", "monitor"] == pytest.approx(80 * 24, abs=1)
    assert ("Q6RX", "monitor") not in hours
    assert listening.evidence_tier(spans, band="6m") == "A"
    assert listening.evidence_tier(spans, band="2m") == "C"


def test_monitor_runs_on_through_a_winter_pause():
    """Days without any feed are not held against a monitor, days with feed are."""
    parts = [locals_every(45, start=day, days=31, station="Q5RX") for day in ("2023-12-15", "2024-05-01")]
    assert len(monitors.runs(points(together(*parts)))) == 1
    others = locals_every(45, start="2024-01-15", days=107, station="Q6RX")
    stations = monitors.runs(points(together(*parts, others)))["station"]
    assert list(stations) == ["Q6RX"]


def test_declared_hours_cut_around_receptions():
    """Where declared hours and receptions overlap there is one span, of basis declared."""
    declared = pd.DataFrame(
        {
            "station": ["q1rx "],
            "band": [""],
            "start": [pd.Timestamp("2024-06-10 00:05", tz="UTC")],
            "end": [pd.Timestamp("2024-06-10 04:00", tz="UTC")],
        }
    )
    spans = listening.find_listening(tagged(at([0], mechanism="LOS")), declared=declared)
    assert list(spans["basis"]) == ["receptions", "declared"]
    assert spans["end"].iloc[0] == spans["start"].iloc[1] == declared["start"].iloc[0]
    assert listening.evidence_tier(spans, band="6m") == "B"


def test_hours_declared_round_the_clock_make_a_monitor():
    """Ninety whole days declared are as good as a monitor heard; ninety evenings are not."""
    start = pd.Timestamp("2024-05-01", tz="UTC")
    whole = {"station": ["Q1RX"], "band": ["6m"], "start": [start], "end": [start + pd.Timedelta(days=90)]}
    evenings = pd.DataFrame({"start": pd.date_range("2024-05-01 18:00", periods=90, tz="UTC")})
    evenings = evenings.assign(station="Q1RX", band="6m", end=evenings["start"] + pd.Timedelta(hours=4))
    spots = tagged(at([0], kind="worked"))
    for declared, tier in ((pd.DataFrame(whole), "A"), (evenings, "B")):
        spans = listening.find_listening(spots, declared=declared)
        assert set(spans["basis"]) == {"declared"}
        assert listening.evidence_tier(spans, band="6m") == tier
        own = listening.series_listening(spots, spans, band="6m", mechanism="ES")
        assert set(own["basis"]) == {"monitor" if tier == "A" else "declared"}


def test_silence_of_a_busy_feed_is_an_outage():
    """Nine silent hours of three monitors are an outage; of one they are not."""
    parts = [locals_every(45, start="2024-05-01", days=60, station=f"Q{n}RX") for n in (5, 6, 7)]
    hole = pd.Timestamp("2024-06-01 06:00", tz="UTC"), pd.Timestamp("2024-06-01 15:00", tz="UTC")
    parts = [part[~part["time"].between(*hole)] for part in parts]
    found = listening.outages(listening.find_listening(together(*parts)))
    assert len(found) == 1
    assert found["start"].iloc[0] < hole[0] + pd.Timedelta(minutes=10)
    assert found["end"].iloc[0] > hole[1] - pd.Timedelta(minutes=10)
    assert found["usual"].iloc[0] == 3
    assert listening.outages(listening.find_listening(together(parts[0]))).empty


def declared(hours, days=range(60), day="2024-05-01"):
    """So many hours declared on some days, and a minute on every other so that the feed has them."""
    begin = [pd.Timestamp(day, tz="UTC") + pd.Timedelta(days=number) for number in range(max(days) + 1)]
    table = pd.DataFrame({"station": "Q1RX", "band": "6m", "start": begin})
    length = [hours if number in days else 1 / 60 for number in range(len(begin))]
    return table.assign(end=table["start"] + pd.to_timedelta(length, unit="h"))


def test_a_monitor_at_its_edges():
    """Eighteen hours a day, on 42 of 60 days: an hour, or a day, or a day of data less is no monitor."""
    most = [*range(20), *range(38, 60)]
    assert len(listening.whole_days(declared(18.0, most))) == 1
    assert listening.whole_days(declared(17.9, most)).empty
    assert listening.whole_days(declared(18.0, [*most[:5], *most[6:]])).empty
    assert listening.whole_days(declared(24.0, range(59))).empty


def holed(hours, *, stations=3):
    """Stations that are always there for sixty days but for some hours on one day."""
    start = pd.Timestamp("2024-05-01", tz="UTC")
    hole, past = start + pd.Timedelta("30D"), start + pd.Timedelta(30 * 24 + hours, unit="h")
    spans = [
        (f"Q{n}RX", *span)
        for n in range(stations)
        for span in ((start, hole), (past, start + 60 * (hole - start) / 30))
    ]
    return pd.DataFrame(spans, columns=["station", "start", "end"]).assign(band="6m", basis="receptions")


def test_an_outage_at_its_edges():
    """Six hours without any of three usual stations; not a minute less, not of two stations."""
    assert listening.outages(holed(6.0))["hours"].tolist() == [6.0]
    assert listening.outages(holed(6.0))["usual"].tolist() == [3.0]
    assert listening.outages(holed(5.99)).empty
    assert listening.outages(holed(6.0, stations=2)).empty


@pytest.mark.parametrize(("km", "proof"), [(149.0, True), (150.0, False)])
def test_a_short_unknown_signal_at_its_edge(km, proof):
    """What nothing was called proves listening below 150 km for tropo."""
    spots = tagged(at([0], mechanism="undetermined", distance_km=km))
    assert listening.proves_listening(spots, mechanism="TR").tolist() == [proof]


@pytest.mark.parametrize(("km", "proof"), [(399.0, True), (400.0, False)])
def test_an_unknown_signal_too_near_for_sporadic_e(km, proof):
    """What nothing was called proves listening for sporadic E below 400 km."""
    spots = tagged(at([0], mechanism="undetermined", distance_km=km))
    assert listening.proves_listening(spots, mechanism="ES").tolist() == [proof]

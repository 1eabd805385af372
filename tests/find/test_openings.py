"""Openings: parted by silence, graded, censored where nobody listened, never cut at midnight."""

import numpy as np
import pandas as pd
import pytest

from analysis.find import listening, openings
from analysis.find.openings import find_openings, label_openings, opening_sensitivity
from analysis.gather import locators
from tests.find.make import at, locals_every, tagged, together

CALLS = ["Q1A", "Q1B", "Q1C"]


def test_never_split_at_midnight():
    """23:50, 00:05 and 00:20 are one opening."""
    spots = tagged(at([1430, 1445, 1460], tx_call=CALLS))
    assert label_openings(spots, gap_min=30).tolist() == [1, 1, 1]


def test_silence_parts_openings():
    """A gap longer than the limit parts, one of exactly the limit does not."""
    spots = tagged(at([0, 30, 60, 91, 100, 110], tx_call=CALLS * 2))
    assert label_openings(spots, gap_min=30).tolist() == [1, 1, 1, 2, 2, 2]


def test_order_of_rows_does_not_matter():
    """A table newest first gets the same numbers on the same rows."""
    spots = tagged(at([0, 10, 20, 200, 210, 220], tx_call=CALLS * 2))
    shuffled = spots.iloc[[5, 0, 3, 2, 4, 1]]
    assert label_openings(shuffled, gap_min=30).sort_index().tolist() == [1, 1, 1, 2, 2, 2]


@pytest.mark.parametrize(
    "change", [{"mechanism": "MS"}, {"mechanism": "undetermined"}, {"doubt": "locator"}], ids=str
)
def test_what_makes_no_opening(change):
    """Meteor pings, undetermined and doubtful reports belong to no opening."""
    assert label_openings(tagged(at([0, 5, 10], tx_call=CALLS, **change))).isna().all()


def test_path_types_part_tropo_only():
    """Land and sea are two tropo openings, and one of sporadic E."""
    kinds = ["land", "sea"] * 3
    rows = at([0, 1, 2, 3, 4, 5], tx_call=["Q1A", "Q1B", "Q1C", "Q1D", "Q1E", "Q1F"], path_type=kinds)
    _, tropo = find_openings(tagged(rows.assign(mechanism="TR")))
    _, sporadic = find_openings(tagged(rows.assign(mechanism="ES")))
    assert sorted(tropo["path_type"]) == ["land", "sea"]
    assert list(sporadic["path_type"]) == ["all"]


@pytest.mark.parametrize(
    ("minutes", "columns", "grade"),
    [
        ([0, 5, 10], {"tx_call": CALLS}, "confirmed"),
        ([0, 5, 10], {"rx_call": CALLS}, "confirmed"),
        ([0, 5], {"rx_call": CALLS[:2]}, "probable"),
        ([0, 5, 10], {}, "single"),
        ([0], {"kind": "worked"}, "single"),
    ],
)
def test_grades(minutes, columns, grade):
    """Three reports of two stations confirm, two make it probable, less is a single."""
    assert find_openings(tagged(at(minutes, **columns)))[1]["grade"].tolist() == [grade]


def test_lone_report_stays_isolated():
    """One report that was heard once makes no opening."""
    spots, table = find_openings(tagged(at([0])))
    assert spots["opening"].isna().all()
    assert table.empty


def test_censored_where_nobody_listened():
    """The last listener left with the end, so it is censored; somebody was there before the start."""
    spots = together(
        locals_every(30, start="2024-06-10", days=0.2, station="Q1RX"), at([200, 240, 300], tx_call=CALLS)
    )
    _, table = find_openings(spots, listening=listening.find_listening(spots), gap_min=60)
    assert not table["start_censored"].iloc[0]
    assert table["end_censored"].iloc[0]
    assert find_openings(spots)[1][["start_censored", "end_censored"]].all(axis=None)


def test_start_is_censored_where_the_listener_came_later():
    """Mirror image: nobody listened in the hour before 03:20, somebody from 03:30 on."""
    listener = locals_every(30, start="2024-06-10 03:40", days=0.3, station="Q1RX")
    spots = together(listener, at([200, 240, 300], tx_call=CALLS))
    _, table = find_openings(spots, listening=listening.find_listening(spots), gap_min=60)
    assert table["start_censored"].iloc[0]
    assert not table["end_censored"].iloc[0]


def test_corrected_duration_is_unbiased():
    """Over 4000 openings of 60 min with 8 reports each, the corrected length is 60 min on average."""
    times = np.sort(np.random.default_rng(7).uniform(0, 60, (4000, 8)), axis=1)
    span = pd.Series(times[:, -1] - times[:, 0])
    k = pd.Series(np.full(4000, 8))
    assert openings.corrected_duration(span, k).mean() == pytest.approx(60, abs=0.7)
    assert span.mean() < 50
    assert np.isnan(openings.corrected_duration(pd.Series([0.0]), pd.Series([1])).iloc[0])


def test_midpoint_across_the_date_line():
    """Midpoints at 179 and -179 have their median near 180, not near 0."""
    _, table = find_openings(tagged(at([0, 5, 10], tx_call=CALLS, mid_lon=[179.0, -179.0, -179.5])))
    assert table["mid_lon"].iloc[0] == pytest.approx(-179.5)


def test_sensitivity_covers_gaps_and_rules():
    """Five gaps and the own one, three rules; a longer gap never makes more openings by the loosest rule."""
    minutes = np.cumsum(np.random.default_rng(3).exponential(25, 300))
    table = opening_sensitivity(tagged(at(minutes, tx_call=["Q1A", "Q1B"] * 150)))
    loosest = table[table["min_spots"] == 1].sort_values("gap_min")
    assert set(loosest["gap_min"]) >= {20, 30, 60, 90, 120}
    assert loosest["n_openings"].is_monotonic_decreasing
    assert not table.duplicated(["gap_min", "min_spots", "min_stations"]).any()
    assert table["chosen"].sum() == 3


def test_real_contest_weekend(real_inputs):
    """6 m on the contest weekend: two openings of paths from 700 km, one across midnight."""
    files = pytest.importorskip("analysis.gather.files")
    tags = pytest.importorskip("analysis.tag.tags")
    spots = tags.tag_spots(files.gather_files([real_inputs / "contest_weekend.adi"]).spots)
    # The README says 700 km; five of its contacts are 666 and 688 km between the centres of their squares
    # (600 to 790 km within the squares), and no other contact lies between 600 and 700 km.
    far = spots[(spots["band"] == "6m") & (spots["distance_km"] >= 650)].assign(mechanism="ES", doubt="")
    home = locators.centre(far["rx_locator"]).iloc[0]
    _, table = find_openings(far, gap_min=30, home={"lon": home["lon"], "lat": home["lat"]})
    here = (
        table[table["scope"] == "here"].sort_values("n_spots", ascending=False).head(2).sort_values("start")
    )
    # Source: shared/real/README.md of the real inputs (counted from the original contest log).
    assert list(here["n_spots"]) == [98, 49]
    assert list(here["start"].dt.strftime("%d %H%M")) == ["09 1418", "09 2231"]
    assert list(here["end"].dt.strftime("%d %H%M")) == ["09 1844", "10 0022"]
    # In the region the earlier one lay in two places: over 80 and over 90 degrees west.
    region = table[(table["scope"] == "region") & (table["grade"] == "confirmed")]
    assert (region["mid_lon"].round(-1) == -90).sum() == 1

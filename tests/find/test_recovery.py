"""Does this room find what a simulated season holds: openings, listening, open half-hours?"""

import numpy as np
import pandas as pd
import pytest

from analysis.find import intervals
from analysis.find.cells import half_hours
from analysis.find.listening import find_listening
from analysis.find.openings import find_openings
from tests.find import simulate


def openings_scores(per_hour, seeds=range(3)):
    """Mean scores of confirmed openings over some seasons."""
    found = []
    for seed in seeds:
        rng = np.random.default_rng(seed)
        truth = simulate.true_openings(rng)
        _, table = find_openings(simulate.opening_spots(rng, truth, per_hour=per_hour))
        found.append(simulate.score(table[table["grade"] == "confirmed"], truth))
    return pd.DataFrame(found).mean()


def test_openings_of_rich_data():
    """Twenty reports an hour while open: recall, precision and hours within the design's bars."""
    score = openings_scores(20)
    # Own bars for own simulated seasons, no outside source: recall .95, precision .90, hours .8 to 1.1.
    assert score["recall"] >= 0.95
    assert score["precision"] >= 0.90
    assert 0.8 <= score["hours"] <= 1.1


def test_thin_data_lose_openings_not_truth():
    """At 1.2 reports an hour most openings are missed, and hardly any is invented."""
    score = openings_scores(1.2)
    assert score["recall"] < 0.6
    assert score["precision"] >= 0.85


@pytest.mark.parametrize(("digital", "recall"), [(0.8, 0.8), (0.4, 0.6), (0.0, 0.35)])
def test_listening_is_true_where_it_is_claimed(digital, recall):
    """Nine tenths of the claimed minutes are true whatever the modes; voice hides most of its own."""
    rng = np.random.default_rng(1)
    truth = simulate.true_openings(rng, days=60)
    on = simulate.sessions(rng, truth)
    said = simulate.told(find_listening(simulate.heard_spots(rng, on, truth, digital=digital)), on)
    assert (said & on).sum() / said.sum() >= 0.9
    assert (said & on).sum() / on.sum() >= recall


def open_share(spots, listening):
    """Share of half-hours with a detection among those in which somebody listened."""
    cells = half_hours(spots, listening, band="6m", mechanism="ES", monitors_only=False)
    return (cells.loc[cells["n_listening"] > 0, "n_detected"] > 0).mean()


@pytest.mark.parametrize(("digital", "least"), [(0.8, 0.8), (0.4, 0.8), (0.0, 0.4)])
def test_share_of_open_half_hours_is_not_inflated(digital, least):
    """Listening told from the background gives at most 1.2 times the share that true listening gives.

    With voice alone it gives less, because only few listeners can be told. Counting the opening's own
    reports as proof of listening, as one must not, gives several times the truth.
    """
    rng = np.random.default_rng(2)
    truth = simulate.true_openings(rng, days=90)
    on = simulate.sessions(rng, truth, days=90)
    spots = simulate.heard_spots(rng, on, truth, digital=digital)
    right = open_share(spots, simulate.as_listening(on))
    assert least * right <= open_share(spots, find_listening(spots)) <= 1.2 * right
    points = pd.DataFrame({"station": spots["rx_call"], "band": "6m", "time": spots["time"]})
    own = points[spots["mechanism"] == "ES"]
    circular = intervals.spans(own, gap_min=10, pad_min=5).assign(basis="receptions")
    assert open_share(spots[spots["mechanism"] == "ES"], circular) > 3 * right


def test_monitors_see_the_whole_season():
    """Two monitors: nearly all half-hours monitored, the share of open ones within 10 % of the truth."""
    rng = np.random.default_rng(2)
    truth = simulate.true_openings(rng, days=90)
    on = simulate.sessions(rng, truth, days=90, monitors=2)
    spots = simulate.heard_spots(rng, on, truth, digital=0.6)
    cells = half_hours(spots, find_listening(spots), band="6m", mechanism="ES")
    monitored = cells[cells["n_listening"] > 0]
    opened = np.zeros(on.shape[1], bool)
    for start, end in truth:
        opened[max(int(start), 0) : int(end)] = True
    true_share = opened.reshape(-1, 30).any(axis=1).mean()
    assert len(monitored) > 0.9 * len(cells)
    assert (monitored["n_detected"] > 0).mean() == pytest.approx(true_share, rel=0.1)

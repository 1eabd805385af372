"""Watched paths against counting them one by one."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from scipy import sparse

from analysis.find.reach import square_paths
from analysis.find.watched import (
    Watch,
    proven_share,
    seen_paths,
    steady_paths,
    thinned,
    usable_paths,
    watched_paths,
)

SQUARES = np.array(["IN93", "IN80", "JO20", "JO31", "JN05", "IO91"])


@pytest.fixture
def world():
    """Two hundred half-hours in six squares, at random, and which pairs of squares may be joined."""
    rng = np.random.default_rng(5)
    receivers, senders = (rng.random((200, 6)) < share for share in (0.4, 0.5))
    seen = rng.random((200, 6, 6)) < 0.05
    table = pd.DataFrame(np.argwhere(seen), columns=["half_hour", "rx", "tx"])
    watch = Watch(
        starts=pd.date_range("2024-06-01", periods=200, freq="30min", tz="UTC"),
        squares=SQUARES,
        receivers=sparse.csr_array(receivers.astype(np.float32)),
        senders=sparse.csr_array(senders.astype(np.float32)),
        sightings=table,
    )
    return watch, rng.random((6, 6)) < 0.6, receivers[:, :, None] & senders[:, None], seen


def test_counts_equal_counting_one_by_one(world):
    """Watched paths, those with a report, and the share proven."""
    watch, usable, both, seen = world
    np.testing.assert_array_equal(watched_paths(watch, usable), (both & usable).sum(axis=(1, 2)))
    np.testing.assert_array_equal(seen_paths(watch, usable), (both & usable & seen).sum(axis=(1, 2)))
    assert proven_share(watch, usable) == (both & usable & seen).sum() / (usable & seen).sum()


def test_thinning_takes_squares_away(world):
    """Fewer paths at smaller shares, none without a report before; with all squares kept, all as it was."""
    watch, usable, _both, _seen = world
    whole = thinned(watch, usable, shares=(1.0,))
    detected = seen_paths(watch, usable) > 0
    assert whole["start"].tolist() == watch.starts[detected].to_list()
    assert whole["seen"].all()
    np.testing.assert_array_equal(whole["n_watched"], watched_paths(watch, usable)[detected])
    part = thinned(watch, usable)
    n = part.groupby("share")["n_watched"].sum()
    assert n.is_monotonic_increasing
    # Both ends of a path stay with the square of the share: here 0.64 of the paths.
    assert n[0.8] / whole["n_watched"].sum() == pytest.approx(0.64, abs=0.08)
    assert 0 < part.loc[part["share"] == 0.45, "seen"].mean() < 1
    pd.testing.assert_frame_equal(part, thinned(watch, usable))


def test_steady_paths_go_through_sky_watched_in_every_season(world):
    """A square that falls silent takes its sky along, but not sky that others' paths still cross."""
    watch, usable, _, _ = world
    season = np.repeat([2023, 2024], 100)
    marks = {name: getattr(watch, name).toarray() for name in ("receivers", "senders")}
    for table in marks.values():
        table[100:, 2] = 0
    silent = {name: sparse.csr_array(table) for name, table in marks.items()}
    steady = steady_paths(replace(watch, **silent), usable, season=season)
    own_sky = square_paths(SQUARES)["mid_lat"].to_numpy().reshape(6, 6)[2] > 49.5  # JO20 and northward
    assert not steady[2][own_sky].any()
    assert steady[np.ix_([0, 1, 4], [0, 1, 4])].any()
    assert not (steady & ~usable).any()
    assert steady_paths(watch, usable, season=np.full(200, 2023)).sum() == usable.sum()


def test_usable_lengths_are_those_reported(world):
    """Between the shortest and the longest reported, without the extreme twentieths; none without reports."""
    watch = world[0]
    row = {"half_hour": 0, "rx": 0, "tx": 3}  # IN93 to JO31, about 1100 km
    one = Watch(watch.starts, SQUARES, watch.receivers, watch.senders, pd.DataFrame([row]))
    ways = usable_paths(one, mechanism="ES")
    assert np.argwhere(ways).tolist() == [[0, 3], [3, 0]]
    none = Watch(watch.starts, SQUARES, watch.receivers, watch.senders, pd.DataFrame([row]).iloc[:0])
    assert not usable_paths(none, mechanism="ES").any()


def test_usable_paths_of_a_place(world):
    """From IN93, tropo paths that end there; over sea only those over sea."""
    watch = world[0]
    here = usable_paths(watch, mechanism="TR", scope="here", lon=-1.0, lat=43.5)
    whole = usable_paths(watch, mechanism="TR")
    np.testing.assert_array_equal(
        here, whole & (np.eye(6, dtype=bool)[0][:, None] | np.eye(6, dtype=bool)[0])
    )
    kinds = [usable_paths(watch, mechanism="TR", path_type=kind) for kind in ("land", "mixed", "sea")]
    np.testing.assert_array_equal(sum(kind.astype(int) for kind in kinds), whole.astype(int))

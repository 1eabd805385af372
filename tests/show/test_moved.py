"""One opening as it moved: the midpoints by time, an arrow for each patch whose drift can be told."""

import numpy as np
import pandas as pd
import pytest

from analysis.show.maps.moved import opening_map
from tests.show import examples

SERIES = {"band": "6m", "home": "IN93"}


def spots():
    """The example reports, those of opening 7 usable here."""
    table = examples.spots(n=1500)
    table["here"] = table["opening"].where(table["opening"] == 7)
    return table


def openings():
    table = examples.openings().query("mechanism == 'ES'")
    return table.assign(grade="confirmed", n_paths=np.where(table["opening"] == 9, 500, 20))


def patches(verdict="moving"):
    """Two patches of opening 7, the larger one toward the west at 50 m/s for an hour."""
    start = pd.Timestamp("2024-06-10 10:00", tz="UTC")
    rows = [
        {"n_paths": 40, "toward_deg": 270.0, "verdict": verdict},
        {"n_paths": 9, "toward_deg": 0.0, "verdict": "cannot tell"},
    ]
    about = {"opening": 7, "start": start, "end": start + pd.Timedelta(hours=1), "lon": 2.0, "lat": 46.0}
    return pd.DataFrame(rows).assign(**about, speed_ms=50.0, speed_low=40.0, speed_high=60.0)


@pytest.mark.parametrize("width", ["full", "column"])
def test_the_one_that_was_usable_here_and_moved(width, no_network):
    """Not the largest, which nobody here could have used; one arrow, 180 km toward the west."""
    picture = opening_map(spots(), openings(), patches(), **SERIES, width=width)
    assert "its largest patch drifted west at 40 to 60" in picture.title.replace("\u00a0", " ")
    axes = picture.figure.axes[0]
    mine = spots()[(spots()["opening"] == 7).fillna(False)]
    assert [len(one.get_offsets()) for one in axes.collections if len(one.get_offsets()) == len(mine)]
    arrows = [text for text in axes.texts if getattr(text, "arrow_patch", None)]
    assert len(arrows) == 1
    (x0, y0), (x1, y1) = arrows[0].xyann, arrows[0].xy
    assert np.hypot(x1 - x0, y1 - y0) == pytest.approx(180e3, rel=0.03)
    assert x1 < x0


def test_without_a_drift_it_says_so():
    picture = opening_map(spots(), openings(), patches("cannot tell"), **SERIES)
    assert "no drift can be told" in picture.title
    assert not [text for text in picture.figure.axes[0].texts if getattr(text, "arrow_patch", None)]


def test_a_chosen_one_is_shown():
    assert "500" in opening_map(spots(), openings(), patches(), **SERIES, opening=9).alt


def test_none_to_show_is_said():
    picture = opening_map(spots(), openings().iloc[:0], patches(), **SERIES)
    assert "No opening" in picture.title

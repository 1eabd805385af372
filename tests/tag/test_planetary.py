"""A planetary index tells aurora from sporadic E; without one nothing changes."""

import numpy as np
import pandas as pd

from analysis.tag import features, likelihoods, tags
from tests.tag.test_mechanism import spot_table

STARTS = pd.date_range("2024-05-10", periods=8, freq="3h", tz="UTC")


def index_of(*values):
    """Three-hour values of one day."""
    return pd.DataFrame({"time": STARTS[: len(values)], "index": values})


def test_classes_hold_for_three_hours():
    times = pd.Series(
        pd.to_datetime(["2024-05-09T23:59Z", "2024-05-10T00:00Z", "2024-05-10T05:59Z", "2024-05-10T09:00Z"])
    )
    assert features.field_class(times, index_of(3.7, 4.0, 8.3)).tolist() == [0, 1, 2, 0]
    assert features.field_class(times, None).tolist() == [0, 0, 0, 0]


def test_an_index_not_known_says_nothing():
    assert np.allclose(np.exp(likelihoods.log_table("planetary"))[:, 0], 1.0)


def test_voice_toward_the_north_in_a_storm_is_aurora_and_in_a_quiet_field_is_not():
    """A path of 900 km in geomagnetic latitudes of the aurora, on Morse in the evening."""
    rows = [(f"2024-05-10T17:{minute:02d}Z", "6m", "CW", "KP20", "JO69") for minute in range(0, 30, 10)]
    spots = spot_table(*rows)
    storm, quiet, unknown = (
        tags.tag_spots(spots, disturbed=index) for index in (index_of(*[8] * 8), index_of(*[1] * 8), None)
    )
    chance = {name: told["mechanism_p"].where(told["mechanism"] == "AUR", 0).mean() for name, told in
              (("storm", storm), ("quiet", quiet), ("unknown", unknown))}  # fmt: skip
    assert chance["storm"] > max(chance["quiet"], chance["unknown"])
    assert not (quiet["mechanism"] == "AUR").any()
    assert list(unknown.columns) == list(storm.columns)

"""How unusual an opening was for its stations."""

import numpy as np
import pandas as pd
import pytest

from analysis.find.grouping.unusual import unusual
from tests.find.make import at, tagged


def season(best):
    """Forty days with a path of 1000 km, on the last one of `best` km; its opening is number 1."""
    rows = [at([600], day=str(day.date())) for day in pd.date_range("2024-06-01", periods=40)]
    table = tagged(pd.concat(rows).assign(distance_km=[1000.0] * 39 + [best]))
    table["opening"] = pd.array([pd.NA] * 39 + [1], dtype="Int64")
    return table.assign(here=pd.array([pd.NA] * 40, dtype="Int64"))


@pytest.mark.parametrize(("best", "share"), [(1500.0, 79 / 80), (1000.0, 1 / 80), (500.0, 1 / 80)])
def test_farther_than_on_other_days(best, share):
    """A path longer than on all 39 other days of both stations is as unusual as these can tell; one as on all of them is not."""
    openings = pd.DataFrame({"opening": [1, 2], "band": "6m", "mechanism": "ES"})
    found = unusual(season(best), openings)
    assert found[0] == pytest.approx(share)
    assert np.isnan(found[1])


def test_days_without_the_mechanism_count_as_less():
    """A station that is on every day and has sporadic E once has an unusual day then."""
    spots = season(500.0)
    spots["mechanism"] = np.where(spots["opening"].notna(), "ES", "LOS")
    assert unusual(spots, pd.DataFrame({"opening": [1], "band": ["6m"], "mechanism": ["ES"]}))[0] > 0.95


def test_openings_here_have_their_own_number():
    """Reports of an opening here are found by that number."""
    spots = season(1500.0)
    spots["here"], spots["opening"] = spots["opening"] + 6, pd.array([pd.NA] * 40, dtype="Int64")
    openings = pd.DataFrame({"opening": [7], "band": ["6m"], "mechanism": ["ES"]})
    assert unusual(spots, openings)[0] > 0.95

"""The spot table's own promises."""

import pandas as pd

from analysis.gather import spots
from analysis.gather.cells import values


def test_only_categories_in_use():
    """A band that no row has is no category of the table, and those in use keep their order."""
    bands = pd.Series(["6m", "2m", "6m"]).astype(values.band_names())
    rows = pd.DataFrame({"time": pd.to_datetime(["2024-06-09"] * 3, utc=True), "band": bands})
    got = spots.as_spots(rows)["band"]
    assert got.cat.categories.tolist() == ["2m", "6m"]
    assert got.tolist() == ["6m", "2m", "6m"]

"""Drift of the patches: what moved, where to, and when nothing may be said."""

import numpy as np
import pandas as pd
import pytest

from analysis.show import charts
from analysis.show.charts.drift import toward


def patches():
    """Ten patches that went north-east in the forenoon, eight that went west later, five that stood still."""
    morning = pd.DataFrame(
        {"start": "2024-06-10 08:00+00:00", "toward_deg": 50.0, "speed_ms": np.arange(40.0, 50.0)}
    )
    evening = pd.DataFrame(
        {"start": "2024-06-10 18:00+00:00", "toward_deg": 270.0, "speed_ms": np.arange(80.0, 88.0)}
    )
    still = pd.DataFrame({"start": ["2024-06-11 08:00+00:00"] * 5}).assign(verdict="cannot tell")
    moved = pd.concat([morning, evening]).assign(verdict="moving")
    return pd.concat([moved, still], ignore_index=True).assign(lon=0.0, lat=46.0)


@pytest.mark.parametrize("width", ["full", "column"])
def test_dots_are_the_moving_patches(width):
    """Direction and speed of each moving patch, forenoon and later apart, and no other."""
    picture = charts.drift_chart(patches(), width=width)
    morning, evening = (axes.get_lines()[0].get_xydata() for axes in picture.figure.axes)
    np.testing.assert_allclose(np.degrees(morning[:, 0]), 50)
    np.testing.assert_allclose(morning[:, 1], np.arange(40, 50))
    assert len(evening) >= 7  # the fastest 2 % may lie outside the circle
    assert "Before noon: 10\u00a0patches, most often to the north-east, median 44 m/s" in picture.alt
    assert "18 of 23 patches" in picture.caption


def test_north_is_one_eighth():
    """350 and 10 degrees are both north."""
    assert toward(pd.DataFrame({"toward_deg": [350.0, 10.0, 100.0]})) == "north"


def test_too_few_patches_are_words():
    """Five moving patches carry no median."""
    table = patches()
    assert not charts.drift_chart(table[table["verdict"] == "cannot tell"]).figure.axes
    assert not charts.drift_chart(table.iloc[:5]).figure.axes

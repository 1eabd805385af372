"""The calendar of a season: every half-hour in its column, days counted from the table of days."""

import numpy as np
import pandas as pd
import pytest
from matplotlib.collections import QuadMesh

from analysis.find.diary.calendar import STATES
from analysis.show import charts

SERIES = {"band": "6m", "mechanism": "ES"}


def half_hours(days=20):
    """Open at noon on every fourth day, closed in the hour after, quiet else; two days are missing."""
    start = pd.date_range("2024-06-01", periods=48 * days, freq="30min", tz="UTC")
    hour = np.arange(len(start)) % 48 / 2
    day = np.arange(len(start)) // 48
    state = np.select([(hour == 12) & (day % 4 == 0), (hour == 13) & (day % 4 == 0)], STATES[:2], "quiet")
    table = pd.DataFrame(
        {"start": start, "season": 2024, "season_day": day - 20, "hour": hour, "state": state}
    )
    return table[~np.isin(day, [6, 7])].reset_index(drop=True)


def days(*, opened=3):
    """Three opening days here, more in the region, one in another season."""
    keys = SERIES | {"path_type": "all"}
    rows = [{"scope": "here", "season": 2024, "open": k < opened} for k in range(9)]
    rows += [
        {"scope": "region", "season": 2024, "open": True},
        {"scope": "here", "season": 2023, "open": True},
    ]
    return pd.DataFrame(rows).assign(**keys)


@pytest.mark.parametrize("width", ["full", "column", "slide"])
def test_every_half_hour_has_its_place(width):
    picture = charts.calendar_chart(half_hours(), days(), **SERIES, width=width)
    mesh = next(one for one in picture.figure.axes[0].collections if isinstance(one, QuadMesh))
    cells = np.asarray(mesh.get_array()).reshape(48, 20)
    assert (cells[24, ::4] == STATES.index("open")).all()
    assert (cells[26, ::4] == STATES.index("closed")).all()
    assert (cells[:, 6:8] == STATES.index("unknown")).all()
    assert (cells == STATES.index("quiet")).sum() == 48 * 18 - 10
    assert "open here: 2 h" in picture.alt.replace("\u00a0", " ")


def test_days_are_those_of_the_table():
    title = charts.calendar_chart(half_hours(), days(), **SERIES).title.replace("\u00a0", " ")
    assert title == "Sporadic E on 6 m here in 2024: 3 opening days"


def test_nothing_known_is_said():
    picture = charts.calendar_chart(half_hours().iloc[:0], days(), **SERIES)
    assert "No calendar" in picture.title
    assert not picture.figure.axes

"""The season to plan for: dates in a row, seasons counted fairly, unheard stretches cut out."""

import pandas as pd

from analysis.fit.ahead.next_season import coming_season, heard_windows, season_dates, seasons_behind
from analysis.fit.model.harmonics import SEASON_DAYS
from tests.fit.make_days import day_table


def test_coming_season():
    """Past the solstice the next season is planned; before it this one; a stub of a winter counts for little."""
    days = day_table(seasons=2, first=2020)
    assert coming_season(days) == 2022
    assert coming_season(days[days["date"] < "2021-06-01"]) == 2021
    assert seasons_behind(days[days["date"] < "2021-01-01"]) == 1
    assert seasons_behind(days) == 2


def test_season_has_every_day_once():
    """365 dates in a row, the solstice in the middle."""
    for southern in (False, True):
        dates = season_dates(2027, southern=southern)
        assert dates.notna().all()
        assert (dates.diff().dropna() == pd.Timedelta(days=1)).all()


def heard(days, length=1):
    """Season days whose window is heard."""
    return set(SEASON_DAYS[heard_windows(days, length=length)])


def test_short_gaps_are_bridged_and_long_ones_cut():
    """Thirty days without listening are bridged, thirty-one are not, through the turn of the season too."""
    days = day_table(seasons=2)
    for first in (40, -182, 168):
        for n, cut in ((30, False), (31, True)):
            gap = (days["season_day"] - first) % 365 < n
            table = days.assign(monitored=~gap)
            missing = set(SEASON_DAYS) - heard(table)
            assert missing == ({(first + step + 182) % 365 - 182 for step in range(n)} if cut else set())


def test_one_season_is_enough_to_be_heard():
    """A part that only one season listened to counts; windows that reach into the unheard part do not."""
    days = day_table(seasons=2, first=2020)
    days["monitored"] = days["season_day"].between(-50, 0) | (
        (days["season"] == 2021) & days["season_day"].between(1, 50)
    )
    assert heard(days) == set(range(-50, 51))
    assert heard(days, length=10) == set(range(-50, 42))
    assert heard(days.assign(monitored=False)) == set()

"""Data that cannot carry a number get words, never a number and never a traceback."""

import pandas as pd
import pytest

from analysis.fit.assess import assess, days_heard, seasons_covered


def cells(*, days=60, open_days=50, hours_a_day=24, seasons=4, listening=3):
    """Half-hours of the middle of a few seasons; on an open day one half-hour has a detection."""
    rows = [
        (season, day, listening, int(half == 20 and day < open_days))
        for season in range(2020, 2020 + seasons)
        for day in range(days)
        for half in range(2 * hours_a_day)
    ]
    return pd.DataFrame(rows, columns=["season", "season_day", "n_listening", "n_detected"])


def test_plenty_of_listening_is_ok():
    """Four seasons of monitors with many opening days need no caution."""
    verdict = assess(cells(), tier="A")
    assert verdict.status == "ok"
    assert verdict.reason == ""


@pytest.mark.parametrize(
    ("case", "tier", "said"),
    [
        (cells(), "C", "contacts alone, and reports of the openings themselves"),
        (cells(listening=0), "A", "nobody is known to have listened"),
        (cells(days=6, seasons=1), "A", "somebody listened in only 288 half-hours"),
        (cells(open_days=0), "A", "nothing was heard in 11,520 half-hours in which somebody listened"),
        (cells(open_days=2), "A", "only 8 days with a report"),
        (cells().assign(n_detected=3), "A", "nearly every monitored half-hour"),
        (cells().iloc[:0], "A", "nobody is known to have listened"),
    ],
)
def test_refused_with_reason_and_help(case, tier, said):
    """Each kind of emptiness is named, with something that would help."""
    verdict = assess(case, tier=tier)
    assert verdict.status == "refuse"
    assert said in verdict.reasons[0]
    assert "What would help" in verdict.reason


@pytest.mark.parametrize(
    ("case", "tier", "said"),
    [
        (cells(), "B", "indicative"),
        (cells(open_days=5), "A", "only 20 days with a report"),
        (cells(seasons=1), "A", "one season"),
        (cells(seasons=3), "A", "only 3 seasons"),
    ],
)
def test_provisional_with_reason(case, tier, said):
    """Thin data may be fitted, and every caution is said."""
    verdict = assess(case, tier=tier)
    assert verdict.status == "provisional"
    assert any(said in reason for reason in verdict.reasons)


def test_days_heard_need_a_listener():
    """A detection while nobody is known to have listened opens no day; two on one day open one."""
    table = pd.DataFrame(
        {
            "season": 2020,
            "season_day": [0, 0, 1, 2],
            "n_listening": [3, 3, 0, 3],
            "n_detected": [1, 2, 1, 0],
        }
    )
    assert days_heard(table) == 1


def test_days_of_a_further_season_are_none_of_their_own():
    """Ten days of a season beside full ones are left out; a short only season stays."""
    season = pd.Series([2020] * 300 + [2021] * 250 + [2022] * 10)
    assert seasons_covered(season).tolist() == [2020, 2021]
    assert seasons_covered(season.tail(10)).tolist() == [2022]

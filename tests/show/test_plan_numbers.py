"""Numbers of one operator's plan: hours by the clock, windows of the plan in place of the review's."""

import pandas as pd

from analysis.show.wording import plan_numbers

HOURS = pd.DataFrame(
    {
        "band": "6m",
        "mechanism": "ES",
        "path_type": "all",
        "month": [6, 6, 7],
        "hour": [11, 19, 19],
        "chance": [0.10, 0.14, 0.08],
        "low": [0.08, 0.11, 0.06],
        "high": [0.13, 0.18, 0.11],
        "n_monitored": 900,
        "tier": "A",
        "verdict": "ok",
    }
)


def test_the_best_hour_is_one_of_the_clock():
    """The highest chance of the year, with its month and the zone it is told in."""
    found = plan_numbers.hour_numbers(HOURS, zone="Europe/Madrid")
    assert found["6m_es_best_hour"]["text"] == "19 to 20 h in June (Europe/Madrid)"
    assert found["6m_es_best_hour"]["unit"] == "civil hour"
    assert found["6m_es_best_hour_chance"]["text"].startswith("14")


def test_refused_hours_have_no_number():
    """Contacts only, or a refused series: no best hour."""
    for refused in (
        HOURS.assign(verdict="refuse"),
        HOURS.assign(tier="C"),
        HOURS.assign(chance=float("nan")),
    ):
        assert plan_numbers.hour_numbers(refused, zone="UTC") == {}


def test_the_review_hours_and_windows_are_replaced():
    """Solar hours, windows and other bands of the review do not stay; the rest does."""
    review = {
        name: {"text": name} for name in ("6m_es_best_hour", "6m_es_window", "6m_band", "2m_band", "home")
    }
    windows = pd.DataFrame(columns=["band", "mechanism", "direction", "chance"])
    found = plan_numbers.plan_numbers(review, windows=windows, hours=HOURS, zone="UTC")
    assert found["6m_es_best_hour"]["unit"] == "civil hour"
    assert "home" in found
    assert not {"6m_es_window", "2m_band"} & set(found)

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


def test_the_review_hours_and_windows_are_replaced():
    """Solar hours, windows and other bands of the review do not stay; the rest does."""
    review = {
        name: {"text": name}
        for name in ("6m_es_best_hour", "6m_es_clock", "6m_es_window", "6m_band", "2m_band", "home")
    }
    windows = pd.DataFrame(columns=["band", "mechanism", "direction", "chance"])
    found = plan_numbers.plan_numbers(review, windows=windows, hours=HOURS, zone="UTC")
    assert found["6m_es_clock"]["text"].endswith("UTC in June")
    assert found["6m_es_clock_chance"]["value"] == 0.14
    assert "home" in found
    assert not {"6m_es_best_hour", "6m_es_window", "2m_band"} & set(found)

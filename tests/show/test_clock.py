"""Hours by the clock in words."""

import pandas as pd
import pytest

from analysis.show.wording.clock import clock_numbers

ABOUT = {
    "band": "6m",
    "mechanism": "ES",
    "path_type": "all",
    "tier": "A",
    "verdict": "ok",
    "n_monitored": 900,
}


def hours(chances):
    """A June with these chances by hour; the rest of the day is shut, July is half as good."""
    june = pd.DataFrame({"hour": range(24), "month": 6}).assign(
        chance=lambda t: t["hour"].map(chances).fillna(0.0)
    )
    table = pd.concat([june, june.assign(month=7, chance=june["chance"] / 2)])
    return table.assign(low=table["chance"] * 0.8, high=table["chance"] * 1.2, **ABOUT)


@pytest.mark.parametrize(
    ("zone", "said"),
    [
        ("UTC", "9 to 12 h and 18 to 20 h UTC in June"),
        (
            "Europe/Madrid",
            "9 to 12 h and 18 to 20 h in June (7 to 10 h and 16 to 18 h UTC)",
        ),
        (
            "Pacific/Auckland",
            "9 to 12 h and 18 to 20 h in June (21 to 24 h and 6 to 8 h UTC)",
        ),
    ],
)
def test_a_morning_and_an_evening_in_both_times(zone, said):
    """The good hours of the best month, by the clock of the zone and in UTC, summer time heeded."""
    found = clock_numbers(hours({9: 0.1, 10: 0.12, 11: 0.1, 18: 0.11, 19: 0.1}), zone=zone)
    assert found["6m_es_clock"]["text"] == said
    assert found["6m_es_clock_chance"]["text"].startswith("12 %")


def test_refused_hours_are_not_told():
    """Contacts only: no hour, no chance."""
    assert set(clock_numbers(hours({9: 0.1}).assign(tier="C"), zone="UTC")) == {"zone"}

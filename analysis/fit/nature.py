"""What nature is like before a station's own data say so: how far seasons differ, and how one runs.

Values for sporadic E come from published hourly foEs series of five stations (26 to 45 degrees north,
28 to 32 years each; hours at or above 7 to 9.5 MHz count as open). `benchmarks/nature.py` measures
them on one further series. For tropo there is no such series, so its values are judgement.
"""

from __future__ import annotations

import numpy as np

# Spread of yearly opening days over that of independent days. ES: log opening days a year have an sd
# of .13 to .19 at the five stations, 1.4 to 2.1 times binomial. TR: judgement, from simulated weather;
# 3 instead of 3.5 would narrow a range for a next season by a tenth.
DAYS_SPREAD = {"ES": 1.6, "TR": 3.5}
# Sd of a season's log chance of an open half-hour beyond the luck of few openings. ES: .23 to .31 with
# that luck at the five stations. TR: judgement.
HOURS_SPREAD = {"ES": 0.23, "TR": 0.45}
# The usual course of a season of sporadic E, in three parts whose weights are fitted to the data: log chance
# by harmonics of the season day (cos, sin of one to eight waves a year). The first part is that of the
# published foEs maps (Leftin, Ostrow and Preston 1968) at 50 MHz over one hop, mean over 30, 40 and 50
# degrees north around the Earth, on a floor of .0008 below which the maps only extrapolate (judgement);
# the second how much deeper the quiet months fall on a floor of .00005; the third a winter season (a bump
# of sd 20 days on season day -167, judgement). `benchmarks.nature.usual_season` works them out again.
USUAL_SEASON = np.array(
    [
        [
            1.48,
            0.44,
            0.68,
            0.01,
            -0.02,
            -0.04,
            -0.09,
            -0.13,
            -0.04,
            -0.06,
            0.02,
            -0.01,
            0.02,
            0.03,
            0.02,
            0.03,
        ],
        [0.33, 0.24, 0.15, -0.12, -0.10, -0.02, -0.02, 0.0, 0.0, 0.01, 0.01, -0.01, -0.01, 0.0, 0.0, 0.01],
        [-0.25, -0.07, 0.19, 0.11, -0.11, -0.12, 0.05, 0.09, -0.01, -0.06, 0.0, 0.03, 0.0, -0.01, 0.0, 0.0],
    ]
)
PRIOR_SEASONS = 2  # weight of an assumed spread among the seasons seen; judgement


def log_days_spread(opening_days: np.ndarray, monitored_days: np.ndarray, *, mechanism: str) -> float:
    """Spread to assume between the log opening days of seasons like these (sd)."""
    days, share = _usual(opening_days, monitored_days)
    return float(DAYS_SPREAD[mechanism] * np.sqrt((1 - share) / (days * share)))


def log_odds_spread(opening_days: np.ndarray, monitored_days: np.ndarray, *, mechanism: str) -> float:
    """Spread to assume between the log odds of an opening day of seasons like these (sd)."""
    days, share = _usual(opening_days, monitored_days)
    return float(DAYS_SPREAD[mechanism] / np.sqrt(days * share * (1 - share)))


def _usual(opening_days: np.ndarray, monitored_days: np.ndarray) -> tuple[float, float]:
    """Mean days listened to in a season, and share of them that were open, never quite none or all; NaN without seasons."""
    days = float(np.mean(monitored_days)) if len(monitored_days) else np.nan
    return days, float((np.sum(opening_days) + 0.5) / (np.sum(monitored_days) + 1))

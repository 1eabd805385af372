"""Invented contacts as ADIF text."""

import numpy as np

from analysis.gather import locators


def record(**fields) -> str:
    """One record, lengths counted in characters."""
    return "".join(f"<{name}:{len(value)}>{value}" for name, value in fields.items()) + "<EOR>\n"


def contact(**fields) -> str:
    """One 6 m contact of Q1OWN in IN93 with everything a log needs, changed or extended by `fields`."""
    usual = {"CALL": "Q2AB", "QSO_DATE": "20240609", "TIME_ON": "1418", "BAND": "6m", "MODE": "SSB"}
    usual |= {"GRIDSQUARE": "JO22", "STATION_CALLSIGN": "Q1OWN", "MY_GRIDSQUARE": "IN93"}
    return record(**{name: value for name, value in (usual | fields).items() if value is not None})


def season_log(*, seed: int, n: int) -> str:
    """A log of `n` invented contacts."""
    rng = np.random.default_rng(seed)
    text = "invented\n<EOH>\n"
    for i in range(n):
        square = locators.encode(lat=float(rng.uniform(36, 60)), lon=float(rng.uniform(-10, 20)))
        text += contact(
            CALL=f"Q{rng.integers(10)}A{chr(65 + rng.integers(26))}{chr(65 + rng.integers(26))}{chr(65 + i % 26)}",
            QSO_DATE=f"2024{rng.integers(5, 9):02}{rng.integers(1, 31):02}",
            TIME_ON=f"{rng.integers(24):02}{rng.integers(60):02}",
            MODE=str(rng.choice(["SSB", "CW", "FT8"])),
            GRIDSQUARE=square,
            COMMENT="fünf Elemente",
        )
    return text

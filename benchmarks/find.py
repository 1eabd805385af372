"""Measured value beside each bar of the room `find`: `python -m benchmarks.find [replicates]`.

Openings, listening, share of open half-hours and drifting patches on seeded seasons with known truth
(`tests/find/simulate.py`), and the time of one series of eight seasons.
"""

from __future__ import annotations

import sys
import time

import numpy as np
import pandas as pd

from analysis.find import intervals
from analysis.find.cells import Clock, half_hours
from analysis.find.grouping.patches import find_patches
from analysis.find.listening import find_listening
from analysis.find.openings import find_openings
from tests.find import simulate
from tests.find.make import locals_every, together

RATES = {"rich, 20/h": 20.0, "normal, 4/h": 4.0, "sparse, 1.2/h": 1.2}
MIXES = {"80 % digital": 0.8, "40 % digital": 0.4, "voice and CW": 0.0}
DISCS = {
    "60 m/s, 150 km": {"speed_ms": 60},
    "60 m/s, 250 km": {"speed_ms": 60, "radius_km": 250.0},
    "100 m/s, 150 km": {"speed_ms": 100},
    "at rest, 150 km": {"speed_ms": 0},
}


def openings_table(replicates: int) -> pd.DataFrame:
    """Recall, precision, splits and hours by density of reports; the bars hold for rich data."""
    rows = {}
    for name, rate in RATES.items():
        found = []
        for seed in range(replicates):
            rng = np.random.default_rng(seed)
            truth = simulate.true_openings(rng)
            spots = simulate.opening_spots(rng, truth, per_hour=rate)
            table = find_openings(spots)[1]
            score = simulate.score(table[table["grade"] == "confirmed"], truth)
            found.append(score | {"gap_min": table["gap_min"].median()})
        rows[name] = pd.DataFrame(found).mean()
    rows["bar (rich)"] = {
        "recall": ">= .95",
        "precision": ">= .90",
        "split": "",
        "hours": ".8-1.1",
        "gap_min": "",
    }
    return pd.DataFrame(rows).T


def listening_table(replicates: int) -> pd.DataFrame:
    """Precision and recall of minutes by station and by region, and how far the open share is off."""
    rows = {}
    for name, digital in MIXES.items():
        found = []
        for seed in range(replicates):
            rng = np.random.default_rng(seed)
            truth = simulate.true_openings(rng, days=60)
            on = simulate.sessions(rng, truth)
            spots = simulate.heard_spots(rng, on, truth, digital=digital)
            listening = find_listening(spots)
            said = simulate.told(listening, on)
            hit, any_said, any_on = said & on, said.any(axis=0), on.any(axis=0)
            found.append(
                {
                    "station precision": hit.sum() / said.sum(),
                    "station recall": hit.sum() / on.sum(),
                    "region precision": (any_said & any_on).sum() / any_said.sum(),
                    "region recall": (any_said & any_on).sum() / any_on.sum(),
                    "open share / truth": share(spots, listening) / share(spots, simulate.as_listening(on)),
                }
            )
        rows[name] = pd.DataFrame(found).mean()
    return pd.DataFrame(rows).T


def share(spots: pd.DataFrame, listening: pd.DataFrame) -> float:
    """Share of monitored half-hours with a detection."""
    cells = half_hours(spots, listening, band="6m", mechanism="ES", monitors_only=False)
    return (cells.loc[cells["n_listening"] > 0, "n_detected"] > 0).mean()


def patches_table(replicates: int) -> pd.DataFrame:
    """Drift of known discs: median speed, coverage of the 90 % intervals, share called moving."""
    rows = {}
    for name, disc in DISCS.items():
        found = [
            find_patches(simulate.drifting_patch(np.random.default_rng(n), **disc)) for n in range(replicates)
        ]
        best = pd.DataFrame([one.sort_values("n_spots").iloc[-1] for one in found if len(one)])
        known, moving = best[best["speed_high"].notna()], best[best["verdict"] == "moving"]
        width = (moving["toward_high"] - moving["toward_low"]) % 360
        rows[name] = {
            "judged": len(known),
            "called moving": len(moving),
            "median m/s": moving["speed_ms"].median(),
            "speed covered": known["speed_low"]
            .le(disc["speed_ms"])
            .mul(known["speed_high"].ge(disc["speed_ms"]))
            .mean(),
            "bearing covered": ((290 - moving["toward_low"]) % 360 <= width).mean()
            if disc["speed_ms"]
            else np.nan,
            "median km": known["radius_km"].median(),
        }
    return pd.DataFrame(rows).T


def speed() -> pd.DataFrame:
    """Seconds for 8 seasons with 400 000 reports."""
    rng = np.random.default_rng(1)
    start, days = "2018-01-01", 8 * 365
    monitors = [locals_every(45, start=start, days=days, station=f"Q{n}RX") for n in range(4)]
    openings = 5000
    begin = rng.uniform(0, days * 1440, openings)
    minute = np.repeat(begin, 6) + rng.uniform(0, 60, openings * 6)
    heard = pd.DataFrame({"time": intervals.times(25_246_080.0 + minute), "mechanism": "ES"})
    heard["rx_call"] = rng.choice([f"Q{n}RX" for n in range(20)], len(heard))
    heard["tx_call"] = rng.choice([f"Q{n}TX" for n in range(200)], len(heard))
    spots = together(*monitors, heard)
    seconds, listening = {}, find_listening(spots)
    for name, job in {
        "find_listening": lambda: find_listening(spots),
        "find_openings": lambda: find_openings(spots, listening=listening),
        "half_hours, solar": lambda: half_hours(spots, listening, band="6m", mechanism="ES"),
        "half_hours, sun": lambda: half_hours(
            spots, listening, band="6m", mechanism="ES", clock=Clock(axis="sun")
        ),
    }.items():
        began = time.perf_counter()
        job()
        seconds[name] = time.perf_counter() - began
    table = pd.DataFrame({"s": seconds})
    return table.assign(bar=["", "", "< 2 s", "< 2 s"], rows=len(spots))


def main(replicates: int) -> None:
    """Print every table."""
    pd.set_option("display.width", 160, "display.precision", 3)
    for title, table in (
        (f"Openings, confirmed, default gap ({replicates} seasons)", openings_table(replicates)),
        (f"Listening from background receptions ({replicates} seasons)", listening_table(replicates)),
        (f"Drifting patches (up to {10 * replicates} discs, 90 % intervals)", patches_table(10 * replicates)),
        ("Time, 8 seasons", speed()),
    ):
        print(f"\n{title}\n{table.to_string()}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10)

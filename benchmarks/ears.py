"""Who counts as listening, measured: `python -m benchmarks.ears [replicates]`.

Opening days and the hour curve's shape with monitors alone and with everybody, where few or weak
monitors stand among many stations; and who is taken for a monitor. Seeds from 200; the rules were chosen
on seeds 1 and 2.
"""

from __future__ import annotations

import sys

import numpy as np
import pandas as pd

from analysis.find import intervals
from analysis.find.cells import Clock, half_hours
from analysis.find.listening import find_listening, monitors_suffice, whole_days
from analysis.find.proof import monitors
from tests.find import simulate

# stations, monitors among them, share of the openings' reports that a monitor hears, days, openings a day
CASES = {
    "60 stations, 2 weak monitors": (60, 2, 0.02, 120, 1.6),
    "20 stations, 2 weak monitors": (20, 2, 0.02, 120, 1.6),
    "20 stations, 1 monitor, rare openings": (20, 1, 0.3, 120, 0.25),
    "20 stations, 3 good monitors": (20, 3, 1.0, 120, 1.6),
}
NIGHTS = {"4 receivers, .35 an hour at night": 0.35, "4 receivers, 1 an hour at night": 1.0}
PART_TIME = {"12 part-timers, a fifth": 0.2, "12 part-timers, half": 0.5}


def days_table(replicates: int) -> pd.DataFrame:
    """Opening days counted of those that were, and the hour curve's error, by who is counted."""
    rows = {}
    for name, (stations, always, share, days, per_day) in CASES.items():
        found = []
        for seed in range(200, 200 + replicates):
            rng = np.random.default_rng(seed)
            truth = simulate.true_openings(rng, days=days, per_day=per_day)
            on = simulate.sessions(rng, truth, stations=stations, days=days, monitors=always)
            spots = simulate.heard_spots(rng, on, truth, digital=0.6)
            weak = spots["rx_call"].isin([f"Q{n}RX" for n in range(always)]) & (spots["mechanism"] == "ES")
            spots = spots[~weak | (rng.random(len(spots)) < share)].reset_index(drop=True)
            listening = find_listening(spots)
            mine = spots[spots["mechanism"] == "ES"]
            score = {"monitors suffice": monitors_suffice(mine, listening, band="6m")}
            for who, only in (("monitors", True), ("default", None)):
                cells = half_hours(
                    spots,
                    listening,
                    band="6m",
                    mechanism="ES",
                    clock=Clock(lon=0.0, lat=47.0),
                    monitors_only=only,
                )
                score |= {f"{key}, {who}": value for key, value in _against(cells, truth, days).items()}
            found.append(score)
        rows[name] = pd.DataFrame(found).mean()
    return pd.DataFrame(rows).T


def _against(cells: pd.DataFrame, truth: np.ndarray, days: int) -> dict[str, float]:
    """Days with a detection of the days with an opening, and the error of the share open by hour of the day."""
    zero = intervals.minutes(pd.Series([simulate.FIRST]))[0]
    half = np.zeros(days * 48)
    for start, end in truth:
        half[max(int(start // 30), 0) : int(end // 30) + 1] = 1
    seen = cells[cells["n_listening"] > 0]
    place = ((intervals.minutes(seen["start"]) - zero) // 30).astype(int)
    seen, place = seen[(place >= 0) & (place < len(half))], place[(place >= 0) & (place < len(half))]
    detected = (seen["n_detected"] > 0).to_numpy()
    true_days = np.unique(np.flatnonzero(half) // 48)
    hours = [np.bincount(place % 48 // 2, weights=w, minlength=24) for w in (detected, np.ones(len(place)))]
    curve = hours[0] / np.maximum(hours[1], 1)
    true = half.reshape(days, 24, 2).mean(axis=(0, 2))
    shape = np.abs(curve / max(curve.sum(), 1e-9) - true / true.sum()).sum()
    return {"days": np.isin(true_days, place[detected] // 48).mean(), "shape error": shape}


def monitors_table(replicates: int) -> pd.DataFrame:
    """Stations taken for monitors: by listening spans that add up, and by what they do through the night."""
    rows = {}
    for name, rate in {**NIGHTS, **PART_TIME}.items():
        found = []
        for seed in range(200, 200 + replicates):
            points = always_on(seed, rate) if name in NIGHTS else part_time(seed, rate)
            spans = intervals.spans(points, gap_min=60, pad_min=10)
            found.append(
                {
                    "spans that add up": whole_days(spans)["station"].nunique(),
                    "through the night": monitors.runs(points)["station"].nunique(),
                }
            )
        rows[name] = pd.DataFrame(found).mean()
    return pd.DataFrame(rows).T


def always_on(seed: int, rate: float, *, days: int = 90) -> pd.DataFrame:
    """Receptions of four receivers, five an hour by day, `rate` an hour from 22 to 7."""
    rng = np.random.default_rng(seed)
    hour = np.arange(days * 24)
    mean = np.where((hour % 24 >= 7) & (hour % 24 < 22), 5.0, rate)
    parts = [np.repeat(hour, rng.poisson(mean)) for _ in range(4)]
    return _points([60 * (part + rng.random(len(part))) for part in parts])


def part_time(seed: int, share: float, *, days: int = 90) -> pd.DataFrame:
    """Receptions of twelve people who are on in each half-hour by chance, one or four of them then."""
    rng = np.random.default_rng(seed)
    parts = []
    for _ in range(12):
        on = np.flatnonzero(rng.random(days * 48) < share)
        at = np.repeat(on, rng.poisson(rng.choice([1.0, 4.0], len(on))))
        parts.append(30 * (at + rng.random(len(at))))
    return _points(parts)


def _points(parts: list[np.ndarray]) -> pd.DataFrame:
    minute = np.concatenate(parts)
    station = np.repeat([f"Q{n}RX" for n in range(len(parts))], [len(part) for part in parts])
    time = simulate.FIRST + pd.to_timedelta(minute, unit="min")
    return pd.DataFrame({"station": station, "band": "6m", "time": time})


def main(replicates: int) -> None:
    """Print both tables."""
    pd.set_option("display.width", 200, "display.precision", 2)
    print(monitors_table(replicates).to_string())
    print(days_table(replicates).to_string())


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 4)

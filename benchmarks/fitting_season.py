"""Seeded years that hold every mechanism in shares, densities and habits drawn anew each time.

The likelihood tables are fitted to these (`python -m benchmarks.likelihoods`). The events come from the
seasons of `tests/tag`; what people report of them is thinned, loses its SNR or changes its mode by
chance, so that no one density or habit is learnt. Ordinary scatter between the same pairs on any day
and aircraft on 2 m are added here.
"""

import numpy as np
import pandas as pd

from analysis.physics import scatter
from tests.tag import mixed_season as plain
from tests.tag import rare_season as rare


def fitting_season(*, seed):
    """Spot table of a year and the true mechanism of each row."""
    rng = np.random.default_rng(seed)
    world = rng.random() < 0.5
    stations, pairs = rare._network(rng) if world else _neighbourhood(rng)
    near = pairs[pairs["distance_km"] < 2500]
    parts = [_shifted(part, block) for block in range(3) for part in _everyday(rng, near, summer=block == 0)]
    if world:
        parts += [rare._aurora(rng, stations, near), rare._f2(rng, pairs)]
        parts += [rare._tep(rng, stations, pairs), rare._far_e(rng, pairs)]
    rows = pd.concat(parts, ignore_index=True)
    rows = rows[rows["minute"].between(0, rare.YEAR_MIN - 1)]
    rows = rows[~(rows["snr_db"] < rows["mode"].map(plain.THRESHOLD_DB))]
    kept = rng.choice([0.8, 0.4, 0.2, 0.1])
    rows = rows[rng.random(len(rows)) < kept].sort_values("minute", ignore_index=True)
    no_snr = (rng.random(len(rows)) < rng.choice([0.0, 0.5])) | ~rows["mode"].isin(["FT8", "MSK144"])
    rows.loc[no_snr, "snr_db"] = np.nan
    return plain._as_table(rows, stations), rows["truth"].to_numpy()


def _neighbourhood(rng):
    """Some 60 stations of a large region, or of a quarter of it, where they stand in each other's sky."""
    stations, pairs = plain._network(rng, 220)
    size = rng.choice([1.0, 0.5, 0.35])
    inside = (abs(stations["lon"] - 4.5) < 13.5 * size) & (abs(stations["lat"] - 47) < 10 * size)
    kept = rng.permutation(np.flatnonzero(inside))[: int(rng.integers(40, 90))]
    both = pairs["tx"].isin(kept) & pairs["rx"].isin(kept)
    return stations, pairs[both].reset_index(drop=True)


def _everyday(rng, near, *, summer):
    """The common mechanisms of 140 days, each a random share of what the seasons of the tests hold."""
    parts = [
        plain._tropo(rng, near),
        plain._troposcatter(rng, near),
        plain._local(rng, near),
        plain._meteors(rng, near, as_ft8=rng.uniform(0.3, 0.7)),
    ]
    if summer:
        parts.append(plain._sporadic_e(rng, near))
    parts[3] = _when_people_are_on(rng, parts[3])
    parts = [part[rng.random(len(part)) < rng.uniform(0.3, 1.0)] for part in parts]
    return [*parts, _standing_scatter(rng, near), _aircraft(rng, near)]


def _shifted(part, block):
    return part.assign(minute=part["minute"] + block * plain.DAYS * 1440)


def _when_people_are_on(rng, rows):
    """Half of the reports moved to an hour of their day at which most people are on."""
    moved = (rows["minute"] // 1440 + rng.normal(17, 4, len(rows)) / 24) * 1440
    return rows.assign(minute=rows["minute"].where(rng.random(len(rows)) < 0.5, moved))


def _standing_scatter(rng, pairs):
    """Pairs of good stations that hear each other over 150 to 450 km on most days, when both are on."""
    reach = pairs[pairs["distance_km"].between(150, rng.uniform(300, 500))]
    quiet = rng.random() < 0.5  # a region that has little else on most days, or one that never sleeps
    share, rate, often, lasting = (0.1, 1.5, 0.3, 50) if quiet else (0.3, rng.choice([2, 8]), 0.6, 120)
    chosen = reach[rng.random(len(reach)) < share].reset_index(drop=True)
    parts = []
    for _ in range(plain.DAYS):
        on = chosen[rng.random(len(chosen)) < often]
        begin = (rng.normal(17, 4, len(on)) * 60).round()
        rows = on.loc[on.index.repeat(rng.poisson(rate, len(on)))]
        start = pd.Series(begin, index=on.index).reindex(rows.index)
        day = 1440 * len(parts)
        parts.append(rows.assign(minute=day + start + rng.exponential(lasting, len(rows))))
    rows = pd.concat(parts, ignore_index=True)
    return rows.assign(
        band=rng.choice(["2m", "6m"], size=len(rows), p=[0.8, 0.2]),
        mode=plain._mode(rng, len(rows)),
        snr_db=2 - 0.035 * rows["distance_km"] + rng.normal(0, 5, len(rows)),
        truth="TR",
    )


def _aircraft(rng, pairs):
    """Passages of one to six minutes, by day more than by night, sometimes followed by the next aircraft."""
    reach = pairs[pairs["distance_km"].between(220, float(scatter.aircraft_reach(11.0)))]
    parts = []
    for _ in range(int(rng.choice([40, 150, 400]))):
        centre = reach.iloc[rng.integers(0, len(reach))]
        off = plain._km_from((centre["mid_lon"], centre["mid_lat"]), reach)
        under = reach[(off < rng.uniform(20, 60)) & (rng.random(len(reach)) < 0.6)]
        # They pass all day, and are noticed when people are on.
        hour = rng.choice([rng.normal(17, 4), rng.uniform(5, 22), rng.uniform(-2, 5)], p=[0.6, 0.32, 0.08])
        minute = rng.integers(0, plain.DAYS) * 1440 + 60 * rare._utc_hour(hour, centre["mid_lon"])
        band = rng.choice(["2m", "70cm", "6m"], p=[0.85, 0.1, 0.05])
        for follower in range(rng.geometric(0.75)):
            rows = plain._times(
                rng, minute + 35 * follower, rng.uniform(1, 6), under, rng.choice([6, 20, 50])
            )
            parts.append(rows.assign(band=band))
    rows = pd.concat(parts, ignore_index=True)
    return rows.assign(mode=plain._mode(rng, len(rows)), snr_db=rng.normal(-11, 6, len(rows)), truth="AS")

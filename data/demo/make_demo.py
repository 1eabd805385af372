"""Make the demo season set again: `python data/demo/make_demo.py [FOLDER]`, about a minute.

The same seed and the same versions of NumPy and pandas give the same bytes. Columns, licence and true answers:
README.md beside this file.
"""

from __future__ import annotations

import sys
from pathlib import Path

import files
import numpy as np
import pandas as pd
import people
import reports
import sky

SEED = 50144
SEASONS = range(2020, 2026)
CURVE_YEARS = 600


def covered_days(season: int, *, quick: bool = False) -> pd.DatetimeIndex:
    """Days on which somebody kept the collection running: a thin winter, then spring to early autumn."""
    if quick:
        return pd.date_range(f"{season}-06-10", f"{season}-06-16", tz="UTC")
    winter = pd.date_range(f"{season - 1}-12-22", f"{season}-01-20", tz="UTC")
    return winter.append(pd.date_range(f"{season}-03-15", f"{season}-10-05", tz="UTC"))


def one_season(
    table: pd.DataFrame,
    paths: pd.DataFrame,
    *,
    season: int,
    effects: dict,
    seed: list[int],
    quick: bool = False,
) -> dict[str, pd.DataFrame]:
    """Everything that happened in one season: `received`, `openings`, `half_hours`."""
    # Sky and people draw from separate streams: a change of habits leaves the truth as it was.
    sky_rng, people_rng = (np.random.default_rng([*seed, season, part]) for part in (1, 2))
    days = covered_days(season, quick=quick)
    slots = pd.DatetimeIndex(np.repeat(days, sky.PER_DAY)) + pd.to_timedelta(
        np.tile(np.arange(sky.PER_DAY), len(days)) * sky.SLOT_MIN, unit="min"
    )
    openings = sky.es_openings(days, sky_rng, year_effect=effects["es"], shift=effects["shift"])
    active_es = sky.es_active(openings, slots)
    excess = sky.tropo_excess(slots, sky_rng, year_effects=(effects["land"], effects["sea"]))
    opened = sky.open_slots(active_es, excess, n_slots=len(slots))
    ducts = opened["land2"] | opened["sea2"]
    tempting = np.stack([opened["es6"], 0.5 * ducts + 5 * opened["es2"]]).astype(float)
    active, digital = people.on_the_air(table, slots, people_rng, season=season, tempting=tempting)
    on = {"active": active, "digital": digital}
    heard = _all_reports(paths, table, slots, active_es, excess, people_rng, **on)
    received = reports.as_received(heard, table, slots, people_rng, digital=digital)
    lost = pd.Series(people.feed_outages(len(slots), people_rng), index=slots)
    received["lost"] = lost.reindex(received["time"].dt.floor("10min")).to_numpy()
    return {
        "received": received,
        "openings": openings[openings["start"] < slots[-1]],
        "half_hours": sky.half_hours(slots, opened),
        "outages": lost[lost].index.to_frame(name="time"),
    }


def _all_reports(paths, table, slots, active_es, excess, rng, *, active, digital) -> pd.DataFrame:
    on = {"active": active, "digital": digital}
    always = np.ones(len(slots))
    near, middling = paths[paths["km"] < reports.LOCAL_KM], paths[paths["km"].between(300, 800)]
    far = paths[paths["km"].between(500, 2200)]
    flights = (slots.hour.to_numpy() >= 6) & (slots.hour.to_numpy() < 22)
    pieces = [
        reports.es_reports(paths, table, active_es, rng, **on),
        reports.tropo_reports(paths, table, excess, rng, **on),
        reports.keep_alives(paths, table, rng, **on),
    ]
    for band in (0, 1):
        here = {**on, "band": band}
        pieces += [
            reports.sprinkled(near, table, rng, mechanism="LOS", rate=0.02, when=always, **here),
            reports.sprinkled(
                far, table, rng, mechanism="MS", rate=2e-4, when=reports.meteor_weight(slots), **here
            ),
        ]
    pieces.append(
        reports.sprinkled(middling, table, rng, band=1, mechanism="AS", rate=1e-4, when=1.0 * flights, **on)
    )
    return pd.concat(pieces, ignore_index=True)


def make(
    folder: Path, *, seasons=SEASONS, seed: int = SEED, curve_years: int = CURVE_YEARS, quick: bool = False
) -> None:
    """Write the whole set into `folder`; `quick` takes one week of each season, for tests."""
    climate = np.random.default_rng([seed, 0])
    n = len(seasons)
    effects = {
        name: sky.typical_effects(climate, n, sd=sd)
        for name, sd in (("es", 0.15), ("shift", 5.0), ("land", 0.15), ("sea", 0.15))
    }
    table = people.sites(np.random.default_rng([seed, 1]))
    paths = reports.paths_between(table)
    made = []
    for number, season in enumerate(seasons):
        this_year = {name: float(values[number]) for name, values in effects.items()}
        made.append(one_season(table, paths, season=season, effects=this_year, seed=[seed], quick=quick))
        print(f"{season}: {len(made[-1]['received'])} reports, {len(made[-1]['openings'])} openings")
    whole = {name: pd.concat([part[name] for part in made], ignore_index=True) for name in made[0]}
    curves = sky.true_curves(np.random.default_rng([seed, 2]), n_years=curve_years)
    files.write_all(folder, table, whole, curves, rng=np.random.default_rng([seed, 3]))


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)

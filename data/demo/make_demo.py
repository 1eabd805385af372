"""Make the demo season set again: `python data/demo/make_demo.py [FOLDER]`, about a minute.

The same seed and the same versions of NumPy and pandas give the same bytes. Columns, licence and true answers:
README.md beside this file.
"""

from __future__ import annotations

import sys
from pathlib import Path

import brought
import files
import fm
import numpy as np
import pandas as pd
import people
import reports
import sky

SEED = 50144
SEASONS = range(2020, 2026)
CURVE_YEARS = 600


def covered_days(season: int) -> pd.DatetimeIndex:
    """Days on which somebody kept the collection running: a thin winter, then March to October."""
    # Before 22 December it would be the season of the year before, of which nothing else is kept.
    first = 22 if season == SEASONS[0] else 15
    winter = pd.date_range(f"{season - 1}-12-{first}", f"{season}-01-31", tz="UTC")
    return winter.append(pd.date_range(f"{season}-03-01", f"{season}-10-31", tz="UTC"))


def the_sky(days: pd.DatetimeIndex, rng: np.random.Generator, *, effects: dict) -> dict:
    """What the bands did on these days, whoever was there: `slots openings active_es excess opened`."""
    slots = pd.DatetimeIndex(np.repeat(days, sky.PER_DAY)) + pd.to_timedelta(
        np.tile(np.arange(sky.PER_DAY), len(days)) * sky.SLOT_MIN, unit="min"
    )
    openings = sky.es_openings(days, rng, year_effect=effects["es"], shift=effects["shift"])
    active_es = sky.es_active(openings, slots)
    excess = sky.tropo_excess(slots, rng, year_effects=(effects["land"], effects["sea"]))
    return {
        "slots": slots,
        "openings": openings,
        "active_es": active_es,
        "excess": excess,
        "opened": sky.open_slots(active_es, excess, n_slots=len(slots)),
    }


def year_effects(seed: int, *, n_seasons: int) -> list[dict[str, float]]:
    """How good each season is, by mechanism, and how early (`shift`, days)."""
    climate = np.random.default_rng([seed, 0])
    spreads = {"es": 0.15, "shift": 5.0, "land": 0.15, "sea": 0.15}
    drawn = {name: sky.typical_effects(climate, n_seasons, sd=sd) for name, sd in spreads.items()}
    return [{name: float(values[number]) for name, values in drawn.items()} for number in range(n_seasons)]


def one_season(
    table: pd.DataFrame,
    paths: pd.DataFrame,
    *,
    season: int,
    days: pd.DatetimeIndex,
    effects: dict,
    seed: int,
) -> dict[str, pd.DataFrame]:
    """Everything that happened in one season: `received openings half_hours declared`, and the FM notes."""
    # Sky and people draw from separate streams: a change of habits leaves the truth as it was.
    sky_rng, people_rng, fm_rng = (np.random.default_rng([seed, season, part]) for part in (1, 2, 3))
    above = the_sky(days, sky_rng, effects=effects)
    slots, opened = above["slots"], above["opened"]
    ducts = opened["land2"] | opened["sea2"]
    tempting = np.stack([opened["es6"], 0.5 * ducts + 5 * opened["es2"]]).astype(float)
    active, digital = people.on_the_air(table, slots, people_rng, season=season, tempting=tempting)
    on = {"active": active, "digital": digital}
    heard = _all_reports(paths, table, slots, above["active_es"], above["excess"], people_rng, **on)
    received = reports.as_received(heard, table, slots, people_rng, digital=digital)
    lost = pd.Series(people.feed_outages(len(slots), people_rng), index=slots)
    received["lost"] = lost.reindex(received["time"].dt.floor("10min")).to_numpy()
    return {
        "received": received,
        "openings": above["openings"][above["openings"]["start"] < slots[-1]],
        "half_hours": sky.half_hours(slots, opened),
        "declared": people.declared(table, slots, people_rng, active=active),
        **{f"fm_{name}": part for name, part in fm.one_season(above, fm_rng).items()},
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
    folder: Path,
    *,
    seasons=SEASONS,
    seed: int = SEED,
    curve_years: int = CURVE_YEARS,
    days_of=covered_days,
) -> None:
    """Write the whole set into `folder`; `days_of` gives the days that a season covers."""
    table = people.sites(np.random.default_rng([seed, 1]))
    paths = reports.paths_between(table)
    made = []
    for season, effects in zip(seasons, year_effects(seed, n_seasons=len(seasons)), strict=True):
        made.append(one_season(table, paths, season=season, days=days_of(season), effects=effects, seed=seed))
        print(f"{season}: {len(made[-1]['received'])} reports, {len(made[-1]['openings'])} openings")
    whole = {name: pd.concat([part[name] for part in made], ignore_index=True) for name in made[0]}
    curves = sky.true_curves(np.random.default_rng([seed, 2]), n_years=curve_years)
    files.write_all(folder, table, whole, curves, rng=np.random.default_rng([seed, 3]))
    brought.write(folder, whole["half_hours"], rng=np.random.default_rng([seed, 5]))


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)

"""A second world with known truth, written without a look at the fits: other places, other listeners.

Days are good or bad by a chain of weather, good days have one to three openings of gamma-distributed
length around triangular favourite hours, seasons rise and fall as a triangle, years are drawn from a
gamma distribution. Nothing of it has the form of a fitted model, nor of `simulate`.

    world = other_world(lat=-35, lon=150, years=3, seed=1)
    world.cells   half-hour cells of DEVELOPERS.md
    world.open    truth, one value per row of the cells
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.tag.sun import season_of, solar_hour, sun_hours

FIRST = "2012-01-01"
HOURS = ((8.0, 10.0, 13.5), (16.0, 19.0, 21.5))  # first, favourite and last hour of openings


@dataclass(frozen=True)
class World:
    """What `other_world` returns; the module's docstring lists the parts."""

    cells: pd.DataFrame
    open: np.ndarray


def other_world(
    *,
    lat: float = 50.0,
    lon: float = 10.0,
    years: int = 4,
    seed: int,
    axis: str = "solar",
    good: float = 0.45,
    receivers: int = 2,
    on_air: tuple[float, float] = (0.0, 24.0),
    false: float = 1e-4,
    outage: tuple[str, str] | None = None,
    leaves: str | None = None,
    first: str = FIRST,
) -> World:
    """So many years of a series as receivers saw it.

    Parameters
    ----------
    good : float
        Share of good days at the height of the season; 0 is never open, 1 is always open.
    on_air : tuple of float
        Solar hours between which receivers run.
    false : float
        Chance of a false report per receiver and ten-minute slot.
    outage : tuple of str
        First and last day on which no receiver ran.
    leaves : str
        Day from which one receiver fewer runs.
    """
    rng = np.random.default_rng(seed)
    start = pd.Timestamp(first, tz="UTC")
    starts = pd.date_range(start, start + pd.DateOffset(years=years), freq="30min", inclusive="left")
    cells = _calendar(pd.Series(starts.as_unit("us")), lat=lat, lon=lon, axis=axis)
    solar = solar_hour(cells["start"] + pd.Timedelta(minutes=15), lon=lon)
    opened = np.ones(len(cells), bool) if good >= 1 else _open(cells, lon, good, rng)
    running = np.repeat(rng.random((len(cells) // 48, receivers)) < 0.93, 48, axis=0)
    running &= ((solar >= on_air[0]) & (solar < on_air[1]))[:, None]
    day = cells["start"].dt.strftime("%Y-%m-%d").to_numpy(dtype=str)
    if outage:
        running[(day >= outage[0]) & (day <= outage[1])] = False
    if leaves:
        running[day >= leaves, -1] = False
    # How well each receiver hears changes from day to day.
    ear = np.repeat(rng.beta(4, 3, (len(cells) // 48, receivers)), 48, axis=0)
    heard = rng.binomial(3 * running, np.where(opened[:, None], ear, false))
    cells = cells.assign(n_listening=3 * running.sum(axis=1), n_detected=heard.sum(axis=1))
    return World(cells, opened)


def _calendar(starts: pd.Series, *, lat: float, lon: float, axis: str) -> pd.DataFrame:
    middle = starts + pd.Timedelta(minutes=15)
    hour = solar_hour(middle, lon=lon) if axis == "solar" else sun_hours(middle, lon=lon, lat=lat)
    cells = season_of(middle, lat=lat).astype("int64").assign(start=starts, hour=np.asarray(hour) % 24)
    return cells.assign(block=cells["season_day"] // 5)


def _open(cells: pd.DataFrame, lon: float, good: float, rng: np.random.Generator) -> np.ndarray:
    """Whether each half-hour is open."""
    days = cells.iloc[::48]
    seasons, which = np.unique(days["season"], return_inverse=True)
    shape = np.maximum(1 - np.abs(days["season_day"].to_numpy() - 4) / 75, 0) + 0.04
    chance = np.clip(good * shape * rng.gamma(8, 1 / 8, len(seasons))[which], 0, 0.97)
    weather, mood = np.zeros(len(days), bool), rng.random(len(days))
    for number in range(len(days)):  # a good day makes the next one half as likely again
        before = number > 0 and weather[number - 1]
        weather[number] = mood[number] < chance[number] * (1.25 if before else 0.85)
    day = np.repeat(np.flatnonzero(weather), rng.integers(1, 4, weather.sum()))
    late = rng.random(len(day)) < 0.4
    centre = np.where(late, rng.triangular(*HOURS[1], len(day)), rng.triangular(*HOURS[0], len(day)))
    half = rng.gamma(2.0, 0.7, len(day)) / 2
    edges = np.zeros(len(cells) + 1, int)
    for sign, at in ((1, centre - half), (-1, centre + half)):
        np.add.at(edges, np.clip(np.rint(day * 48 + 2 * (at - lon / 15)), 0, len(cells)).astype(int), sign)
    return np.cumsum(edges[:-1]) > 0

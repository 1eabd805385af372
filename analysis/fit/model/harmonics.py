"""Smooth daily and yearly cycles: sines and cosines of the hour, the season day, and their products."""

from __future__ import annotations

import numpy as np

DAYS = 365.25  # definition
HARMONICS = (3, 4, 1, 1)  # of the hour, of the season day, and how many of each enter the products
SEASONS_FOR_FOUR = 5  # judgement: fewer have their own weather drawn as if it came every year
HALF_HOURS = np.arange(48) / 2 + 0.25  # definition
SEASON_DAYS = np.arange(-182, 183)  # definition


def cycle(x: np.ndarray, *, period: float, order: int) -> np.ndarray:
    """Columns cos, sin of each harmonic up to `order`, one row per x."""
    angle = 2 * np.pi * np.outer(np.asarray(x, dtype=float), np.arange(1, order + 1)) / period
    return np.stack([np.cos(angle), np.sin(angle)], axis=2).reshape(len(angle), 2 * order)


def design(hour: np.ndarray, season_day: np.ndarray, *, harmonics: tuple = HARMONICS) -> np.ndarray:
    """Design matrix of a daily and yearly cycle.

    Parameters
    ----------
    hour : array
        Hours on the series' axis, [0, 24).
    season_day : array of the same length
        Days from the summer solstice.
    harmonics : tuple of four int
        Orders of the hour and of the season day, then how many of each are multiplied together, so
        that the daily cycle may change through the season.

    Returns
    -------
    array
        One row per element; the first column is the intercept.
    """
    daily = cycle(hour, period=24, order=harmonics[0])
    yearly = cycle(season_day, period=DAYS, order=harmonics[1])
    both = daily[:, : 2 * harmonics[2], None] * yearly[:, None, : 2 * harmonics[3]]
    return np.column_stack([np.ones(len(daily)), daily, yearly, both.reshape(len(daily), -1)])


def penalty(*, harmonics: tuple = HARMONICS, smooth: float) -> np.ndarray:
    """Ridge weight of each column of `design`: fast wiggles are held down more than slow ones."""
    daily, yearly = (np.repeat(np.arange(1, order + 1), 2) for order in harmonics[:2])
    both = np.outer(daily[: 2 * harmonics[2]], yearly[: 2 * harmonics[3]]).ravel()
    return smooth * 0.05 * np.concatenate([[0], daily, yearly, both]).astype(float) ** 2


def supported(harmonics: tuple, *, opening_days: int, seasons: int) -> tuple:
    """Orders that the data can carry.

    Two below 40 opening days, one below 20, products from 40 up; more than three waves a year only with
    `SEASONS_FOR_FOUR` seasons, since fewer would have their own weather drawn as if it came every year.
    """
    yearly = 3 if seasons < SEASONS_FOR_FOUR else max(harmonics)
    full = (*harmonics[:1], yearly, *harmonics[2:])
    limit = (1, 1, 0, 0) if opening_days < 20 else (2, 2, 0, 0) if opening_days < 40 else full
    return tuple(min(pair) for pair in zip(harmonics, limit, strict=True))

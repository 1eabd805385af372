"""Half-hours of the paths to one square: when somebody at both ends was on, and when they heard each other."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.find.on_air import watch
from analysis.find.watched import seen_paths, watched_paths
from analysis.gather.locators import clean, place
from analysis.gather.problems import InputError
from analysis.tag import sun

COLUMNS = ["start", "month", "sun_deg", "watched", "seen"]


def path_half_hours(
    spots: pd.DataFrame,
    listening: pd.DataFrame,
    *,
    band: str,
    mechanism: str,
    to: str,
    home: str = "",
    beacons: pd.DataFrame | None = None,
) -> pd.DataFrame:
    """Every half-hour from the first to the last day of the data, as the paths to one square saw it.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots.
    listening : DataFrame
        `station band start end basis`.
    band, mechanism : str
        Such as "2m" and "TR".
    to, home : str
        Locators of the two ends, such as "IN78"; their squares of four characters count. Without `home`
        the other end may be anywhere.
    beacons : DataFrame, optional
        `call locator`: senders that always run.

    Returns
    -------
    DataFrame
        `start month sun_deg watched seen`: month (UTC); height of the Sun at `to` in the middle of the
        half-hour [degrees], so that night is below -6; on how many paths a receiver was proven on at one end and a sender at the other, by evidence outside
        the series, and on how many of these a report of the series was made. 0 watched is nobody known to
        have listened, not a closed band. Without rows where the band was never used.

    Raises
    ------
    InputError
        If `to` or `home` is no locator.

    Examples
    --------
    2 m tropo to one square on September nights:

    >>> from analysis import open_tables, path_half_hours, share_open
    >>> season = open_tables(None)  # the demo; the folder of your own review's tables in its place
    >>> cells = path_half_hours(season.spots, season.listening, band="2m", mechanism="TR", to="JN99", home="IN93")
    >>> print(share_open(cells.query("month == 9 and sun_deg < -6")).reason)
    nobody is known to have listened at one end while somebody sent at the other, in 3715 half-hours
    """
    for name, given in (("to", to), ("home", home or to)):
        if not clean(pd.Series([given])).iloc[0]:
            raise InputError(
                f"{name} {given}: is no locator; it has 4, 6 or 8 characters, like IN93 or IN93kd"
            )
    if band not in {*spots["band"], *listening["band"]}:
        return pd.DataFrame(columns=COLUMNS)
    known = watch(spots, listening, band=band, mechanism=mechanism, beacons=beacons)
    there = known.squares == to[:4].upper()
    here = known.squares == home[:4].upper() if home else np.ones(len(there), dtype=bool)
    ways = np.outer(there, here) | np.outer(here, there)
    start = pd.Series(known.starts)
    return pd.DataFrame(
        {
            "start": start,
            "month": start.dt.month,
            "sun_deg": sun.elevation(start + pd.Timedelta(minutes=15), **place(to)),
            "watched": watched_paths(known, ways),
            "seen": seen_paths(known, ways),
        }
    )

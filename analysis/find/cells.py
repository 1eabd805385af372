"""Half-hours of a season: who could have heard, and who did.

One series is one band, mechanism and path type. Every half-hour that the data cover gets a row, with
the ten-minute slots in which stations listened by evidence outside the series, and how many of those
slots brought a report of it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.find import intervals
from analysis.find.grouping.together import BY_PATH_TYPE, makes_openings
from analysis.find.listening import monitors_suffice, outages, series_listening
from analysis.find.once import once
from analysis.find.openings import median_lon
from analysis.tag import sun

SLOT_MIN = 10  # judgement
SLOTS = 3  # in a half-hour
BLOCK_DAYS = 5  # judgement: short against a season, long against a spell of one opening
RARE = 0.005  # a series open in fewer of its monitored half-hours needs a second report
CONFIRM_MIN = 30.0  # judgement: half an hour, the grain of every curve
COLUMNS = ["start", "season", "season_day", "block", "hour", "n_listening", "n_detected"]


@dataclass(frozen=True, kw_only=True)
class Clock:
    """What `hour` counts: local solar hours, or sun-phase hours (sunrise 6, noon 12, sunset 18), and where.

    `axis` is solar or sun; `lon lat` is the reference point of hours and season days [degrees east,
    north], by default the median midpoint of the series.
    """

    axis: str = "solar"
    lon: float | None = None
    lat: float | None = None

    def __post_init__(self) -> None:
        if self.axis not in ("solar", "sun"):
            raise ValueError(f"axis is solar or sun, not {self.axis!r}")


SOLAR = Clock()


def half_hours(
    spots: pd.DataFrame,
    listening: pd.DataFrame,
    *,
    band: str,
    mechanism: str,
    path_type: str = "all",
    clock: Clock = SOLAR,
    monitors_only: bool | None = None,
) -> pd.DataFrame:
    """Every half-hour from the first to the last day of the data, monitored or not.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots.
    listening : DataFrame
        `station band start end basis`.
    band, mechanism, path_type : str
        The series; `all` takes every path type.
    clock : Clock
        What `hour` counts, and where; by default local solar hours at the series' median midpoint.
    monitors_only : bool, optional
        Count stations on their monitor days only; by default where monitors have seen enough of the series
        (`listening.monitors_suffice`).

    Returns
    -------
    DataFrame
        `start season season_day block hour n_listening n_detected`, in order of time: `block` is five
        days, `hour` the middle of the half-hour, `n_listening` station-slots of ten minutes (0 =
        nobody listened), `n_detected` those with a report of the series. Empty where there are
        neither reports nor listeners on the band, or no midpoint to refer to.

    Notes
    -----
    A slot counts when the station listens at its middle. What a station reports while nothing else
    shows that it listens is no detection: counting it would make every listener a lucky one. In a rare
    series (open in fewer than 0.5 % of the monitored half-hours) a report counts only when a second one
    lies within half an hour; stray decodes would outnumber the openings otherwise.

    Examples
    --------
    >>> from analysis import half_hours, open_tables
    >>> season = open_tables(None)  # the demo; the folder of your own review's tables in its place
    >>> cells = half_hours(season.spots, season.listening, band="6m", mechanism="ES")
    >>> listened = cells[cells["n_listening"] > 0]
    >>> bool(0 < (listened["n_detected"] > 0).mean() < 0.2)
    True
    """
    on_band = spots[spots["band"] == band]
    mine = series_rows(spots, band=band, mechanism=mechanism, path_type=path_type)
    known = series_listening(spots, listening, band=band, mechanism=mechanism)
    point = reference_point(spots, band=band, mechanism=mechanism, path_type=path_type)
    asked = clock.lon, clock.lat
    lon, lat = (given if given is not None else found for given, found in zip(asked, point, strict=True))
    if (on_band.empty and known.empty) or not np.isfinite([lon, lat]).all():
        nothing = calendar(pd.DatetimeIndex([], tz="UTC"), axis=clock.axis, lon=0.0, lat=0.0)
        return nothing.assign(n_listening=0, n_detected=0)
    starts = covered_half_hours(on_band, known)
    if monitors_only if monitors_only is not None else monitors_suffice(mine, listening, band=band):
        known = known[known["basis"] == "monitor"]
    grid = intervals.minutes(pd.Series(starts[:1]))[0] / SLOT_MIN, len(starts) * SLOTS
    listened = _listening_slots(known, *grid)
    silent = _covered(outages(listening), *grid)
    heard = _detections(mine, known, silent, *grid, listened=listened)
    cells = calendar(starts, axis=clock.axis, lon=lon, lat=lat)
    cells["n_listening"] = np.where(silent, 0, listened).reshape(-1, SLOTS).sum(axis=1)
    return cells.assign(n_detected=heard.reshape(-1, SLOTS).sum(axis=1))


def reference_point(
    spots: pd.DataFrame, *, band: str, mechanism: str, path_type: str = "all"
) -> tuple[float, float]:
    """Longitude and latitude of the series' median midpoint, else of the band's, else NaN."""
    rows = series_rows(spots, band=band, mechanism=mechanism, path_type=path_type)
    rows = rows[rows["mid_lon"].notna()]
    if rows.empty:
        rows = spots[(spots["band"] == band) & spots["mid_lon"].notna()]
    if rows.empty:
        return np.nan, np.nan
    one = pd.Series(0, index=rows.index)
    return float(median_lon(rows["mid_lon"], one).iloc[0]), float(rows["mid_lat"].median())


@once
def series_rows(spots: pd.DataFrame, *, band: str, mechanism: str, path_type: str) -> pd.DataFrame:
    """The reports of one series that can belong to an opening."""
    mask = (spots["band"] == band) & (spots["mechanism"] == mechanism) & makes_openings(spots)
    if mechanism in BY_PATH_TYPE and path_type != "all":
        mask &= spots["path_type"] == path_type
    return spots[mask]


def covered_half_hours(spots: pd.DataFrame, listening: pd.DataFrame) -> pd.DatetimeIndex:
    """Half-hours from the first to the last UTC day with a report on the band or a listener."""
    if spots.empty and listening.empty:
        return pd.DatetimeIndex([], tz="UTC")
    first = min(times.min() for times in (spots["time"], listening["start"]) if len(times))
    last = max(times.max() for times in (spots["time"], listening["end"]) if len(times))
    past = last.floor("D") + pd.Timedelta(days=1)
    return pd.date_range(first.floor("D"), past, freq="30min", inclusive="left", unit="us")


def calendar(starts: pd.DatetimeIndex, *, axis: str, lon: float, lat: float) -> pd.DataFrame:
    """`start season season_day block hour` of each half-hour."""
    middle = pd.Series(starts + pd.Timedelta(minutes=15))
    hour = sun.solar_hour(middle, lon=lon) if axis == "solar" else sun.sun_hours(middle, lon=lon, lat=lat)
    days = sun.season_of(middle, lat=lat)
    return pd.DataFrame(
        {
            "start": starts,
            "season": np.asarray(days["season"]),
            "season_day": np.asarray(days["season_day"]),
            "block": np.asarray(days["season_day"]) // BLOCK_DAYS,
            "hour": np.asarray(hour, dtype=float) % 24,
        }
    )


def _slot_range(table: pd.DataFrame, first_slot: float, n_slots: int) -> tuple[np.ndarray, np.ndarray]:
    """First slot whose middle lies in each span, and the one past the last."""
    edges = (intervals.minutes(table[side]) / SLOT_MIN - first_slot for side in ("start", "end"))
    opens, past = (np.clip(np.ceil(edge - 0.5).astype(int), 0, n_slots) for edge in edges)
    return opens, past


def _listening_slots(listening: pd.DataFrame, first_slot: float, n_slots: int) -> np.ndarray:
    """Stations listening in every slot."""
    opens, past = _slot_range(listening, first_slot, n_slots)
    step = np.zeros(n_slots + 1, dtype=int)
    np.add.at(step, opens, 1)
    np.add.at(step, past, -1)
    return np.cumsum(step)[:-1]


def _covered(spans: pd.DataFrame, first_slot: float, n_slots: int) -> np.ndarray:
    """Slots whose middle lies in one of the spans."""
    return _listening_slots(spans, first_slot, n_slots) > 0


def _detections(
    rows: pd.DataFrame,
    listening: pd.DataFrame,
    silent: np.ndarray,
    first_slot: float,
    n_slots: int,
    *,
    listened: np.ndarray,
) -> np.ndarray:
    """Station-slots with a report of the series, per slot, out of those in which the station listened."""
    table = pd.DataFrame(
        {
            "station": rows["rx_call"].to_numpy(),
            "slot": np.floor(intervals.minutes(rows["time"]) / SLOT_MIN - first_slot).astype(int),
            "confirmed": _confirmed(rows),
        }
    )
    table = table.groupby(["station", "slot"])["confirmed"].any().reset_index()
    table = table[_was_listening(table, listening, first_slot, n_slots) & ~silent[table["slot"]]]
    counts = [np.bincount(kept["slot"], minlength=n_slots) for kept in (table[table["confirmed"]], table)]
    half_hours = [(slots.reshape(-1, SLOTS) > 0).any(axis=1).sum() for slots in (counts[0], listened)]
    rare = half_hours[0] < RARE * half_hours[1]
    return counts[0] if rare else counts[1]


def _confirmed(rows: pd.DataFrame) -> np.ndarray:
    """Whether another report, by another pair or at another minute, lies within half an hour."""
    minute = np.floor(intervals.minutes(rows["time"]))
    seen = pd.DataFrame(
        {"tx": rows["tx_call"].to_numpy(), "rx": rows["rx_call"].to_numpy(), "minute": minute}
    )
    at = np.sort(seen.drop_duplicates()["minute"].to_numpy())
    around = np.searchsorted(at, minute + CONFIRM_MIN, side="right") - np.searchsorted(
        at, minute - CONFIRM_MIN
    )
    return around > 1


def _was_listening(
    table: pd.DataFrame, listening: pd.DataFrame, first_slot: float, n_slots: int
) -> np.ndarray:
    """Whether the station of each (station, slot) listens at the middle of the slot."""
    opens, past = _slot_range(listening, first_slot, n_slots)
    stations = pd.Index(listening["station"].unique())
    # One number line for all stations: each has its own stretch, so one sorted search serves them all.
    order = np.argsort(
        base := stations.get_indexer(listening["station"]) * (n_slots + 1) + opens, kind="stable"
    )
    base, length = base[order], (past - opens)[order]
    own = stations.get_indexer(table["station"])
    at = own * (n_slots + 1) + table["slot"].to_numpy()
    before = np.searchsorted(base, at, side="right") - 1
    inside = (own >= 0) & (before >= 0)
    return inside & (at < (base + length)[np.maximum(before, 0)]) if len(base) else np.zeros(len(table), bool)

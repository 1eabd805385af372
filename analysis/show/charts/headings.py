"""Picture of where to point the beam: headings from home, month by month or through the day."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.figure import Figure
from matplotlib.projections.polar import PolarAxes
from numpy.typing import NDArray

from analysis.find.monthly import listened
from analysis.gather import locators
from analysis.show.charts import style, ticks
from analysis.show.charts.picture import Picture, finished, words_only
from analysis.show.wording import words
from analysis.tag import sun
from analysis.tag.paths import WGS84, pair_codes, pair_table

NEAR_KM = 150  # a station this near home points its beam as home would
SECTOR_DEG = 22.5
LEAST = 20  # half-hours in a panel below which its shape says nothing
POINTS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
BLOCK_H = 3
HALF_HOUR_S = 1800


def headings_chart(
    spots: pd.DataFrame,
    listening: pd.DataFrame | None = None,
    *,
    band: str,
    mechanism: str,
    home: str,
    by: str = "month",
    width: str = "full",
) -> Picture:
    """In each direction from home the share of half-hours listened to that brought something.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots; either end of a path may be the one near home.
    listening : DataFrame, optional
        `station band start end`; where nobody near home is known to have listened, half-hours are counted,
        and the words say so.
    band, mechanism : str
    home : str
        Locator; stations within 150 km of it count as home.
    by : str
        "month" (UTC) or "hour", three-hour blocks of local solar time at home.
    """
    name, series = f"headings-{band}-{mechanism}-{by}", words.series(band_name=band, mechanism=mechanism)
    keep = (spots["band"].astype(str) == band) & (spots["mechanism"].astype(str) == mechanism)
    spans = _spans_near(spots, listening, band=band, home=home)
    rows = spots[keep] if spans.empty else spots[keep][listened(spots[keep], spans)]
    counts = _full_panels(rows, home=home, by=by)
    if counts.empty and len(spans):  # those near who are known to have listened are not those who reported
        spans, rows = spans.iloc[:0], spots[keep]
        counts = _full_panels(rows, home=home, by=by)
    if counts.empty:
        place = f"{NEAR_KM} km of {words.square(home)}"
        reason = f"Too few reports of this kind come from within {place} to tell directions apart."
        return words_only(name, reason, title=f"No beam heading can be named for {series}", width=width)
    roses = (
        counts if spans.empty else counts.div(half_hours_listened(spans, home=home, by=by), axis=0).dropna()
    )
    when = "month" if by == "month" else "local solar time"
    busiest = f", most often in {_panel_name(roses.sum(axis=1).idxmax(), by, long=True)}"
    total = style.counted(int(counts.to_numpy().sum()), "half-hour")
    what = (
        "Half-hours heard or worked"
        if spans.empty
        else "Share of the half-hours listened to that brought something,"
    )
    bare = "Counts mirror where the other stations live and who was on the air."
    heading = {
        "title": f"{style.headline(series)} came to {words.square(home)} mostly from the {_toward(roses.sum())}"
        f"{busiest if len(roses) > 1 else ''}",
        "subtitle": f"{what} by direction and {when}; {total}, {style.years(rows['time'])}",
        "foot": f"Stations within {NEAR_KM} km of home. The area of a petal is its "
        f"{'half-hours' if spans.empty else 'share'}, on one scale; panels with fewer than {LEAST} half-hours "
        f"are left out. {bare if spans.empty else 'The other stations live where they live: a direction without any stays empty.'}",
    }
    each = "; ".join(f"{_panel_name(key, by)}: {_toward(one)}" for key, one in roses.iterrows())
    heads = {
        key: _head(counts.loc[key].sum(), roses.loc[key].max(), rate=not spans.empty) for key in roses.index
    }
    figure = _draw(roses, heads, heading, by=by, width=width)
    return finished(name, figure, heading, f"{each}.", width=width)


def _full_panels(rows: pd.DataFrame, *, home: str, by: str) -> pd.DataFrame:
    """Half-hours by sector of the panels that have enough of them."""
    counts = heading_counts(rows, home=home, by=by)
    return counts[counts.sum(axis=1) >= LEAST]


def _head(count: float, best: float, *, rate: bool) -> str:
    """What stands beside a panel's name: its half-hours, and the share in its best direction."""
    return f"best {words.percent(best)}" if rate else words.count(count)


def _spans_near(spots: pd.DataFrame, listening: pd.DataFrame | None, *, band: str, home: str) -> pd.DataFrame:
    """Listening on a band of the stations within 150 km of home."""
    if listening is None or listening.empty or not home:
        return pd.DataFrame(columns=["station", "start", "end"])
    spans = listening[listening["band"].astype(str) == band]
    where = spots[["rx_call", "rx_locator"]].astype(str).drop_duplicates("rx_call")
    place = locators.centre(pd.Series([home])).iloc[0]
    ends = locators.centre(where["rx_locator"])
    known = ends["lon"].notna().to_numpy()
    here = np.full(known.sum(), place["lon"]), np.full(known.sum(), place["lat"])
    near = np.zeros(len(where), bool)
    near[known] = (
        WGS84.inv(*here, ends["lon"].to_numpy()[known], ends["lat"].to_numpy()[known])[2] / 1000 <= NEAR_KM
    )
    return spans[spans["station"].astype(str).isin(where.loc[near, "rx_call"])]


def half_hours_listened(spans: pd.DataFrame, *, home: str, by: str) -> pd.Series:
    """Half-hours in which somebody listened, by month or by block of the day at home."""
    first = np.floor(sun.unix_seconds(spans["start"]) / HALF_HOUR_S).astype(int)
    last = np.ceil(sun.unix_seconds(spans["end"]) / HALF_HOUR_S).astype(int)
    slots = np.unique(np.concatenate([np.arange(a, b) for a, b in zip(first, last, strict=True)]))
    time = pd.Series(pd.to_datetime(slots * HALF_HOUR_S, unit="s", utc=True))
    return _keys(time, home=home, by=by).value_counts()


def _keys(time: pd.Series, *, home: str, by: str) -> pd.Series:
    """Month (UTC), or first hour of the block of local solar time at home."""
    if by == "month":
        return time.dt.month
    east = locators.centre(pd.Series([home])).iloc[0]["lon"] / 15
    return ((time.dt.hour + time.dt.minute / 60 + east) % 24 // BLOCK_H * BLOCK_H).astype(int)


def _draw(roses: pd.DataFrame, heads: dict, heading: dict[str, str], *, by: str, width: str) -> Figure:
    columns = ticks.columns_for(len(roses), width=width)
    lines = -(-len(roses) // columns)
    across = style.WIDTH_MM[width] / max(columns, 2 if width == "column" else 3)
    reach = float(np.sqrt(roses.to_numpy().max()))
    with style.look(width):
        figure = style.sheet(**heading, body_mm=lines * (across * 0.95 + 7), width=width)
        # The larger letters of a slide at the points of the compass want more room between rows.
        cells: dict[str, Any] = {
            "squeeze": False,
            "gridspec_kw": {"hspace": 0.14 if width == "slide" else None},
        }
        panels = figure.subplots(lines, columns, subplot_kw={"projection": "polar"}, **cells).ravel()
        for axes, (key, counts) in zip(panels, roses.iterrows(), strict=False):
            _rose(axes, counts.to_numpy(float), reach)
            axes.set_title(f"{_panel_name(key, by)} ({heads[key]})", loc="center")
        for spare in panels[len(roses) :]:
            spare.set_visible(False)
    return figure


def heading_counts(spots: pd.DataFrame, *, home: str, by: str) -> pd.DataFrame:
    """Different half-hours in each sector of 22.5 degrees, by month or by block of the day.

    Returns
    -------
    DataFrame
        Index month (1-12) or first hour of the block, one column per sector, its middle in degrees.
    """
    middles = np.arange(0, 360, SECTOR_DEG)
    if not home or spots.empty:
        return pd.DataFrame(0, index=[], columns=middles)
    code, pairs = pair_codes(spots.astype({"tx_locator": "str", "rx_locator": "str"}))
    bearing = bearings_from(pair_table(pairs), home=home)[code]
    key = _keys(spots["time"], home=home, by=by)
    table = pd.DataFrame(
        {
            "key": key.to_numpy(),
            "sector": np.floor((bearing + SECTOR_DEG / 2) % 360 / SECTOR_DEG),
            "slot": spots["time"].dt.floor("30min").to_numpy(),
        }
    )
    seen = table.dropna().drop_duplicates()
    counts = pd.crosstab(seen["key"], seen["sector"])
    counts = counts.reindex(columns=range(len(middles)), fill_value=0).set_axis(middles, axis=1)
    return counts.set_axis(counts.index.astype(int))


def bearings_from(pairs: pd.DataFrame, *, home: str) -> NDArray:
    """Bearing of each path at its end near home [degrees], NaN where neither end is near."""
    place = locators.centre(pd.Series([home])).iloc[0]
    found = np.full(len(pairs), np.nan)
    for end, column in (("tx", "tx_bearing_deg"), ("rx", "bearing_deg")):
        lon, lat = pairs[f"{end}_lon"].to_numpy(float), pairs[f"{end}_lat"].to_numpy(float)
        known = np.isfinite(lon + lat)
        here = np.full(known.sum(), place["lon"]), np.full(known.sum(), place["lat"])
        near = np.zeros(len(pairs), bool)
        near[known] = WGS84.inv(*here, lon[known], lat[known])[2] / 1000 <= NEAR_KM
        found = np.where(near, pairs[column].to_numpy(float), found)
    return found


def _rose(axes: PolarAxes, counts: NDArray, reach: float) -> None:
    axes.set_theta_zero_location("N")
    axes.set_theta_direction(-1)
    middles = np.radians(np.arange(0, 360, SECTOR_DEG))
    axes.bar(middles, np.sqrt(counts), np.radians(SECTOR_DEG) * 0.92, color=style.BLUE, edgecolor="white")
    axes.set_ylim(0, reach)
    axes.set_yticks([reach / 2, reach], [])
    axes.set_xticks(np.radians([0, 90, 180, 270]), ["N", "E", "S", "W"])
    axes.tick_params(axis="x", pad=-3)
    axes.grid(True)
    axes.spines["polar"].set_linewidth(0.4)


def _toward(counts: pd.Series) -> str:
    """The direction with most half-hours in words, with a second one that has at least two thirds as many."""
    eighths = counts.to_numpy(float)
    smooth = np.array(
        [eighths[(2 * k - 1) % 16] / 2 + eighths[2 * k] + eighths[2 * k + 1] / 2 for k in range(8)]
    )
    best = int(np.argmax(smooth))
    others = [
        k for k in range(8) if smooth[k] >= 2 / 3 * smooth[best] and min((k - best) % 8, (best - k) % 8) > 1
    ]
    return words.listed([POINTS[k] for k in [best, *others[:1]]])


def _panel_name(key, by: str, *, long: bool = False) -> str:
    if by == "month":
        return pd.Timestamp(2001, int(key), 1).month_name() if long else ticks.MONTHS[key - 1]
    return f"the hours {key:02d}–{key + BLOCK_H:02d}" if long else f"{key:02d}–{key + BLOCK_H:02d} h"

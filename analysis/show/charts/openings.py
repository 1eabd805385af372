"""Pictures of the openings that were caught, date by hour: each season a row, or one with all that is known."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.colors import BoundaryNorm, ListedColormap
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from analysis.find.diary.calendar import STATES
from analysis.find.reach import HERE, REGION
from analysis.show.charts import style, ticks
from analysis.show.charts.picture import Picture, finished, words_only
from analysis.show.wording import words
from analysis.tag import sun

LEAST_DAYS = 90  # of season that are drawn, however few openings there are
LEAST_HEIGHT_H = 0.5  # a short opening must still be seen in print
GRADES = {"confirmed": 1.0, "probable": 0.5}  # how solid a bar is; single reports are ticks
HOUR_S, DAY_S = 3600, 86400
# Darker is more: the order holds in grey print.
LOOKS = {
    "open": ("open here", style.INK),
    "closed": ("closed: home was busy, nothing came", style.ORANGE),
    "quiet": ("listened to, nothing reported", style.PALE),
    "unknown": ("nobody known to have listened", "white"),
}
HOURS_MM = 62


def openings_chart(openings: pd.DataFrame, *, band: str, mechanism: str, width: str = "full") -> Picture:
    """Every opening as a bar from its first to its last report, seasons as rows.

    Parameters
    ----------
    openings : DataFrame
        As `find_openings` leaves it; those here are drawn, those of the region where there are none here.
    band, mechanism : str
    """
    name = f"openings-{band}-{mechanism}"
    series = words.series(band_name=band, mechanism=mechanism)
    wanted = (openings["band"].astype(str) == band) & (openings["mechanism"].astype(str) == mechanism)
    scope = HERE if (wanted & (openings["scope"] == HERE)).any() else REGION
    rows = openings[wanted & (openings["scope"] == scope)]
    if rows.empty:
        reason = "None of the reports that were kept makes an opening of this kind."
        return words_only(name, reason, title=f"No opening by {series} was caught", width=width)
    rows = _with_seasons(rows)
    caught, where = openings_a_season(rows), words.SCOPES[scope]
    firm = rows["grade"].isin(list(GRADES))
    ticks = f" and {style.counted((~firm).sum(), 'single report')} (ticks)" if (~firm).any() else ""
    heading = {
        "title": _title(caught, f"{series} {where}"),
        "subtitle": f"Openings by {series} {where}: date and hour (UTC), {style.years(rows['start'])}",
        "foot": f"{style.counted(firm.sum(), 'opening')}{ticks}. "
        "Pale bars: heard by two stations only. What was caught depends on who was listening.",
    }
    each = "; ".join(f"{season}: {style.counted(n, 'opening')}" for season, n in caught.items())
    return finished(name, _draw(rows, heading, width=width), heading, f"{each}.{_longest(rows)}", width=width)


def _longest(rows: pd.DataFrame) -> str:
    """The longest opening in a sentence; a single report lasts no time that is known."""
    if rows["duration_min"].isna().all():
        return ""
    longest = style.top(rows, "duration_min")
    hours = f"{longest['duration_min'] / 60:.1f} h"
    return f" The longest, {words.date(longest['start'])}, lasted about {hours}."


def openings_a_season(rows: pd.DataFrame) -> pd.Series:
    """Confirmed and probable openings by season (0 where there were only ticks)."""
    firm = rows[rows["grade"].isin(list(GRADES))]
    return firm.groupby("season").size().reindex(sorted(rows["season"].unique()), fill_value=0)


def bars(rows: pd.DataFrame) -> pd.DataFrame:
    """Openings cut at 00 UTC for drawing only: one bar per day touched.

    Returns
    -------
    DataFrame
        `season_day`, `low`, `high` [hours UTC], `grade`, `path_type`.
    """
    start, end = sun.unix_seconds(rows["start"]), sun.unix_seconds(rows["end"])
    # A bar is a nominal height at least, kept inside the day that its opening began in.
    end = np.maximum(end, start + LEAST_HEIGHT_H * HOUR_S)
    n = (np.ceil(end / DAY_S) - np.floor(start / DAY_S)).astype(int)
    step = np.arange(n.sum()) - np.repeat(np.cumsum(n) - n, n)
    midnight = (np.repeat(np.floor(start / DAY_S), n) + step) * DAY_S
    return pd.DataFrame(
        {
            "season_day": np.repeat(rows["season_day"].to_numpy(float), n) + step,
            "low": np.maximum(np.repeat(start, n) - midnight, 0) / HOUR_S,
            "high": np.minimum(np.repeat(end, n) - midnight, DAY_S) / HOUR_S,
            "grade": np.repeat(rows["grade"].astype(str).to_numpy(), n),
            "path_type": np.repeat(rows["path_type"].astype(str).to_numpy(), n),
        }
    )


def _draw(rows: pd.DataFrame, heading: dict[str, str], *, width: str) -> Figure:
    seasons = sorted(rows["season"].unique())
    kinds = [kind for kind in style.PATHS if (rows["path_type"].astype(str) == kind).any()]
    with style.look(width):
        figure = style.sheet(**heading, body_mm=12 + 17 * len(seasons), width=width)
        panels = figure.subplots(len(seasons), 1, sharex=True, sharey=True, squeeze=False)[:, 0]
        for axes, season in zip(panels, seasons, strict=True):
            _panel(axes, rows[rows["season"] == season], season)
        panels[0].set_yticks([0, 12] if width == "slide" else [0, 6, 12, 18, 24])
        low, high = rows["season_day"].min() - 8, rows["season_day"].max() + 8
        spare = max(LEAST_DAYS - (high - low), 0) / 2
        panels[0].set_xlim(low - spare, high + spare)
        ticks.month_ticks(panels[-1], south=bool((rows["mid_lat"] < 0).mean() > 0.5))
        if kinds != ["all"]:
            keys = [Patch(color=style.PATHS[kind][1], label=style.PATHS[kind][0]) for kind in kinds]
            ticks.legend_above(panels[0], handles=keys)
        figure.supylabel("hour [UTC]", size=style.WHAT_PT * style.TYPE_SCALE[width])
    return figure


def _with_seasons(rows: pd.DataFrame) -> pd.DataFrame:
    lat = rows["mid_lat"].fillna(rows["mid_lat"].median()).fillna(1.0)
    when = sun.season_of(rows["start"], lat=lat)
    return rows.assign(season=when["season"].to_numpy(int), season_day=when["season_day"].to_numpy(int))


def _panel(axes: Axes, rows: pd.DataFrame, season: int) -> None:
    pieces = bars(rows)
    for (grade, path), part in pieces.groupby(["grade", "path_type"]):
        colour = style.PATHS.get(str(path), style.PATHS["all"])[1]
        if grade not in GRADES:
            tick: dict[str, Any] = {"color": style.GREY, "markersize": 3, "markeredgewidth": 0.6}
            axes.plot(part["season_day"] + 0.5, part["low"], "|", **tick)
            continue
        corners = [
            [(x, low), (x + 1, low), (x + 1, high), (x, high)]
            for x, low, high in part[["season_day", "low", "high"]].to_numpy()
        ]
        axes.add_collection(
            PolyCollection(corners, facecolor=colour, alpha=GRADES[grade], edgecolor=colour, linewidth=0.3)
        )
    axes.set_ylim(0, 24)
    axes.set_title(str(season), loc="right", pad=1)


def _title(caught: pd.Series, series: str) -> str:
    if caught.max() == 0:
        return f"Single reports of {series}, and no opening that two stations share"
    if len(caught) == 1:
        return f"{style.counted(caught.iloc[0], 'opening')} by {series} in {caught.index[0]}"
    return f"Openings by {series}: {caught.min()} to {caught.max()} a season"


def calendar_chart(
    half_hours: pd.DataFrame, days: pd.DataFrame, *, band: str, mechanism: str, width: str = "full"
) -> Picture:
    """Half-hours of one season here, each day a column.

    Parameters
    ----------
    half_hours : DataFrame
        As `find.diary.calendar.here_calendar` makes it, of one season.
    days : DataFrame
        The table of days; the opening days that are told are counted from it.
    band, mechanism : str
    """
    series = words.series(band_name=band, mechanism=mechanism)
    if half_hours.empty:
        reason = "Neither an opening here nor anybody who listened near home is known."
        return words_only(
            f"calendar-{band}-{mechanism}", reason, title=f"No calendar of {series}", width=width
        )
    season = int(half_hours["season"].iloc[0])
    keys = {"scope": HERE, "band": band, "mechanism": mechanism, "path_type": "all", "season": season}
    own = days[(days[list(keys)] == keys).all(axis=1)]
    opened = int(own["open"].sum())
    name = f"calendar-{band}-{mechanism}-{season}"
    counted = style.counted(opened, "opening day")
    heading = {
        "title": style.headline(f"{series} here in {season}: {counted}"),
        "subtitle": f"Every half-hour (UTC) by what is known of {series} here, {style.years(half_hours['start'])}",
        "foot": "An opening day has half an hour open or more and a quarter of the day listened to. Closed for sure: "
        "stations near home made four contacts or more in that half-hour, none of them so.",
    }
    hours = half_hours["state"].value_counts().reindex(STATES, fill_value=0) / 2
    told = "; ".join(f"{LOOKS[state][0]}: {hours[state]:,.0f} h" for state in STATES)
    return finished(name, _draw_calendar(half_hours, heading, width=width), heading, f"{told}.", width=width)


def _draw_calendar(half_hours: pd.DataFrame, heading: dict[str, str], *, width: str) -> Figure:
    with style.look(width):
        figure = style.sheet(**heading, body_mm=HOURS_MM, width=width)
        axes = figure.subplots()
        _cells(axes, half_hours)
        axes.set_ylim(0, 24)
        axes.set_yticks([0, 6, 12, 18, 24])
        axes.set_ylabel("hour [UTC]")
        dates = pd.DatetimeIndex(half_hours["start"]).tz_localize(None).normalize()
        ticks.date_ticks(axes, [dates.min(), dates.max() + pd.Timedelta(days=1)])
        keys = [
            Patch(facecolor=colour, edgecolor=style.GREY, linewidth=0.4, label=text)
            for text, colour in LOOKS.values()
        ]
        ticks.legend_above(axes, handles=keys)
    return figure


def _cells(axes: Axes, half_hours: pd.DataFrame) -> None:
    """A column of 48 half-hours for each day from the first to the last."""
    start = pd.DatetimeIndex(half_hours["start"]).tz_localize(None)
    number = start.normalize().to_numpy().astype("datetime64[D]").astype(int)
    code = half_hours["state"].map({state: n for n, state in enumerate(STATES)}).to_numpy()
    cells = np.full((48, np.ptp(number) + 1), STATES.index("unknown"))
    cells[(2 * half_hours["hour"].to_numpy()).astype(int), number - number.min()] = code
    axes.pcolormesh(
        number.min() + np.arange(cells.shape[1] + 1),
        np.arange(49) / 2,
        cells,
        cmap=ListedColormap([colour for _, colour in LOOKS.values()]),
        norm=BoundaryNorm(np.arange(len(STATES) + 1) - 0.5, len(STATES)),
        rasterized=True,  # thousands of cells would make a huge SVG
    )

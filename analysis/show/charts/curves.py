"""Pictures of the fitted chances: by hour of the day and by day of the season, effort above."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from analysis.show.charts import style, ticks
from analysis.show.charts.picture import Picture, finished
from analysis.show.charts.rows import (
    Parts,
    by_kind,
    head,
    hours_finding,
    named,
    refused,
    reserves,
    season_finding,
    stated,
    states,
    sure,
    told_by_kind,
    worst_tier,
)
from analysis.show.wording import words

HOUR_AXES = {
    "solar": ("local solar time at the midpoint [h]", ["0", "6", "12", "18", "24"]),
    "sun": ("", ["mid-\nnight", "sun-\nrise", "noon", "sun-\nset", "mid-\nnight"]),
}
AFTERNOON_H = 14.0  # sporadic E has a maximum on each side of its early-afternoon dip
TOO_WIDE = 10  # a maximum whose interval spans a factor of ten is not named
WORTH_NAMING = 0.5  # a second maximum is named if it is at least this share of the first


def daily_chart(
    daily: pd.DataFrame,
    estimates: pd.DataFrame | None = None,
    *,
    band: str,
    mechanism: str,
    width: str = "full",
) -> Picture:
    """Chance of an open half-hour by hour of the day; land, mixed and sea side by side.

    Parameters
    ----------
    daily : DataFrame
        `band mechanism path_type axis hour chance low high n_monitored seasons tier verdict reason`.
    estimates : DataFrame, optional
        The review's estimates, whose peaks the title names; without them it names the highest points of the
        curve, and says so.
    band, mechanism : str
    """
    panels = by_kind(daily, band=band, mechanism=mechanism)
    series, name = words.series(band_name=band, mechanism=mechanism), f"daily-{band}-{mechanism}"
    drawn = stated(panels)
    if not drawn:
        return refused(name, panels, title=f"No hour of the day can be named for {series}", width=width)
    axis = next(iter(drawn.values()))["axis"].iloc[0]
    clock = "local solar time" if axis == "solar" else "the Sun's day (sunrise, noon, sunset)"
    found = (
        _highest_hours(drawn, series=series, axis=axis)
        if estimates is None
        else hours_finding(estimates, drawn, band=band, mechanism=mechanism)
    )
    title = f"{_hedge(drawn)}{found}"
    what = f"Chance that a half-hour is open, by {clock}; above, half-hours in which somebody listened"
    return _curves(panels, x="hour", name=name, title=title, what=what, width=width)


def season_chart(
    season: pd.DataFrame,
    estimates: pd.DataFrame | None = None,
    *,
    band: str,
    mechanism: str,
    width: str = "full",
) -> Picture:
    """Chance of an open half-hour by day of the season, averaged over the hours.

    Parameters
    ----------
    season : DataFrame
        `band mechanism path_type season_day date chance low high n_monitored seasons tier verdict reason`.
    estimates : DataFrame, optional
        As for `daily_chart`.
    band, mechanism : str
    """
    panels = by_kind(season, band=band, mechanism=mechanism)
    series, name = words.series(band_name=band, mechanism=mechanism), f"season-{band}-{mechanism}"
    drawn = stated(panels)
    if not drawn:
        return refused(name, panels, title=f"No season of {series} can be drawn", width=width)
    found = (
        _highest_days(drawn, series=series)
        if estimates is None
        else season_finding(estimates, drawn, band=band, mechanism=mechanism)
    )
    title = f"{_hedge(drawn)}{found}"
    what = (
        "Chance that a half-hour is open, over all hours of the day; "
        "above, half-hours in which somebody listened"
    )
    return _curves(panels, x="season_day", name=name, title=title, what=what, width=width)


def _hedge(drawn: Parts) -> str:
    """What has to stand before a finding that the data carry only half."""
    return "" if any(sure({kind: rows}) for kind, rows in drawn.items()) else "An indication only: "


def _highest_hours(drawn: Parts, *, series: str, axis: str) -> str:
    """Where a curve that no estimate goes with is highest."""
    if axis == "solar":
        times = listed_peaks(next(iter(drawn.values())))
        clock = words.listed([words.clock(hour) for hour in times])
        return f"this curve of {series} is highest around {clock} local solar time"
    said = [
        f"{words.sun_phase(style.top(rows, 'chance')['hour'])}{style.where(kind)}"
        for kind, rows in named(drawn).items()
    ]
    return f"this curve of {series} is highest {words.listed(said)}"


def listed_peaks(rows: pd.DataFrame) -> list[float]:
    """Hours of the drawn curve's maximum before and after the early afternoon, the lesser if worth naming."""
    halves = [rows[rows["hour"] < AFTERNOON_H], rows[rows["hour"] >= AFTERNOON_H]]
    tops = [style.top(half, "chance") for half in halves if half["chance"].notna().any()]
    best = max(top["chance"] for top in tops)
    # A maximum at the seam between the halves is only the slope of the other one.
    kept = [top for top in tops if top["chance"] >= WORTH_NAMING * best and _is_summit(rows, top["hour"])]
    return [float(top["hour"]) for top in kept] or [float(max(tops, key=lambda top: top["chance"])["hour"])]


def _is_summit(rows: pd.DataFrame, hour: float) -> bool:
    near = rows[((rows["hour"] - hour + 12) % 24 - 12).abs() <= 1.0]["chance"]
    return bool(near.max() == rows.loc[rows["hour"] == hour, "chance"].iloc[0])


def _highest_days(drawn: Parts, *, series: str) -> str:
    """Where a curve of the year that no estimate goes with is highest; nowhere if its interval is too wide."""
    best = {kind: style.top(rows, "chance") for kind, rows in named(drawn).items()}
    dated = {
        kind: words.part_of_month("2001-" + row["date"])
        for kind, row in best.items()
        if row["high"] <= TOO_WIDE * row["low"]
    }
    return told_by_kind(dated, best, lead=f"this curve of {series} is highest", series=series)


def _curves(panels: Parts, *, x: str, name: str, title: str, what: str, width: str) -> Picture:
    """The picture with its words; `x` is the column that the curves run along."""
    tier = worst_tier(panels)
    foot = (
        f"{style.evidence(tier)} Band: {style.INTERVAL}. "
        f"Months and hours too little listened to are blank.{_runs_off(panels)}{reserves(panels)}"
    )
    heading = {"title": style.headline(title), "subtitle": what, "foot": foot, "tier": tier}
    told = " ".join(_told(kind, rows) for kind, rows in panels.items())
    return finished(name, _draw(panels, heading, x=x, width=width), heading, told, width=width)


def _draw(panels: Parts, heading: dict[str, str], *, x: str, width: str) -> Figure:
    stacked = width == "column"
    beside = 1 if stacked else len(panels)
    room_mm = style.WIDTH_MM[width] / beside - 16
    with style.look(width):
        figure = style.sheet(**heading, body_mm=(10 + 38 * len(panels)) if stacked else 74, width=width)
        pairs = _axes(figure, len(panels), stacked=stacked)
        for (above, below), (kind, rows) in zip(pairs, panels.items(), strict=True):
            _effort(above, rows, x=x)
            above.set_title(head(kind, rows, room_mm=room_mm + 8))
            _curve(below, rows, x=x, kind=kind, room_mm=room_mm)
        for above, below in pairs if stacked else pairs[:1]:
            above.set_ylabel("half-\nhours")
            below.set_ylabel("chance")
        _cap(below, panels)
        along = {"hour": _hour_axis, "season_day": _date_axis}[x]
        along([below for _, below in pairs], panels, stacked=stacked)
        figure.align_ylabels()
    return figure


def _runs_off(panels: Parts) -> str:
    highest, most = _reach(panels)
    return " A band that leaves the panel is wider than can be drawn." if most > 3 * highest else ""


def _cap(axes: Axes, panels: Parts) -> None:
    """Start at 0, stop at three times the highest chance: a very wide band must not flatten the curves."""
    highest, most = _reach(panels)
    axes.set_ylim(0, min(1.05 * most, 3 * highest))


def _reach(panels: Parts) -> tuple[float, float]:
    """Highest chance, and highest end of an interval."""
    drawn = pd.concat(stated(panels).values())
    return float(drawn["chance"].max()), float(drawn["high"].max())


def _axes(figure: Figure, n: int, *, stacked: bool) -> list[tuple[Axes, Axes]]:
    """Pairs of panels, effort over chance; made in pairs so that `figure.axes` alternates."""
    grid = (
        figure.add_gridspec(2 * n, 1, height_ratios=[1, 3] * n)
        if stacked
        else figure.add_gridspec(2, n, height_ratios=[1, 3])
    )
    pairs: list[tuple[Axes, Axes]] = []
    for i in range(n):
        first = pairs[0] if pairs else (None, None)
        cells = (grid[2 * i, 0], grid[2 * i + 1, 0]) if stacked else (grid[0, i], grid[1, i])
        above = figure.add_subplot(cells[0], sharex=first[1], sharey=first[0])
        below = figure.add_subplot(cells[1], sharex=first[1] or above, sharey=first[1])
        above.tick_params(labelbottom=False, which="both")
        if i and not stacked:
            above.tick_params(labelleft=False)
            below.tick_params(labelleft=False)
        below.yaxis.set_major_formatter(ticks.percent_ticks())
        pairs.append((above, below))
    return pairs


def _hour_axis(lower: list[Axes], panels: Parts, *, stacked: bool) -> None:
    label, ticks = HOUR_AXES[next(iter(stated(panels).values()))["axis"].iloc[0]]
    for axes in lower:
        axes.set_xlim(0, 24)
        # Where panels stand side by side the last label of one would run into the first of the next.
        axes.set_xticks([0, 6, 12, 18, 24], ticks if axes is lower[-1] or stacked else [*ticks[:-1], ""])
    lower[-1 if stacked else len(lower) // 2].set_xlabel(label)


def _date_axis(lower: list[Axes], panels: Parts, *, stacked: bool) -> None:
    dates = pd.concat([rows[["season_day", "date"]] for rows in panels.values()]).dropna()
    south = bool(dates.loc[dates["season_day"].abs() < 15, "date"].str.startswith(("12", "01")).any())
    days = pd.concat([rows.loc[rows["n_monitored"] > 0, "season_day"] for rows in panels.values()])
    lower[0].set_xlim(days.min() - 3, days.max() + 3)
    for axes in lower[-1:] if stacked else lower:
        ticks.month_ticks(axes, south=south, beside=1 if stacked else len(lower))


def _effort(axes: Axes, rows: pd.DataFrame, *, x: str) -> None:
    kept = rows.dropna(subset=[x])
    if len(kept) > 1:
        step = float(kept[x].diff().median())
        axes.fill_between(kept[x], kept["n_monitored"], step="mid", color=style.PALE, linewidth=0)
        axes.set_xlim(kept[x].min() - step / 2, kept[x].max() + step / 2)
    axes.set_ylim(bottom=0)
    axes.yaxis.set_major_locator(ticks.few_ticks(2))


def _curve(axes: Axes, rows: pd.DataFrame, *, x: str, kind: str, room_mm: float) -> None:
    if not states(rows):
        place: dict[str, Any] = {"transform": axes.transAxes, "ha": "center", "va": "center"}
        axes.text(0.5, 0.5, style.wrapped(_because(rows), room_mm=room_mm), color=style.GREY, **place)
        return
    _, colour, dash = style.PATHS[kind]
    if rows["verdict"].iloc[0] != "ok":
        colour = style.GREY  # provisional curves must not look like findings
    axes.fill_between(rows[x], rows["low"], rows["high"], color=colour, alpha=0.22, linewidth=0)
    axes.plot(rows[x], rows["chance"], color=colour, linestyle=dash)


def _because(rows: pd.DataFrame) -> str:
    return style.sentence(rows["reason"].iloc[0]) or "The data cannot carry a number."


def _told(kind: str, rows: pd.DataFrame) -> str:
    """One panel in words, for the reader who cannot see it."""
    lead = style.headline(style.PATHS[kind][0])
    if not states(rows):
        return f"{lead}: no number. {_because(rows)}"
    top, bottom = style.top(rows, "chance"), rows.iloc[int(np.nanargmin(rows["chance"].to_numpy(float)))]
    ok = rows["verdict"].iloc[0] == "ok"
    end = "." if ok else f"; provisional. {style.sentence(rows['reason'].iloc[0])}"
    return (
        f"{lead}: highest {style.chance(top)}, lowest {words.percent(bottom['chance'])}, "
        f"from {words.count(rows['n_monitored'].sum())} half-hours listened to{end}"
    )

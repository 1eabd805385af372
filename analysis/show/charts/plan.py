"""Pictures for the operator's plan: when to sit down, and where to go."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.colors import Normalize
from matplotlib.figure import Figure

from analysis.show.charts import style, ticks
from analysis.show.charts.picture import Picture, finished
from analysis.show.charts.rows import Parts, by_kind, named, refused, reserves, stated, sure, worst_tier
from analysis.show.wording import words

TOO_WIDE = 10  # a best hour whose interval spans more than this factor is an indication only


def hours_chart(hours: pd.DataFrame, *, band: str, mechanism: str, zone: str, width: str = "full") -> Picture:
    """Chance of an open half-hour by month and hour of local civil time.

    Parameters
    ----------
    hours : DataFrame
        `band mechanism path_type month hour chance low high n_monitored tier verdict reason`, as
        `plan.localtime.hour_by_month` makes it.
    band, mechanism : str
    zone : str
        Name of the time zone the hours are in.
    """
    name, series = f"hours-{band}-{mechanism}", words.series(band_name=band, mechanism=mechanism)
    parts = by_kind(hours, band=band, mechanism=mechanism)
    drawn = stated(parts)
    if not drawn:
        title = f"No hour to sit down can be named for {series}"
        return refused(name, parts, title=title, width=width)
    tier = worst_tier(drawn)
    what = f"Chance that a half-hour is open, by month and hour of local time ({zone})"
    foot = (
        f"{style.evidence(tier)} Blank: too few half-hours were listened to. "
        f"{_hours_interval(drawn)}{reserves(drawn)}"
    )
    heading = {"title": _hours_title(drawn, series), "subtitle": what, "foot": foot, "tier": tier}
    told = " ".join(_hours_told(kind, part) for kind, part in drawn.items())
    return finished(name, _draw_hours(drawn, heading, width=width), heading, told, width=width)


def _draw_hours(drawn: Parts, heading: dict[str, str], *, width: str) -> Figure:
    months = sorted({int(month) for part in drawn.values() for month in part["month"]})
    top = max(float(part["chance"].max()) for part in drawn.values())
    stacked = width == "column"
    shape = (len(drawn), 1) if stacked else (1, len(drawn))
    with style.look(width):
        body = 18 + (12 + 4.2 * len(months)) * shape[0]
        figure = style.sheet(**heading, body_mm=body, width=width)
        panels = figure.subplots(*shape, sharex=True, sharey=True, squeeze=False).ravel()
        for axes, (kind, part) in zip(panels, drawn.items(), strict=True):
            shown = _hours_panel(axes, part, months, Normalize(0, top))
            state = "" if part["verdict"].iloc[0] == "ok" else ": provisional"
            axes.set_title(f"{style.path_words(kind)}{state}")
        panels[-1 if stacked else len(panels) // 2].set_xlabel("hour, local time")
        ticks.share_key(figure, shown, panels, label="chance")
    return figure


def places_chart(places: pd.DataFrame, *, width: str = "full") -> Picture:
    """Share of midsummer days on which each place would have had an opening, with its interval.

    Parameters
    ----------
    places : DataFrame
        One row per place and series, as `plan.places.compare_places` makes it.
    """
    told = places[places["open_share"].notna() & (places["verdict"] != "refuse")]
    if told.empty:
        kinds = {str(kind): rows for kind, rows in places.groupby("path_type")}
        return refused("places", kinds, title="The places cannot be told apart", width=width)
    keys = ["band", "mechanism", "path_type"]
    groups = {key: part.sort_values("open_share") for key, part in told.groupby(keys, sort=False)}
    tier = max(told["tier"])
    what = "Share of the days around midsummer on which an opening would have served the place"
    foot = (
        f"{style.evidence(tier)} {_days(told)} Line: 90 % interval. "
        "Places whose lines overlap widely cannot be told apart."
    )
    heading = {"title": _places_title(groups), "subtitle": what, "foot": foot, "tier": tier}
    alt = " ".join(_places_told(key, part) for key, part in groups.items())
    return finished("places", _draw_places(groups, heading, width=width), heading, alt, width=width)


def _draw_places(groups: dict, heading: dict[str, str], *, width: str) -> Figure:
    sizes = [len(part) for part in groups.values()]
    with style.look(width):
        figure = style.sheet(**heading, body_mm=14 + 5 * sum(sizes) + 8 * len(sizes), width=width)
        ratios = [n + 0.5 for n in sizes]
        panels = figure.subplots(len(sizes), 1, sharex=True, squeeze=False, height_ratios=ratios)[:, 0]
        for axes, (key, part) in zip(panels, groups.items(), strict=True):
            _places_panel(axes, part)
            axes.set_title(_named(key))
        panels[-1].set_xlim(0, None)
        panels[-1].xaxis.set_major_formatter(ticks.percent_ticks())
    return figure


def _days(told: pd.DataFrame) -> str:
    """How many days listened to the shares are of."""
    low, high = int(told["n_days"].min()), int(told["n_days"].max())
    span = (
        style.counted(high, "day") if low == high else f"{words.count(low)} to {style.counted(high, 'day')}"
    )
    return f"From {span} listened to."


def _hours_panel(axes: Axes, part: pd.DataFrame, months: list[int], scale: Normalize):
    table = part.pivot_table(index="month", columns="hour", values="chance").reindex(
        index=months, columns=range(24)
    )
    shown = axes.pcolormesh(
        np.arange(25),
        np.arange(len(months) + 1),
        np.ma.masked_invalid(table.to_numpy(float)),
        norm=scale,
        cmap=style.AMOUNT,
    )
    axes.set_yticks(np.arange(len(months)) + 0.5, [ticks.MONTHS[month - 1] for month in months])
    axes.set_ylim(len(months), 0)
    axes.set_xticks(range(0, 25, 6))
    axes.tick_params(axis="y", length=0)
    axes.grid(False)
    return shown


def _hours_title(drawn: Parts, series: str) -> str:
    best = {kind: style.top(part, "chance") for kind, part in named(drawn).items()}
    firm = sure(named(drawn)) and all(row["high"] <= TOO_WIDE * row["low"] for row in best.values())
    said = [
        f"in {_month(row)} around {int(row['hour']):02d}:30{style.where(kind)}" for kind, row in best.items()
    ]
    return style.headline(f"{'' if firm else 'an indication only: '}{series}: best {words.listed(said)}")


def _hours_interval(drawn: Parts) -> str:
    row = style.top(pd.concat(drawn.values()), "chance")
    n = style.counted(row["n_monitored"], "half-hour")
    return f"90 % interval of the best hour: {words.percent(row['low'])} to {words.percent(row['high'])}, from {n}."


def _hours_told(kind: str, part: pd.DataFrame) -> str:
    row = style.top(part, "chance")
    return (
        f"{style.headline(style.path_words(kind))}: best {style.chance(row)} in {_month(row)} "
        f"between {int(row['hour'])} and {int(row['hour']) + 1} h."
    )


def _month(row: pd.Series) -> str:
    return pd.Timestamp(2001, int(row["month"]), 1).month_name()


def _places_panel(axes: Axes, part: pd.DataFrame) -> None:
    y = np.arange(len(part))
    axes.hlines(y, part["low"], part["high"], color=style.BLUE, linewidth=1.2)
    axes.plot(part["open_share"], y, "o", color=style.BLUE, markersize=5)
    heads = zip(part["locator"], part["ground"], part["best_heading"], strict=True)
    axes.set_yticks(
        y, [style.plain(f"{locator} ({ground}; {heading})") for locator, ground, heading in heads]
    )
    axes.set_ylim(-0.6, len(part) - 0.4)
    axes.grid(False, axis="y")
    axes.grid(True, axis="x")


def _places_title(groups: dict) -> str:
    """The best place of each series, only if its interval lies above the worst place's value."""
    said = []
    for key, part in groups.items():
        best, worst = part.iloc[-1], part.iloc[0]
        if len(part) > 1 and best["low"] > worst["open_share"]:
            said.append(f"{style.plain(best['locator'])} for {_named(key)}")
    return (
        f"Best served: {words.listed(said[:2])}"
        if said
        else "The places cannot be told apart with confidence"
    )


def _named(key: tuple[Any, ...]) -> str:
    band, mechanism, path_type = key
    return words.series(band_name=band, mechanism=mechanism, path_type=path_type)


def _places_told(key: tuple[Any, ...], part: pd.DataFrame) -> str:
    each = "; ".join(
        f"{style.plain(row['locator'])} {style.chance(row, value='open_share')}"
        for row in part.iloc[::-1].to_dict("records")
    )
    return f"{style.headline(_named(key))}: {each}."

"""Pictures that check: forecasts against what came, one season against another, our curve against the maps."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from analysis.show.charts import style, ticks
from analysis.show.charts.picture import Picture, finished, words_only
from analysis.show.charts.rows import by_kind
from analysis.show.wording import words

VERDICTS = {"more": ("^", style.VERMILION), "fewer": ("v", style.VERMILION), "cannot tell": ("o", "white")}
RUN_DAYS = 30  # of the runs of days in which two seasons are compared
PUBLISHED = "published maps of foEs"


LUCK = 0.2  # of the groups may lie outside their 90 % interval, twice what chance gives (judgement)


def reliability_chart(
    reliability: pd.DataFrame, *, band: str, mechanism: str, direction: str = "all", width: str = "full"
) -> Picture:
    """Of the windows that were given about this chance, how many came true?

    Parameters
    ----------
    reliability : DataFrame
        `band mechanism direction at_least tenth n chance share low high seasons`, as `fit.verify.reliability`
        returns them with the series and the number of seasons beside.
    band, mechanism, direction : str
    """
    kind = "" if direction == "all" else f"-{direction}"
    name = f"reliability-{band}-{mechanism}{kind}"
    series = f"{words.series(band_name=band, mechanism=mechanism)}{style.where(direction)}"
    own = (reliability["band"] == band) & (reliability["mechanism"] == mechanism)
    rows = reliability[own & (reliability["direction"] == direction)].sort_values("chance")
    told = rows[rows["n"] >= style.THIN]
    if told.empty:
        reason = (
            "No season could be left out and forecast from the others. "
            "Two seasons with whole windows of listening are the least."
        )
        return words_only(name, reason, title=f"Forecasts of {series} cannot be checked yet", width=width)
    seasons = style.counted(told["seasons"].max(), "season")
    days = style.counted(told["at_least"].max(), "opening day")
    heading = {
        "title": f"Forecasts of {series}: {_kept(told)}",
        "subtitle": f"Windows of {seasons}, each forecast from the other seasons: chance that was given of at "
        f"least {days}, and share that came true",
        "foot": "Line: 90 % interval from resampled seasons. On the dashes a chance comes true just as often as "
        f"it says. Tenths with fewer than {style.THIN} windows are blank.",
    }
    each = "; ".join(
        f"{words.percent(row['chance'])} came true in {style.chance(row, value='share')} of "
        f"{style.counted(row['n'], 'window')}"
        for row in told.to_dict("records")
    )
    return finished(name, _draw_reliability(rows, told, heading, width), heading, f"{each}.", width=width)


def two_seasons_chart(
    compared: pd.DataFrame, *, band: str, mechanism: str, path_type: str = "all", width: str = "full"
) -> Picture:
    """The newest season and the one before it, month by month, and the months in which they surely differ.

    Parameters
    ----------
    compared : DataFrame
        `band mechanism path_type first second season_day date share_first share_second n_blocks p p_holm
        verdict`, as `crosschecks.compared` makes it.
    band, mechanism, path_type : str
    """
    name = f"compared-{band}-{mechanism}{'' if path_type == 'all' else '-' + path_type}"
    series = words.series(band_name=band, mechanism=mechanism, path_type=path_type)
    rows = by_kind(compared, band=band, mechanism=mechanism).get(path_type, compared.iloc[:0])
    if rows.empty:
        reason = "In no month were two seasons listened to for two blocks of five days or more each."
        return words_only(name, reason, title=f"No two seasons of {series} can be compared", width=width)
    first, second = (int(rows[column].iloc[0]) for column in ("first", "second"))
    heading = {
        "title": f"{style.headline(series)}: {_differ(rows, first, second)}",
        "subtitle": f"Share of half-hours that were open in runs of {RUN_DAYS} days, {first} and {second}; above, "
        "blocks of five days listened to",
        "foot": "Filled triangles: the seasons differ (Welch's t over blocks of five days, all runs together "
        "held to an error of 5 %, Holm). Elsewhere the data cannot tell them apart.",
    }
    each = "; ".join(
        f"{style.headline(_run(row['date']))}: {words.percent(row['share_first'])} in {first}, "
        f"{words.percent(row['share_second'])} in {second}, {row['verdict']}"
        for row in rows.to_dict("records")
    )
    figure = _draw_seasons(rows, heading, (str(first), str(second)), width=width)
    return finished(name, figure, heading, f"{each}.", width=width)


def climatology_chart(
    published: pd.DataFrame,
    *,
    band: str,
    mechanism: str = "ES",
    by: str = "hour",
    home: str = "",
    width: str = "full",
) -> Picture:
    """The shape of our curve beside that of the published maps, and where they disagree.

    Parameters
    ----------
    published : DataFrame
        `band mechanism by x own own_low own_high published disagrees`, as `crosschecks.published` makes it.
    band, mechanism : str
    by : str
        "hour" (local solar time) or "season_day".
    home : str, optional
        Locator whose hemisphere counts the season days; northern by default.
    """
    name, series = f"climatology-{band}-{mechanism}-{by}", words.series(band_name=band, mechanism=mechanism)
    own = (published["band"] == band) & (published["mechanism"] == mechanism) & (published["by"] == by)
    shapes, south = published[own], ticks.is_south(home)
    known = shapes[shapes["own"].notna()]
    if known.empty:
        reason = (
            f"Either the {PUBLISHED}, an optional extra, are not installed, or our own data carry no curve."
        )
        return words_only(name, reason, title=f"No second opinion on {series}", width=width)
    heading = {
        "title": f"{style.headline(series)}: {_beside(known, by, south)}",
        "subtitle": "Chance over its own mean (shape only): ours, and that of the "
        f"{PUBLISHED}, by {'local solar time' if by == 'hour' else 'day of the season'}",
        "foot": "Band: 90 % interval of ours. Thick line below: further apart than that and than the maps usually are "
        "from single stations. The maps "
        "(Leftin, Ostrow and Preston 1968) know the layer, not who was on the air.",
    }
    share = words.percent(known["disagrees"].mean())
    peaks = [_place(style.top(known, column)["x"], by, south) for column in ("own", "published")]
    told = f"Ours is highest at {peaks[0]}, theirs at {peaks[1]}; they disagree over {share} of the axis."
    return finished(
        name, _draw_shapes(shapes, heading, by, south=south, width=width), heading, told, width=width
    )


def _kept(told: pd.DataFrame) -> str:
    """Whether the chances came true as often as they said, over the tenths that can be judged, as an operator asks."""
    above, below = int((told["low"] > told["chance"]).sum()), int((told["high"] < told["chance"]).sum())
    if above + below <= LUCK * len(told):
        return f"you can take the chances at their word, in {len(told) - above - below} of {len(told)} groups"
    if above and below:
        return "some came true more often than said, some less"
    return f"the band opened {'more' if above else 'less'} often than they said"


def _draw_reliability(rows: pd.DataFrame, told: pd.DataFrame, heading: dict[str, str], width: str) -> Figure:
    with style.look(width):
        figure = style.sheet(**heading, body_mm=86 if width != "column" else 74, width=width)
        above, below = figure.subplots(2, 1, sharex=True, height_ratios=[1, 3])
        above.bar(rows["tenth"] / 10 + 0.05, rows["n"], 0.094, color=style.PALE)
        above.set_ylabel("windows")
        above.yaxis.set_major_locator(ticks.few_ticks(2))
        below.plot([0, 1], [0, 1], color=style.GREY, linewidth=0.8, linestyle=(0, (3, 2)))
        below.vlines(told["chance"], told["low"], told["high"], color=style.BLUE, linewidth=1.2)
        below.plot(told["chance"], told["share"], "o", color=style.BLUE, markersize=5)
        below.set(xlim=(0, 1), ylim=(-0.02, 1.02), xlabel="chance given", ylabel="came true")
        for one in (below.xaxis, below.yaxis):
            one.set_major_formatter(ticks.percent_ticks())
        figure.align_ylabels()
    return figure


def _differ(rows: pd.DataFrame, first: int, second: int) -> str:
    runs = {
        verdict: [_run(date) for date in rows.loc[rows["verdict"] == verdict, "date"]]
        for verdict in ("more", "fewer")
    }
    said = [
        f"{'more' if verdict == 'more' else 'less'} often {words.listed(days)}"
        for verdict, days in runs.items()
        if days
    ]
    if not said:
        return f"{first} and {second} cannot be told apart"
    return f"{second} was open {words.listed(said)} than {first}"


def _run(date: str) -> str:
    """Dates of the run of days that begins on a month and day: `from 27 May to 25 June`."""
    first = pd.Timestamp(f"{words.COMMON_YEAR}-{date}")
    return f"from {words.day(first)} to {words.day(first + pd.Timedelta(days=RUN_DAYS - 1))}"


def _counts_from_december(rows: pd.DataFrame) -> bool:
    """Whether the season days of some rows count from the southern solstice."""
    first = rows.iloc[0]
    solstice = pd.Timestamp(f"{words.COMMON_YEAR}-{first['date']}") - pd.Timedelta(
        days=int(first["season_day"])
    )
    return solstice.month in (1, 12)


def _draw_seasons(
    compared: pd.DataFrame, heading: dict[str, str], names: tuple[str, str], *, width: str
) -> Figure:
    middle = compared["season_day"].to_numpy() + RUN_DAYS / 2
    with style.look(width):
        figure = style.sheet(**heading, body_mm=74, width=width)
        above, below = figure.subplots(2, 1, sharex=True, height_ratios=[1, 3])
        above.bar(middle, compared["n_blocks"], RUN_DAYS * 0.94, color=style.PALE)
        above.set_ylabel("blocks")
        above.yaxis.set_major_locator(ticks.few_ticks(2))
        below.plot(middle - 3, compared["share_first"], "s", color=style.GREY, markersize=5, label=names[0])
        below.vlines(middle, compared["share_first"], compared["share_second"], color=style.PALE, zorder=1)
        _second(below, middle + 3, compared, names[1])
        top = compared[["share_first", "share_second"]].to_numpy(float).max()
        below.set_ylim(-0.05 * top, 1.08 * top)  # a mark at zero is seen whole
        below.set_ylabel("share open")
        below.yaxis.set_major_locator(MaxNLocator(5))  # not by height, which the layout changes
        below.yaxis.set_major_formatter(ticks.percent_ticks())
        ticks.month_ticks(below, south=_counts_from_december(compared))
        ticks.legend_above(below)
        figure.align_ylabels()
    return figure


def _second(axes: Axes, x: np.ndarray, compared: pd.DataFrame, label: str) -> None:
    """Marks of the second season, filled where it differs from the first."""
    for verdict, (marker, fill) in VERDICTS.items():
        own = (compared["verdict"] == verdict).to_numpy()
        edge = style.BLUE if verdict == "cannot tell" else fill
        said = label if verdict == "cannot tell" else f"{label}: {verdict}"
        if own.any():
            axes.plot(
                x[own],
                compared.loc[own, "share_second"],
                marker,
                color=fill,
                markeredgecolor=edge,
                markersize=6,
                label=said,
            )


def _beside(known: pd.DataFrame, by: str, south: bool) -> str:
    """Where the shapes disagree, longest run first, two of them named."""
    number = (known["disagrees"] != known["disagrees"].shift()).cumsum()
    runs = [part for _, part in known.groupby(number) if part["disagrees"].iloc[0]]
    if not runs:
        shape = "course of the day" if by == "hour" else "course of the year"
        return f"the {shape} agrees with the {PUBLISHED} as well as single stations usually do"
    said: dict[str, list[str]] = {}
    for part in sorted(runs, key=len, reverse=True)[:2]:
        how = "more" if (part["published"] > part["own"]).mean() > 0.5 else "less"
        ends = (_place(part["x"].iloc[k], by, south) for k in (0, -1))
        said.setdefault(how, []).append(words.span(*ends))
    told = words.listed(f"{how} {words.listed(spans)}" for how, spans in said.items())
    return f"the {PUBLISHED} say {told}"


def _place(x: float, by: str, south: bool) -> str:
    if by == "hour":
        return words.clock(x)
    return words.day(pd.Timestamp(2001, 12 if south else 6, 21) + pd.Timedelta(days=round(x)))


def _draw_shapes(
    shapes: pd.DataFrame, heading: dict[str, str], by: str, *, south: bool, width: str
) -> Figure:
    with style.look(width):
        figure = style.sheet(**heading, body_mm=66, width=width)
        axes = figure.subplots()
        axes.fill_between(
            shapes["x"], shapes["own_low"], shapes["own_high"], color=style.VERMILION, alpha=0.22, linewidth=0
        )
        axes.plot(shapes["x"], shapes["own"], color=style.VERMILION, label="ours")
        axes.plot(
            shapes["x"], shapes["published"], color=style.INK, linestyle=(0, (4, 1.5)), label="published"
        )
        away = np.where(shapes["disagrees"], 0.0, np.nan)
        axes.plot(shapes["x"], away, color=style.INK, linewidth=3, solid_capstyle="butt", clip_on=False)
        axes.set_ylim(0, None)
        axes.set_ylabel("times the mean")
        if by == "hour":
            axes.set(xlim=(0, 24), xticks=range(0, 25, 6), xlabel="local solar time at the midpoint [h]")
        else:
            axes.set_xlim(shapes["x"].min(), shapes["x"].max())
            ticks.month_ticks(axes, south=south)
        ticks.legend_above(axes)
    return figure

"""Pictures that compare and look ahead: seasons beside each other, first signs, next season's windows."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import NullFormatter

from analysis.find.indicators import signs_summary
from analysis.show import style, words
from analysis.show.picture import Picture, words_only

ORDER = ("all", "any", "land", "mixed", "sea")
VERDICTS = {"above": ("above normal", "^"), "below": ("below normal", "v"), "normal": ("normal", "o")}


def seasons_chart(seasons: pd.DataFrame, *, band: str, mechanism: str, width: str = "full") -> Picture:
    """Each season's index with its interval, against the range of the other seasons.

    Parameters
    ----------
    seasons : DataFrame
        `band mechanism path_type season opening_days monitored_days index low high tier verdict reason`;
        an index of 1 is usual.
    band, mechanism : str
    """
    name, series = f"seasons-{band}-{mechanism}", words.series(band_name=band, mechanism=mechanism)
    rows = seasons[(seasons["band"] == band) & (seasons["mechanism"] == mechanism)]
    drawn = {kind: rows[(rows["path_type"] == kind) & rows["index"].notna()] for kind in ORDER}
    drawn = {kind: part.sort_values("season") for kind, part in drawn.items() if len(part)}
    if not drawn:
        return words_only(
            name, _reasons(rows, "path_type"), title=f"Seasons of {series} cannot be compared", width=width
        )
    tier = max(part["tier"].iloc[0] for part in drawn.values())
    title = _seasons_title(drawn, series)
    what = "Chance of an open half-hour, each season over the mean of all (1 is usual), at the same hours and days"
    foot = (
        f"Evidence {tier}, {style.TIERS[tier]}. Line: 90 % interval; grey bar: range of the other seasons. "
        "Above or below normal is said only outside what four or more other seasons foretell (80 %)."
    )
    n = max(len(part) for part in drawn.values())
    stacked = width == "column"
    with style.look(width):
        body = (14 + 6.5 * n) * (len(drawn) if stacked else 1)
        figure = style.sheet(title=title, subtitle=what, foot=foot, tier=tier, body_mm=body, width=width)
        shape = (len(drawn), 1) if stacked else (1, len(drawn))
        panels = figure.subplots(*shape, sharex=True, squeeze=False).ravel()
        for axes, (kind, part) in zip(panels, drawn.items(), strict=True):
            _seasons_panel(axes, part)
            axes.set_title(style.PATHS[kind][0])
        panels[-1 if stacked else len(panels) // 2].set_xlabel("season index")
    alt = f"{title}. {' '.join(_seasons_told(kind, part) for kind, part in drawn.items())}"
    return Picture(name, figure, title, f"{what}. {foot}", alt, width)


def signs_chart(signs: pd.DataFrame, *, width: str = "full") -> Picture:
    """How long before the first voice report each sign was heard, and how often it came first.

    Parameters
    ----------
    signs : DataFrame
        As `find.indicators.first_signs` returns them, one row per opening.
    """
    summary = signs_summary(signs) if len(signs) else pd.DataFrame(columns=["band", "mechanism", "n_both"])
    summary = summary[summary["n_both"] > 0]
    told = summary[summary["median_min"].notna()] if len(summary) else summary
    if told.empty:
        reason = "In too few openings were both a sign and voice reported. Beacon and digital reports from the same hours would help."
        return words_only("signs", reason, title="What gives the first sign cannot be said", width=width)
    groups = {
        key: part.iloc[::-1]
        for key, part in summary.groupby(["band", "mechanism"], sort=False)
        if part["median_min"].notna().any()
    }
    best = told.loc[told["median_min"].idxmax()]
    title = (
        f"{best['sign'][0].upper()}{best['sign'][1:]} reports came a median {words.count(best['median_min'])} min "
        f"before voice in openings by {words.series(band_name=best['band'], mechanism=best['mechanism'])}"
    )
    what = "Minutes from the first report of each kind to the first voice or CW report of the same opening"
    foot = "Dot: median, line: its 90 % interval. Only openings with both; what nobody reported gives no sign, and voice comes late where few people speak."
    rows = [len(part) for part in groups.values()]
    with style.look(width):
        figure = style.sheet(
            title=title,
            subtitle=what,
            foot=foot,
            body_mm=13 + 6 * sum(rows) + 9 * (len(rows) - 1),
            width=width,
        )
        panels = figure.subplots(
            len(rows), 1, sharex=True, squeeze=False, height_ratios=[n + 0.6 for n in rows]
        )[:, 0]
        for axes, ((band, mechanism), part) in zip(panels, groups.items(), strict=True):
            _signs_panel(axes, part)
            series = words.series(band_name=band, mechanism=mechanism)
            axes.set_title(f"{series}: {style.counted(part['n_openings'].max(), 'opening')}")
        panels[-1].set_xlabel("minutes before voice")
    alt = f"{title}. " + " ".join(_sign_told(row) for _, row in told.iterrows())
    return Picture("signs", figure, title, f"{what}. {foot}", alt, width)


def windows_chart(windows: pd.DataFrame, *, band: str, mechanism: str, width: str = "full") -> Picture:
    """Chance of an opening, and opening days to expect, in every window of next season by its first day.

    Parameters
    ----------
    windows : DataFrame
        `band mechanism direction start days chance low high near_best seasons tier verdict reason` and,
        where they are there, `expected_days expected_low expected_high`.
    band, mechanism : str
    """
    name, series = f"windows-{band}-{mechanism}", words.series(band_name=band, mechanism=mechanism)
    rows = windows[(windows["band"] == band) & (windows["mechanism"] == mechanism)]
    drawn = {
        kind: part
        for kind in rows["direction"].unique()
        if (part := rows[(rows["direction"] == kind) & rows["chance"].notna()]).size
    }
    drawn = dict(sorted(drawn.items(), key=lambda item: ORDER.index(item[0]) if item[0] in ORDER else 9))
    if not drawn:
        return words_only(
            name,
            _reasons(rows, "direction"),
            title=f"No window of next season can be chosen for {series}",
            width=width,
        )
    tier = max(part["tier"].iloc[0] for part in drawn.values())
    days = int(rows["days"].max())
    title = _windows_title(drawn, series, days)
    what = f"Windows of {days} days in {drawn[next(iter(drawn))]['start'].max():%Y} by their first day: chance of at least one opening day, and opening days to expect"
    foot = f"Evidence {tier}, {style.TIERS[tier]}. Band: 90 % interval. Thick line below: near-best, within 10 points of the best window."
    expected = "expected_days" in rows
    stacked = width == "column"
    with style.look(width):
        n_rows = 2 if expected else 1
        body = (8 + 32 * n_rows) * (len(drawn) if stacked else 1) + 6
        figure = style.sheet(title=title, subtitle=what, foot=foot, tier=tier, body_mm=body, width=width)
        shape = (n_rows * len(drawn), 1) if stacked else (n_rows, len(drawn))
        cells = figure.subplots(*shape, sharex=True, squeeze=False)
        pairs = cells.reshape(len(drawn), n_rows) if stacked else cells.T
        for axes, (kind, part) in zip(pairs, drawn.items(), strict=True):
            _windows_panels(axes, part, kind)
        _share_heights(pairs)
        for axes in pairs if stacked else pairs[:1]:
            axes[0].set_ylabel("chance")
            if expected:
                axes[1].set_ylabel("opening days")
        figure.align_ylabels()
    alt = f"{title}. {' '.join(_window_told(kind, part) for kind, part in drawn.items())}"
    return Picture(name, figure, title, f"{what}. {foot}", alt, width)


def _reasons(rows: pd.DataFrame, by: str) -> str:
    if rows.empty:
        return "There is nothing of this kind in the tables."
    each = rows.drop_duplicates([by, "reason"])
    lines = [
        f"{_path(row[by])}: {row['reason']}" if len(each) > 1 else str(row["reason"])
        for _, row in each.iterrows()
    ]
    return (
        "\n".join(line[0].upper() + line[1:] for line in dict.fromkeys(lines) if line)
        or "The data cannot carry a number."
    )


def _path(kind: str) -> str:
    return style.PATHS[kind][0] if kind in style.PATHS else kind


def _seasons_title(drawn: dict[str, pd.DataFrame], series: str) -> str:
    said = []
    for kind, part in drawn.items():
        where = "" if kind == "all" else f" {_path(kind)}"
        for verdict in ("above", "below"):
            odd = part.loc[part["verdict"] == verdict, "season"].astype(int).astype(str).to_list()
            if odd:
                said.append(f"{words.listed(odd)} {verdict} normal{where}")
    if said:
        return f"{series[0].upper()}{series[1:]}: {words.listed(said)}"
    if any((part["verdict"] == "normal").any() for part in drawn.values()):
        return f"{series[0].upper()}{series[1:]}: no season stands out from the others"
    return f"{series[0].upper()}{series[1:]}: too few seasons to call one unusual"


def _seasons_panel(axes: Axes, part: pd.DataFrame) -> None:
    index = part["index"].to_numpy()
    for y, (_, row) in enumerate(part.iloc[::-1].iterrows()):
        others = np.delete(index, len(index) - 1 - y)
        if len(others) > 1:
            axes.barh(y, np.ptp(others), 0.62, others.min(), color="#e4e4e4", zorder=1)
        marker = VERDICTS.get(row["verdict"], ("", "o"))[1]
        filled = row["verdict"] in ("above", "below")
        axes.plot([row["low"], row["high"]], [y, y], color=style.BLUE, linewidth=1.2, zorder=2)
        axes.plot(
            row["index"],
            y,
            marker,
            color=style.VERMILION if filled else "white",
            markeredgecolor=style.VERMILION if filled else style.BLUE,
            markersize=5,
            zorder=3,
        )
    labels = [
        f"{int(row.season)} ({int(row.opening_days)} of {int(row.monitored_days)} d)"
        for row in part.iloc[::-1].itertuples()
    ]
    axes.set_yticks(range(len(part)), labels)
    axes.set_xscale("log")
    axes.xaxis.set_major_formatter(lambda value, _: f"{value:g}")
    axes.xaxis.set_minor_formatter(NullFormatter())
    low, high = min(part["low"].min(), 0.6), max(part["high"].max(), 1.6)
    axes.set_xticks([tick for tick in (0.1, 0.2, 0.3, 0.5, 0.7, 1, 1.5, 2, 3, 5, 10) if low <= tick <= high])
    axes.axvline(1, color=style.GREY, linewidth=0.8, linestyle=(0, (3, 2)), zorder=1)
    axes.grid(False)


def _seasons_told(kind: str, part: pd.DataFrame) -> str:
    each = "; ".join(
        f"{int(row.season)}: {row.index_:.2f} ({row.low:.2f} to {row.high:.2f}), {int(row.opening_days)} opening days of {int(row.monitored_days)}, {VERDICTS.get(row.verdict, (row.verdict, ''))[0]}"
        for row in part.rename(columns={"index": "index_"}).itertuples()
    )
    return f"{_path(kind).capitalize()}: {each}."


def _signs_panel(axes: Axes, part: pd.DataFrame) -> None:
    for y, row in enumerate(part.itertuples()):
        if np.isnan(row.median_min):
            axes.text(0, y, "  too few to say", va="center", color=style.GREY)
            continue
        axes.plot([row.low_min, row.high_min], [y, y], color=style.BLUE, linewidth=1.2)
        axes.plot(row.median_min, y, "o", color=style.BLUE, markersize=5)
    axes.set_yticks(
        range(len(part)),
        [f"{row.sign} (n {row.n_both}; first in {row.n_first})" for row in part.itertuples()],
    )
    axes.set_ylim(-0.6, len(part) - 0.4)
    axes.axvline(0, color=style.GREY, linewidth=0.8, linestyle=(0, (3, 2)))
    axes.grid(False, axis="y")
    axes.grid(True, axis="x")


def _sign_told(row: pd.Series) -> str:
    series = words.series(band_name=row["band"], mechanism=row["mechanism"])
    return (
        f"{series}, {row['sign']}: median {words.count(row['median_min'])} min before voice ({words.count(row['low_min'])} to "
        f"{words.count(row['high_min'])}, {style.counted(row['n_both'], 'opening')}), first in {row['n_first']} of {row['n_openings']}."
    )


def _windows_title(drawn: dict[str, pd.DataFrame], series: str, days: int) -> str:
    kind, part = max(drawn.items(), key=lambda item: item[1]["chance"].max())
    best = part[part["near_best"].astype(bool)]
    where = "" if kind in ("all", "any") else f" {_path(kind)}"
    starts = (
        pd.to_datetime(best["start"])
        if len(best)
        else pd.to_datetime(part["start"])[[part["chance"].idxmax()]]
    )
    spell = (
        words.span(words.day(starts.min()), words.day(starts.max()))
        if _unbroken(starts)
        else "in several spells"
    )
    hedge = "" if part["verdict"].iloc[0] == "ok" and part["tier"].iloc[0] == "A" else "perhaps "
    return f"{series[0].upper()}{series[1:]}{where}: the best {days} days {hedge}start {spell}"


def _unbroken(starts: pd.Series) -> bool:
    return bool((starts.sort_values().diff().dt.days.dropna() <= 1).all())


def _windows_panels(panels, part: pd.DataFrame, kind: str) -> None:
    colour = style.PATHS.get(kind, style.PATHS["all"])[1] if part["verdict"].iloc[0] == "ok" else style.GREY
    when = pd.to_datetime(part["start"]).to_numpy()
    for axes, value, low, high in zip(
        panels, ("chance", "expected_days"), ("low", "expected_low"), ("high", "expected_high"), strict=False
    ):
        axes.fill_between(when, part[low], part[high], color=colour, alpha=0.22, linewidth=0)
        axes.plot(when, part[value], color=colour)
        near = np.where(part["near_best"].astype(bool), 0.0, np.nan)
        axes.plot(when, near, color=style.INK, linewidth=3, solid_capstyle="butt", clip_on=False)
    n = style.counted(part["seasons"].iloc[0], "season")
    state = "" if part["verdict"].iloc[0] == "ok" else ": provisional"
    panels[0].set_title(f"{_path(kind) if kind != 'any' else 'any direction'} ({n}){state}")
    panels[0].yaxis.set_major_formatter(style.percent_ticks())
    for axes in panels:
        style.date_ticks(axes, when, named=axes is panels[-1])


def _share_heights(pairs) -> None:
    """The same scale for the same quantity, so that panels can be compared by eye."""
    for k in range(pairs.shape[1]):
        top = max(axes.get_ylim()[1] for axes in pairs[:, k])
        for axes in pairs[:, k]:
            axes.set_ylim(0, min(top, 1.0) if k == 0 else top)


def _window_told(kind: str, part: pd.DataFrame) -> str:
    best = part.loc[part["chance"].idxmax()]
    text = (
        f"{_path(kind).capitalize()}: best from {words.day(best['start'])}, chance {words.percent(best['chance'])} "
        f"({words.percent(best['low'])} to {words.percent(best['high'])})"
    )
    if "expected_days" in part and np.isfinite(best["expected_days"]):
        text += f", {best['expected_days']:.1f} opening days to expect"
    return f"{text}; {style.counted(part['near_best'].sum(), 'near-best first day')}, from {style.counted(best['seasons'], 'season')}."

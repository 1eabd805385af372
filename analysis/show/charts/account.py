"""Pictures of what came in: the account of rows, and who was listening when."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch
from matplotlib.ticker import MaxNLocator

from analysis.find.effort import WEEK_H, coverage, weekly_effort
from analysis.show.charts import style, ticks
from analysis.show.charts.picture import Picture, finished, words_only
from analysis.show.wording import words

PARTS = {  # column of the account: words, colour, hatch
    "kept": ("kept", style.BLUE, ""),
    "duplicates": ("repeats", style.SKY, "...."),
    "set_aside": ("set aside", style.VERMILION, "////"),
}
MOST_FILES = {"full": 12, "column": 12, "slide": 6}
MOST_REASONS = 6
ROW_MM = {"full": 5.5, "column": 8.0, "slide": 5.5}


def account_chart(account: pd.DataFrame, set_aside: pd.DataFrame, *, width: str = "full") -> Picture:
    """What became of every row, file by file, and why rows were set aside.

    Parameters
    ----------
    account : DataFrame
        `source rows_in kept set_aside duplicates`.
    set_aside : DataFrame
        `source source_row field found reason repair`.
    """
    if account.empty:
        return words_only("account", "No file was read.", title="Nothing was collected", width=width)
    total = account[["rows_in", *PARTS]].sum()
    all_kept = total["kept"] == total["rows_in"]
    share = "all" if all_kept else f"{words.percent(total['kept'] / max(total['rows_in'], 1))} of"
    heading = {
        "title": f"{style.headline(share)} {words.count(total['rows_in'])} rows could be used",
        "subtitle": f"What became of each row in {style.counted(len(account), 'file')}",
        "foot": "Rows in = kept + repeats + set aside, for every file; a contact in both partners' logs repeats. "
        "set_aside.csv lists each row with its repair.",
    }
    reasons = set_aside["reason"].value_counts()
    figure = _draw_account(_fold(account, width), reasons.head(MOST_REASONS), heading, width=width)
    parts = ", ".join(f"{words.count(total[part])} {text}" for part, (text, _, _) in PARTS.items())
    because = f" Most often set aside: {style.plain(reasons.index[0])}." if len(reasons) else ""
    told = f"{parts}, in {style.counted(len(account), 'file')}.{because}"
    return finished("account", figure, heading, told, width=width)


def _draw_account(files: pd.DataFrame, reasons: pd.Series, heading: dict[str, str], *, width: str) -> Figure:
    row_mm = ROW_MM[width]
    body = 16 + row_mm * len(files) + ((14 + row_mm * len(reasons)) if len(reasons) else 0)
    with style.look(width):
        figure = style.sheet(**heading, body_mm=body, width=width)
        ratios = [len(files) + 2, len(reasons) + 1.5] if len(reasons) else [1]
        panels = figure.subplots(len(ratios), 1, height_ratios=ratios, squeeze=False)[:, 0]
        _stack(panels[0], files, within=width == "column")
        if len(reasons):
            _bars(panels[1], reasons, within=width == "column")
    return figure


def effort_chart(listening: pd.DataFrame, *, band: str, home: str = "", width: str = "full") -> Picture:
    """Stations on at a time through each season, by how we know it: always-on receivers apart from people.

    Parameters
    ----------
    listening : DataFrame
        `station band start end basis`.
    band : str
    home : str, optional
        Locator whose hemisphere counts the seasons; northern by default.
    """
    name = f"effort-{band}"
    spans = listening[listening["band"].astype(str) == band]
    if spans.empty:
        reason = (
            "Contacts alone do not show that a station was listening while nothing was heard. "
            "A file of the hours you listened (station, band, start, end) would."
        )
        return words_only(
            name, reason, title=f"Nobody's listening on {words.band(band)} is known", width=width
        )
    weeks = weekly_effort(spans, south=ticks.is_south(home))
    weeks["stations"] = weeks["hours"] / WEEK_H
    seasons = sorted(weeks["season"].unique())
    stations = style.counted(spans["station"].nunique(), "station")
    heading = {
        "title": _effort_title(weeks, band),
        "subtitle": f"Stations on at a time, mean of each week, {stations}, {_span(seasons)}",
        "foot": "Under the year: the share of the hours from the season's first to its last listened week in which "
        "at least one station listened. Where nothing is drawn nobody is known to have listened: "
        "the band may have been open all the same.",
    }
    covered = coverage(weeks)
    each = ", ".join(
        f"{season}: {words.count(part)} h, {words.percent(covered[season])} of the time covered"  # type: ignore[call-overload]
        for season, part in weeks.groupby("season")["hours"].sum().items()
    )
    figure = _draw_effort(weeks, covered, heading, south=ticks.is_south(home), width=width)
    return finished(name, figure, heading, f"{each}.", width=width)


def _effort_title(weeks: pd.DataFrame, band: str) -> str:
    total = weeks["hours"].sum()
    always = weeks.loc[weeks["basis"] == "monitor", "hours"].sum() / total
    lead = (
        f"Always-on receivers gave {words.percent(always)}"
        if always > 0
        else "No receiver was always on, and stations that came and went gave all"
    )
    return f"{lead} of the {words.count(total)} hours of listening on {words.band(band)}"


def _draw_effort(
    weeks: pd.DataFrame, covered: pd.Series, heading: dict[str, str], *, south: bool, width: str
) -> Figure:
    """A row for each season; always-on receivers left and all others right, each with one limit for all seasons."""
    always = weeks["basis"] == "monitor"
    kinds = [rows for rows in (weeks[always], weeks[~always]) if len(rows)]
    with style.look(width):
        beside = 1 if width == "column" else len(kinds)  # a narrow column has them one below the other
        row_mm = 8.5 if width == "column" else 13
        figure = style.sheet(**heading, body_mm=18 + row_mm * len(covered) * len(kinds) / beside, width=width)
        below = len(covered) * len(kinds) // beside
        panels = figure.subplots(below, beside, sharex=True, squeeze=False).T.reshape(len(kinds), -1)
        for column, rows in zip(panels, kinds, strict=True):
            most = rows.groupby(["season", "week"])["stations"].sum().max()
            for axes, season in zip(column, covered.index, strict=True):
                _effort_panel(axes, rows[rows["season"] == season])
                axes.set_ylim(0, 1.08 * most)
            ticks.month_ticks(column[-1], south=south, beside=beside)
            ticks.legend_above(column[0], handles=_basis_keys(rows), beside=beside)
        for axes, (season, share) in zip(
            panels[: len(kinds) // beside].ravel(), [*covered.items()] * (len(kinds) // beside), strict=True
        ):
            axes.set_ylabel(f"{season}\n{words.percent(share)}", rotation=0, ha="right", va="center")
    return figure


def _fold(account: pd.DataFrame, width: str) -> pd.DataFrame:
    """The largest files by name and all others as one line."""
    ranked = account.sort_values("rows_in", ascending=False, kind="stable")
    head, rest = ranked.iloc[: MOST_FILES[width]], ranked.iloc[MOST_FILES[width] :]
    if rest.empty:
        return head
    other = rest[["rows_in", *PARTS]].sum().to_frame().T.assign(source=f"{len(rest)} smaller files")
    return pd.concat([head, other], ignore_index=True)


def _stack(axes: Axes, files: pd.DataFrame, *, within: bool) -> None:
    base = np.zeros(len(files))
    row = np.arange(len(files))[::-1]
    share = files[list(PARTS)].to_numpy(float) / np.maximum(files["rows_in"].to_numpy(float), 1)[:, None]
    for (text, colour, hatch), part in zip(PARTS.values(), share.T, strict=True):
        axes.barh(row, part, _tall(within), base, color=colour, hatch=hatch, edgecolor="white", label=text)
        base = base + part
    names = [f"{style.short(name)} ({words.count(n)})" for name, n in files[["source", "rows_in"]].to_numpy()]
    # Beside thousands of rows kept, a few lost ones are too thin a bar to be seen.
    lost = (files["rows_in"] - files["kept"]).to_numpy()
    kept = [f"{words.count(n)} not kept" if n else "all kept" for n in lost]
    if within:
        names = [f"{name}: {told}" for name, told in zip(names, kept, strict=True)]
    else:
        for y, told in zip(row, kept, strict=True):
            axes.text(1.01, y, told, va="center", clip_on=False)
    _name_bars(axes, row, names, within=within)
    axes.set_xlim(0, 1)
    axes.xaxis.set_major_formatter(ticks.percent_ticks())
    axes.grid(False)
    ticks.legend_above(axes)


def _bars(axes: Axes, reasons: pd.Series, *, within: bool) -> None:
    row = np.arange(len(reasons))[::-1]
    axes.barh(row, reasons.to_numpy(), _tall(within), color=style.VERMILION, edgecolor="white")
    _name_bars(axes, row, [style.short(name, 46) for name in reasons.index], within=within)
    axes.xaxis.set_major_locator(MaxNLocator(4, integer=True))
    axes.set_xlabel("rows")
    axes.set_title("Why rows were set aside", loc="left")
    axes.grid(False, axis="y")
    axes.grid(True, axis="x")


def _tall(within: bool) -> float:
    return 0.4 if within else 0.7


def _name_bars(axes: Axes, row: np.ndarray, names: list[str], *, within: bool) -> None:
    """Names at the left of the bars, or above them where a narrow column has no room beside."""
    axes.set_yticks(row, [] if within else names)
    if within:
        axes.spines["left"].set_visible(False)  # it would run through the names
        axes.tick_params(axis="y", length=0)
        axes.set_ylim(-0.5, len(row) - 0.1)
        for y, name in zip(row, names, strict=True):
            axes.annotate(name, (0, y + 0.24), xycoords=("axes fraction", "data"), va="bottom")


def _effort_panel(axes: Axes, weeks: pd.DataFrame) -> None:
    axes.yaxis.set_major_locator(MaxNLocator(3))
    if weeks.empty:
        return
    table = weeks.pivot_table(index="week", columns="basis", values="stations", aggfunc="sum", fill_value=0.0)
    table = table.reindex(range(table.index.min() - 7, table.index.max() + 8, 7), fill_value=0.0)
    base = np.zeros(len(table))
    for basis in [key for key in style.BASES if key in table]:
        _, colour, hatch = style.BASES[basis]
        look: dict[str, Any] = {"facecolor": colour, "hatch": hatch, "edgecolor": "white", "linewidth": 0}
        part = base + table[basis].to_numpy()
        axes.fill_between(table.index, base, part, step="post", **look)
        base = part


def _basis_keys(weeks: pd.DataFrame):
    kept = [key for key in style.BASES if (weeks["basis"] == key).any()]
    looks = [style.BASES[key] for key in kept]
    return [
        Patch(facecolor=colour, hatch=hatch, edgecolor="white", label=text) for text, colour, hatch in looks
    ]


def _span(seasons: list[int]) -> str:
    first, last = seasons[0], seasons[-1]
    return f"season {first}" if first == last else f"seasons {first}–{last}"

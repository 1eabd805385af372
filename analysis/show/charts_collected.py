"""Pictures of what came in: the account of rows, who listened, what paths and mechanisms were heard."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.colors import LogNorm
from matplotlib.patches import Patch
from matplotlib.ticker import MaxNLocator

from analysis.gather import locators
from analysis.show import style, words
from analysis.show.picture import Picture, words_only
from analysis.tag import sun

PARTS = {  # column of the account: words, colour, hatch
    "kept": ("kept", style.BLUE, ""),
    "duplicates": ("exact duplicates", style.SKY, "...."),
    "set_aside": ("set aside", style.VERMILION, "////"),
}
MOST_FILES = 12
MOST_REASONS = 6
LONG_KM = 500  # beyond this a report on VHF is no everyday path
DISTANCE_STEP_KM = 100


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
    reasons = set_aside["reason"].value_counts()
    title = f"{words.percent(total['kept'] / max(total['rows_in'], 1))} of {words.count(total['rows_in'])} rows could be used"
    what = f"What became of each row in {style.counted(len(account), 'file')}"
    foot = "Rows in = kept + set aside + exact duplicates, for every file. set_aside.csv lists each row with its repair."
    files = _fold(account)
    shown = reasons.head(MOST_REASONS)
    body = 16 + 5.5 * len(files) + ((14 + 5.5 * len(shown)) if len(shown) else 0)
    with style.look(width):
        figure = style.sheet(title=title, subtitle=what, foot=foot, body_mm=body, width=width)
        if len(shown):
            above, below = figure.subplots(2, 1, height_ratios=[len(files) + 2, len(shown) + 1.5])
            _bars(below, [style.plain(name) for name in shown.index], shown.to_numpy(), color=style.VERMILION)
            below.set_title("Why rows were set aside", loc="left")
        else:
            above = figure.subplots()
        _stack(above, files)
    parts = ", ".join(f"{words.count(total[part])} {text}" for part, (text, _, _) in PARTS.items())
    because = f" Most often set aside because: {style.plain(reasons.index[0])}." if len(reasons) else ""
    alt = f"{title}: {parts}, in {style.counted(len(account), 'file')}.{because}"
    return Picture("account", figure, title, f"{what}. {foot}", alt, width)


def effort_chart(listening: pd.DataFrame, *, band: str, home: str = "", width: str = "full") -> Picture:
    """Hours listened in each week of each season, by how we know it.

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
    weeks = weekly_hours(spans, south=_south(home))
    seasons = sorted(weeks["season"].unique())
    total, stations = weeks["hours"].sum(), spans["station"].nunique()
    always = weeks.loc[weeks["basis"] == "monitor", "hours"].sum() / total
    title = f"Always-on receivers gave {words.percent(always)} of the {words.count(total)} hours of listening on {words.band(band)}"
    what = f"Station-hours listened in each week, {style.counted(stations, 'station')}, {_span(seasons)}"
    foot = "A blank week is one in which nobody is known to have listened: the band may have been open all the same."
    with style.look(width):
        figure = style.sheet(
            title=title, subtitle=what, foot=foot, body_mm=14 + 15 * len(seasons), width=width
        )
        panels = figure.subplots(len(seasons), 1, sharex=True, sharey=True, squeeze=False)[:, 0]
        for axes, season in zip(panels, seasons, strict=True):
            _effort_panel(axes, weeks[weeks["season"] == season], season)
        style.month_ticks(panels[-1], south=_south(home))
        style.legend_above(panels[0], handles=_basis_keys(weeks))
        figure.supylabel("hours a week", size=8 * style.TYPE_SCALE[width])
    each = ", ".join(
        f"{season}: {words.count(part)} h" for season, part in weeks.groupby("season")["hours"].sum().items()
    )
    return Picture(name, figure, title, f"{what}. {foot}", f"{title}. {each}.", width)


def weekly_hours(spans: pd.DataFrame, *, south: bool = False) -> pd.DataFrame:
    """Station-hours by season, week and basis; a span over several weeks is shared out among them.

    Returns
    -------
    DataFrame
        `season`, `week` (first season day of it), `basis`, `hours`.
    """
    pieces = []
    for basis, rows in spans.groupby(spans["basis"].astype(str)):
        start, end = sun.unix_seconds(rows["start"]), sun.unix_seconds(rows["end"])
        n = np.maximum(np.ceil(end / 86400) - np.floor(start / 86400), 1).astype(int)
        day = np.repeat(np.floor(start / 86400), n) + _ranges(n)
        hours = (
            np.minimum(np.repeat(end, n), (day + 1) * 86400) - np.maximum(np.repeat(start, n), day * 86400)
        ) / 3600
        pieces.append(
            pd.DataFrame({"day": day, "basis": basis, "hours": hours})
            .groupby(["day", "basis"], as_index=False)
            .sum()
        )
    days = pd.concat(pieces, ignore_index=True)
    date = pd.Series(pd.to_datetime(days["day"], unit="D", utc=True))
    when = sun.season_of(date, lat=-1.0 if south else 1.0)
    days["season"], days["week"] = when["season"].astype(int), when["season_day"].astype(int) // 7 * 7
    return days.groupby(["season", "week", "basis"], as_index=False)["hours"].sum()


def paths_chart(spots: pd.DataFrame, *, width: str = "full") -> Picture:
    """Distance against solar hour at the midpoint; land, mixed and sea paths apart.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots.
    """
    placed = spots[spots["distance_km"].notna() & spots["solar_hour"].notna() & spots["path_type"].notna()]
    kinds = [kind for kind in ("land", "mixed", "sea") if (placed["path_type"] == kind).any()]
    if not kinds:
        reason = "No report has a locator at both ends."
        return words_only("paths", reason, title="No path can be placed", width=width)
    far = {kind: placed.loc[placed["path_type"] == kind, "distance_km"] for kind in kinds}
    medians = {kind: value.median() for kind, value in far.items()}
    longest = max(medians, key=medians.__getitem__)
    title = f"Paths {style.PATHS[longest][0] if longest != 'mixed' else 'over land and sea'} were the longest: half of them beyond {words.count(round(medians[longest], -1))} km"
    what = f"Reports by distance and local solar time at the midpoint; {words.count(len(placed))} reports, {style.years(placed['time'])}"
    foot = "Counts of reports, not corrected for who was on the air. Blank: nothing was heard."
    top = float(np.ceil(placed["distance_km"].quantile(0.999) / 500) * 500)
    grids = {kind: _by_hour_and_km(placed[placed["path_type"] == kind], top) for kind in kinds}
    scale = LogNorm(1, max(grid.max() for grid in grids.values()) + 1)
    with style.look(width):
        shape = (1, len(kinds)) if width == "full" else (len(kinds), 1)
        body = 66 if width == "full" else 8 + 38 * len(kinds)
        figure = style.sheet(title=title, subtitle=what, foot=foot, body_mm=body, width=width)
        panels = figure.subplots(*shape, sharex=True, sharey=True, squeeze=False).ravel()
        for axes, kind in zip(panels, kinds, strict=True):
            drawn = _hour_panel(axes, grids[kind], top, scale)
            axes.set_title(f"{style.PATHS[kind][0]}: {style.counted(len(far[kind]), 'report')}")
        panels[-1 if width == "column" else len(kinds) // 2].set_xlabel(
            "local solar time at the midpoint [h]"
        )
        figure.supylabel("distance [km]", size=8 * style.TYPE_SCALE[width])
        style.colour_key(figure, drawn, panels, label="reports per hour × 100 km")
    each = "; ".join(
        f"{style.PATHS[kind][0]}: {style.counted(len(far[kind]), 'report')}, median {words.count(value)} km"
        for kind, value in medians.items()
    )
    return Picture("paths", figure, title, f"{what}. {foot}", f"{title}. {each}.", width)


def mechanism_chart(spots: pd.DataFrame, *, band: str, width: str = "full") -> Picture:
    """Which mechanism carried the reports at each distance.

    Parameters
    ----------
    spots : DataFrame
        Tagged spots.
    band : str
    """
    name = f"mechanism-{band}"
    heard = spots[(spots["band"].astype(str) == band) & spots["distance_km"].notna()]
    if heard.empty:
        title = f"No report on {words.band(band)} can be placed"
        return words_only(
            name, "There is no report on this band with a locator at both ends.", title=title, width=width
        )
    code = heard["mechanism"].astype(str)
    order = [key for key in style.MECHANISMS if (code == key).any()]
    top = float(np.ceil(heard["distance_km"].quantile(0.999) / 500) * 500)
    edges = np.arange(0, top + 1, DISTANCE_STEP_KM)
    counts = {key: np.histogram(heard.loc[code == key, "distance_km"], edges)[0] for key in order}
    beyond = code[heard["distance_km"] >= LONG_KM].value_counts()
    title = _mechanism_title(beyond, band)
    what = f"Mechanism of {words.count(len(heard))} reports on {words.band(band)} by distance, {style.years(heard['time'])}"
    foot = "Called by physical bounds and evidence from the report and its neighbours; below probability 0.7 a report stays undetermined."
    with style.look(width):
        figure = style.sheet(title=title, subtitle=what, foot=foot, body_mm=66, width=width)
        above, below = figure.subplots(2, 1, sharex=True, height_ratios=[1, 2])
        _mechanism_panels(above, below, edges, counts)
    each = ", ".join(f"{words.MECHANISMS.get(key, key)} {words.count((code == key).sum())}" for key in order)
    return Picture(name, figure, title, f"{what}. {foot}", f"{title}. Reports: {each}.", width)


def _mechanism_title(beyond: pd.Series, band: str) -> str:
    if beyond.empty:
        return f"No report on {words.band(band)} reached {LONG_KM} km"
    first = beyond.index[0]
    share = words.percent(beyond.iloc[0] / beyond.sum())
    if first == "undetermined":
        return f"On {words.band(band)}, {share} of the reports beyond {LONG_KM} km keep their mechanism to themselves"
    return f"On {words.band(band)}, {words.MECHANISMS.get(first, first)} carried {share} of the reports beyond {LONG_KM} km"


def _mechanism_panels(above: Axes, below: Axes, edges, counts) -> None:
    total = np.sum(list(counts.values()), axis=0)
    middle, base = (edges[:-1] + edges[1:]) / 2, np.zeros(len(edges) - 1)
    shown = np.where(total >= style.THIN, total, np.nan)  # a share of a handful says nothing
    for key, values in counts.items():
        colour, hatch = style.MECHANISMS[key]
        share = values / shown
        below.bar(
            middle,
            share,
            DISTANCE_STEP_KM,
            base,
            color=colour,
            hatch=hatch,
            edgecolor="white",
            label=words.MECHANISMS[key],
        )
        base = base + np.nan_to_num(share)
    above.bar(middle, total, DISTANCE_STEP_KM, color=style.PALE, edgecolor="white")
    above.set_yscale("symlog", linthresh=10)
    above.set_ylim(bottom=0)
    above.yaxis.set_major_formatter(style.number_ticks())
    above.set_ylabel("reports")
    below.set(ylabel="share", xlabel="distance [km]", ylim=(0, 1), xlim=(0, edges[-1]))
    below.yaxis.set_major_formatter(style.percent_ticks())
    style.legend_above(above, *below.get_legend_handles_labels())


def _fold(account: pd.DataFrame) -> pd.DataFrame:
    """The largest files by name and all others as one line."""
    ranked = account.sort_values("rows_in", ascending=False, kind="stable")
    head, rest = ranked.iloc[:MOST_FILES], ranked.iloc[MOST_FILES:]
    if rest.empty:
        return head
    other = rest[["rows_in", *PARTS]].sum().to_frame().T.assign(source=f"{len(rest)} smaller files")
    return pd.concat([head, other], ignore_index=True)


def _stack(axes: Axes, files: pd.DataFrame) -> None:
    base = np.zeros(len(files))
    row = np.arange(len(files))[::-1]
    share = files[list(PARTS)].to_numpy(float) / np.maximum(files["rows_in"].to_numpy(float), 1)[:, None]
    for (text, colour, hatch), part in zip(PARTS.values(), share.T, strict=True):
        axes.barh(row, part, 0.7, base, color=colour, hatch=hatch, edgecolor="white", label=text)
        base = base + part
    labels = [
        f"{style.short(name)} ({words.count(n)})"
        for name, n in zip(files["source"], files["rows_in"], strict=True)
    ]
    axes.set_yticks(row, labels)
    axes.set_xlim(0, 1)
    axes.xaxis.set_major_formatter(style.percent_ticks())
    axes.grid(False)
    style.legend_above(axes)


def _bars(axes: Axes, labels: list[str], values, *, color: str) -> None:
    row = np.arange(len(labels))[::-1]
    axes.barh(row, values, 0.7, color=color, edgecolor="white")
    axes.set_yticks(row, [style.short(label, 46) for label in labels])
    axes.xaxis.set_major_locator(MaxNLocator(4, integer=True))
    axes.set_xlabel("rows")
    axes.grid(False, axis="y")
    axes.grid(True, axis="x")


def _effort_panel(axes: Axes, weeks: pd.DataFrame, season: int) -> None:
    table = weeks.pivot_table(index="week", columns="basis", values="hours", aggfunc="sum", fill_value=0.0)
    base = np.zeros(len(table))
    for basis in [key for key in style.BASES if key in table]:
        _, colour, hatch = style.BASES[basis]
        part = table[basis].to_numpy()
        axes.bar(
            table.index + 3.5, part, 7, base, color=colour, hatch=hatch, edgecolor="white", linewidth=0.3
        )
        base = base + part
    axes.set_title(str(season), loc="right", pad=1)
    axes.yaxis.set_major_locator(MaxNLocator(3))


def _basis_keys(weeks: pd.DataFrame):
    kept = [key for key in style.BASES if (weeks["basis"] == key).any()]
    looks = [style.BASES[key] for key in kept]
    return [
        Patch(facecolor=colour, hatch=hatch, edgecolor="white", label=text) for text, colour, hatch in looks
    ]


def _by_hour_and_km(spots: pd.DataFrame, top: float) -> np.ndarray:
    edges = np.arange(25.0), np.arange(0, top + 1, DISTANCE_STEP_KM)
    return np.histogram2d(spots["solar_hour"], spots["distance_km"], bins=edges)[0]


def _hour_panel(axes: Axes, grid: np.ndarray, top: float, scale: LogNorm):
    drawn = axes.pcolormesh(
        np.arange(25.0), np.arange(0, top + 1, DISTANCE_STEP_KM), np.ma.masked_equal(grid.T, 0), norm=scale
    )
    axes.set_xticks(range(0, 25, 6))
    axes.grid(False)
    return drawn


def _south(home: str) -> bool:
    return bool(home) and bool(locators.centre(pd.Series([home]))["lat"].iloc[0] < 0)


def _span(seasons: list[int]) -> str:
    first, last = seasons[0], seasons[-1]
    return f"season {first}" if first == last else f"seasons {first}–{last}"


def _ranges(n: np.ndarray) -> np.ndarray:
    """0, 1 … n-1 for each n, one after another."""
    return np.arange(n.sum()) - np.repeat(np.cumsum(n) - n, n)

"""A plan in words: near-best dates, places, and the events of its calendar."""

from __future__ import annotations

import pandas as pd

from analysis.plan.choice import KEYS
from analysis.show.wording import words
from analysis.show.wording.number import chance_text

COMPASS = {"N": "north", "NE": "north-east", "E": "east", "SE": "south-east"} | {
    "S": "south", "SW": "south-west", "W": "west", "NW": "north-west"
}  # fmt: skip
SMALL = (
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)
NONE = "No dates can be preferred to others; windows.csv says why for each series."


def told(runs: pd.DataFrame, plan: pd.DataFrame) -> list[str]:
    """The near-best spells of each series in words, and what the other dates lose.

    Parameters
    ----------
    runs : DataFrame
        As `choice.near_best_runs` returns them, or some of its rows.
    plan : DataFrame
        As `choice.plan_windows` returns it.

    Returns
    -------
    list of str
        A line for each series; nothing of a refused one.
    """
    lines = []
    for keys, mine in runs.groupby(KEYS, sort=False):
        windows = plan[(plan[KEYS] == list(keys)).all(axis=1)]
        best = mine.sort_values("chance", ascending=False).iloc[0].to_dict()
        chance = chance_text(best["chance"], low=best["low"], high=best["high"], tier=best["tier"])
        reserve = "; provisional" if best["verdict"] == "provisional" else ""
        said = f"{_starts(mine, windows)}; the chance of {_wanted(best)} is {chance}{reserve}"
        lines.append(f"{_capital(series(best))}: {said}. {_losing(windows)}")
    return lines


def places_told(places: pd.DataFrame) -> list[str]:
    """The candidate places of each series, the best first, with the share of midsummer days that served them.

    Parameters
    ----------
    places : DataFrame
        As `places.compare_places` returns it; may be empty.
    """
    lines = []
    for _, ranked in _by_series(places):
        each = [
            f"{row['locator']} {words.percent(row['open_share'])} "
            f"({words.percents(low=row['low'], high=row['high'])})"
            for row in ranked
        ]
        best = ranked[0]
        sure = all(best["low"] > row["high"] for row in ranked[1:])
        verdict = (
            f"{best['locator']} is best served" if sure and len(ranked) > 1 else "they cannot be told apart"
        )
        toward = f"; best heading from {best['locator']}: {COMPASS.get(best['best_heading'], best['best_heading'])}"
        lines.append(
            f"{_capital(series(best))}, share of midsummer days: {words.listed(each)}"
            f"{': ' + verdict if len(ranked) > 1 else ''}{toward}."
        )
    return lines


def events(runs: pd.DataFrame) -> pd.DataFrame:
    """Runs of near-best windows as calendar events.

    Parameters
    ----------
    runs : DataFrame
        Rows of `choice.near_best_runs`, of each series the best first.

    Returns
    -------
    DataFrame
        `key start end title text`, for `calendars.write_calendar`. `key` names the series, the year and the
        rank, so that a window that moves when a plan is made anew stays the same event.
    """
    rank = runs.groupby(KEYS, sort=False).cumcount()
    rows = [
        {
            "key": " ".join([*(str(run[name]) for name in KEYS), str(run["start"].year), str(place)]),
            "start": run["start"],
            "end": run["end"],
            "title": f"{_capital(series(run))}: {'good' if run['verdict'] == 'ok' else 'perhaps good'} {_days(run)}",
            "text": _text(run),
        }
        for run, place in zip(runs.to_dict("records"), rank, strict=True)
    ]
    return pd.DataFrame(rows, columns=["key", "start", "end", "title", "text"])


def series(row: dict) -> str:
    """A series of the plan in words: its band, mechanism, ground and quadrant, or several together."""
    ground = next((one for one in words.PATHS if one in _toward(row).split()), "all")
    ways = [f"{words.MECHANISMS[one]}{words.PATHS[ground]}" for one in str(row["mechanism"]).split()]
    bands = words.listed(map(words.band, str(row["band"]).split()), last="or")
    quadrant = _toward(row).split()[-1]
    return f"{words.listed(ways, last='or')} on {bands}" + (
        f" toward the {quadrant}" if quadrant not in (*words.PATHS, "any") else ""
    )


def _toward(row: dict) -> str:
    """Ground and quadrant of a row: a window has a direction, a place a kind of path."""
    return str(row.get("direction", row.get("path_type", "all")))


def chosen_place(places: pd.DataFrame) -> str:
    """The place to go to: the one that is surely best served in some series, else the first that was asked for."""
    for _, rows in _by_series(places):
        best, others = rows[0], rows[1:]
        if others and all(best["low"] > row["high"] for row in others):
            return best["locator"]
    return places["locator"].iloc[0] if len(places) else ""


def place_lines(places: pd.DataFrame, locator: str) -> list[str]:
    """What is known of one place: its ground, its Sun at midsummer, how often each series served it, and the heading."""
    own = places[places["locator"] == locator]
    if own.empty:
        return []
    row = own.iloc[0]
    lines = [f"At midsummer the Sun is up from {row['sunrise']} to {row['sunset']}"]
    if isinstance(row["note"], str) and row["note"]:
        lines.append(_capital(row["note"]))
    for one in own[own["open_share"].notna() & (own["verdict"] != "refuse")].to_dict("records"):
        share = f"{words.percent(one['open_share'])} ({words.percents(low=one['low'], high=one['high'])})"
        heading = COMPASS.get(one["best_heading"], one["best_heading"])
        lines.append(f"{_capital(series(one))}: {share} of midsummer days; most toward the {heading}")
    return lines


def _by_series(places: pd.DataFrame):
    """Places of each series that may be told, the best served first, as records."""
    for keys, rows in places.groupby(["band", "mechanism", "path_type"], sort=False) if len(places) else ():
        able = rows[rows["open_share"].notna() & (rows["verdict"] != "refuse")]
        if len(able):
            yield keys, able.sort_values("open_share", ascending=False).to_dict("records")


def _starts(runs: pd.DataFrame, windows: pd.DataFrame) -> str:
    """First days that are about equally good."""
    if windows["near_best"].astype(bool).all():
        return f"any {_days(windows.iloc[0])} are about equally good"
    spans = [
        f"{words.between_days(run.first, run.last)} {pd.Timestamp(run.last).year}"  # type: ignore[arg-type]
        for run in runs.sort_values("first").itertuples()
    ]
    return f"{_days(windows.iloc[0])} that begin {words.listed(spans, last='or')} are about equally good"


def _losing(windows: pd.DataFrame) -> str:
    """What the dates outside the near-best lose, and how far the chances can be trusted."""
    others = windows.loc[~windows["near_best"].astype(bool), "hours_lost"].clip(lower=0)
    lost = (
        f"Other dates lose up to {words.percent(others.max())} of the open hours; "
        if len(others)
        else "From "
    )
    return f"{lost}{'from ' * bool(len(others))}{words.counted(windows['seasons'].iloc[0], 'season')}, evidence {windows['tier'].iloc[0]}."


def _text(run: dict) -> str:
    chance = (
        f"{words.percent(run['chance'])} (90 % interval {words.percents(low=run['low'], high=run['high'])})"
    )
    starts = f"from {words.date(run['first'])} to {words.date(run['last'])}"
    lines = [
        f"Chance of {_wanted(run)} in {_days(run)}: {chance}; about {run['expected_days']:.1f} are to be expected.",
        f"Open hours to expect: {run['expected_hours']:.0f} ({run['hours_low']:.0f} to {run['hours_high']:.0f}).",
        f"As good, within 10 points and a tenth of the hours: any start {starts}.",
        f"From {words.counted(run['seasons'], 'season')}, evidence tier {run['tier']}; {run['check']}.",
        f"Leave days: {run['leave_days']}.",
    ]
    if pd.notna(run.get("big_chance")):
        big = words.percents(low=run["big_low"], high=run["big_high"])
        lines.insert(
            2,
            f"One of the great days (top tenth by reach and length): {words.percent(run['big_chance'])} ({big}).",
        )
    return "\n".join([*lines, *([f"Caution: {run['reason']}"] if run["reason"] else [])])


def _wanted(run: dict) -> str:
    least = int(run["at_least"])
    return "an opening day" if least == 1 else f"at least {_small(least)} opening days"


def _days(row) -> str:
    return f"{_small(int(row['days']))} day{'s' * (int(row['days']) != 1)}"


def _small(number: int) -> str:
    return SMALL[number] if number < len(SMALL) else str(number)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]

"""Key numbers out of the fitted tables: curves, seasons, estimates, windows."""

from __future__ import annotations

import re

import pandas as pd

from analysis.show.wording import words
from analysis.show.wording.number import (
    chance_text,
    judged,
    may_state,
    number,
    reason_of,
    refusal,
    refused,
    series_key,
)

SERIES = ["band", "mechanism", "path_type"]
SHORT_RUN = 3
ANYWHERE = ("", "all", "any")
COMPARED = {
    "above": "more than in a usual season",
    "below": "fewer than in a usual season",
    "normal": "about as in a usual season",
    "provisional": "too little is known to say whether that is many",
}


UNUSUAL = {"below": "fewer", "above": "more"}


def curve_numbers(table: pd.DataFrame, *, x: str) -> dict:
    """For each series its name and verdict, and where its curve is highest and lowest.

    Parameters
    ----------
    table : DataFrame
        `daily` with x="hour" or `season` with x="season_day"; columns in DEVELOPERS.md.
    """
    numbers = {}
    for _, rows in table.groupby(SERIES, observed=True, sort=False):
        first = rows.iloc[0]
        named = {"mechanism": first["mechanism"], "path_type": first["path_type"]}
        key = series_key(band=first["band"], **named)
        name = words.series(band_name=first["band"], **named)
        if x == "hour":
            numbers[f"{key}_name"] = number(text=name, n=first["seasons"], unit="series") | judged(first)
        drawn = rows[rows["chance"].notna()]
        what = "hour" if x == "hour" else "day"
        if not may_state(first) or drawn.empty:
            numbers[f"{key}_best_{what}"] = numbers[f"{key}_best_{what}_chance"] = refusal(first)
            continue
        numbers |= _place(drawn.iloc[int(drawn["chance"].argmax())], f"{key}_best_{what}", x=x)
        if x == "hour":
            numbers |= _place(drawn.iloc[int(drawn["chance"].argmin())], f"{key}_worst_{what}", x=x)
    return numbers


def _place(row: pd.Series, key: str, *, x: str) -> dict:
    """One place on a curve: where it is and the chance there."""
    about, n = {"tier": row["tier"], "verdict": row["verdict"]}, row["n_monitored"]
    unit = "season day" if x == "season_day" else f"{'sun-phase' if row['axis'] == 'sun' else 'solar'} hour"
    text = words.day(f"{words.COMMON_YEAR}-{row['date']}") if x == "season_day" else FORMS[unit](row["hour"])
    chance = chance_text(row["chance"], low=row["low"], high=row["high"], tier=row["tier"])
    ends = {"low": row["low"], "high": row["high"]}
    found = {
        key: number(row[x], text=text, unit=unit, n=n) | about,
        f"{key}_chance": number(row["chance"], text=chance, unit="chance", n=n, **ends) | about,
    }
    if pd.notna(row.get("bound_high")):
        ends = {"low": row["bound_low"], "high": row["bound_high"]}
        found[f"{key}_bounds"] = number(text=words.percents(**ends), unit="chance", n=n, **ends) | about
    return found


def season_numbers(seasons: pd.DataFrame, *, latest: int | None) -> dict:
    """Opening days and index of every season; the latest one also under a name of its own.

    Parameters
    ----------
    seasons : DataFrame
        `scope band mechanism path_type season opening_days monitored_days index low high tier verdict reason`.
    """
    numbers: dict[str, dict] = {}
    seasons = seasons.dropna(subset="season").astype({"season": "int64"})
    for row in seasons.to_dict("records"):
        key = series_key(band=row["band"], mechanism=row["mechanism"], path_type=row["path_type"])
        found = _season(row)
        names = [str(row["season"])] + (["latest"] if row["season"] == latest else [])
        numbers |= {f"{key}_{name}_{what}": one for name in names for what, one in found.items()}
    return numbers | _unusual(seasons)


def _unusual(seasons: pd.DataFrame) -> dict:
    """For each series the seasons outside what the others would lead one to expect."""
    numbers = {}
    outside = seasons[seasons["verdict"].isin(UNUSUAL) & (seasons["tier"] != "C")]
    for _, rows in outside.groupby(SERIES, observed=True, sort=False):
        first = rows.iloc[0]
        key = series_key(band=first["band"], mechanism=first["mechanism"], path_type=first["path_type"])
        told = [
            f"{word} in {words.listed(rows.loc[rows['verdict'] == verdict, 'season'].astype(str))}"
            for verdict, word in UNUSUAL.items()
            if (rows["verdict"] == verdict).any()
        ]
        numbers[f"{key}_unusual_seasons"] = number(len(rows), text=words.listed(told), unit="seasons")
    return numbers


def _days_text(row: dict) -> str:
    return f"{words.counted(row['opening_days'], 'day')} {words.SCOPES[row['scope']]}"


def _season(row: dict) -> dict:
    if row["verdict"] == "refuse" or row["tier"] == "C" or pd.isna(row["opening_days"]):
        blank = refused(reason_of(row), unit="days", tier=row["tier"])
        return {"opening_days": blank, "monitored_days": blank, "compared": blank}
    found = {
        "opening_days": number(
            int(row["opening_days"]),
            text=_days_text(row),
            n=int(row["monitored_days"]),
            unit="days",
        )
        | judged(row),
        "days_listened": number(
            int(row["opening_days"]),
            text=f"{words.count(row['opening_days'])} of {words.counted(row['monitored_days'], 'day')} listened to "
            + words.SCOPES[row["scope"]],
            n=int(row["monitored_days"]),
            unit="days",
        )
        | judged(row),
        "monitored_days": number(int(row["monitored_days"]), noun="day"),
        "compared": number(text=COMPARED.get(row["verdict"], ""), unit="comparison") | judged(row),
    }
    if pd.notna(row["index"]):
        text = estimate_text(row["index"], row["low"], row["high"], unit="times the usual")
        ends = {"low": row["low"], "high": row["high"]}
        found["index"] = number(row["index"], text=text, unit="times the usual", **ends) | judged(row)
    return found


def estimate_numbers(estimates: pd.DataFrame) -> dict:
    """Every row of the estimates table, worded by its unit.

    Parameters
    ----------
    estimates : DataFrame
        `what band mechanism path_type value low high unit n method tier verdict reason`.
    """
    numbers = {}
    for row in estimates.to_dict("records"):
        series = series_key(band=row["band"], mechanism=row["mechanism"], path_type=row["path_type"])
        key = f"{series}_{slug(row['what'])}"
        if not may_state(row):
            numbers[key] = refusal(row, unit=row["unit"])
            continue
        if pd.isna(row["value"]):  # a test without a size of its own: its verdict is all there is
            numbers[key] = number(text=row["verdict"], unit="verdict", n=row["n"]) | judged(row)
            continue
        ends = {"low": row["low"], "high": row["high"], "unit": row["unit"]}
        text = estimate_text(row["value"], **ends)
        numbers[key] = number(row["value"], text=text, n=row["n"], **ends) | judged(row)
        if row["unit"] != "sun-phase hour":  # its words name stretches of the day already
            spanned = number(text=span_text(**ends), unit=row["unit"])
            numbers[f"{key}_range"] = spanned | {"tier": row["tier"]}
    return numbers


def window_numbers(windows: pd.DataFrame) -> dict:
    """For each series and direction the near-best starts, and the best window's dates and chance.

    Parameters
    ----------
    windows : DataFrame
        `band mechanism direction start days chance low high near_best seasons tier verdict reason`.
    """
    numbers = {}
    groups = windows.groupby(["band", "mechanism", "direction"], observed=True, sort=False, dropna=False)
    for _, rows in groups:
        first = rows.iloc[0]
        key = window_key(first)
        good = rows[rows["chance"].notna()]
        if not may_state(first) or good.empty:
            numbers[key] = refusal(first)
            continue
        best = best_window(good)
        numbers[f"{key}_name"] = number(text=_toward(first), unit="name")
        numbers |= _window(best, good[good["near_best"].astype(bool)], key)
    return numbers


def best_window(windows: pd.DataFrame) -> pd.Series:
    """The window of one series that every text and picture calls the best.

    Where chances tie, as they do at midsummer, more open hours decide.
    """
    ranked = windows.assign(sure=windows["chance"].round(2), hours=windows.get("expected_hours", 0.0))
    return ranked.sort_values(["sure", "hours"], ascending=False, kind="stable").iloc[0]


def window_key(row) -> str:
    """Name inside key numbers of a row of the windows table: `6m_es_window`, `2m_tr_sea_window`."""
    return (
        series_key(band=row["band"], mechanism=row["mechanism"], path_type=slug(_direction(row))) + "_window"
    )


def _direction(row) -> str:
    return "" if pd.isna(row["direction"]) or row["direction"] in ANYWHERE else str(row["direction"])


def _toward(row) -> str:
    """A series in words with its path type or its direction."""
    direction = _direction(row)
    path = direction if direction in words.PATHS else "all"
    name = words.series(band_name=row["band"], mechanism=row["mechanism"], path_type=path)
    return f"{name} toward the {direction}" if direction and path == "all" else name


def _window(best: pd.Series, near: pd.DataFrame, key: str) -> dict:
    start = pd.Timestamp(best["start"])
    last = start + pd.Timedelta(days=int(best["days"]) - 1)
    about, n = {"tier": best["tier"], "verdict": best["verdict"]}, best["seasons"]
    chance = chance_text(best["chance"], low=best["low"], high=best["high"], tier=best["tier"])
    ends = {"low": best["low"], "high": best["high"]}
    starts = starts_text(near["start"]) if len(near) else ""
    year = pd.Timestamp(near["start"].max() if len(near) else start).year  # told behind the last first day
    return {
        key: number(start.date().isoformat(), text=words.run_of_days(start, last), unit="dates", n=n) | about,
        f"{key}_year": number(year, text=str(year), unit="year"),
        f"{key}_days": number(int(best["days"]), noun="day"),
        f"{key}_at_least": number(int(best.get("at_least", 1)), noun="opening day"),
        f"{key}_chance": number(best["chance"], text=chance, unit="chance", n=n, **ends) | about,
        **_expected(best, key),
        f"{key}_near": number(len(near), text=starts, unit="first days", n=n) | about,
    }


def _expected(best: pd.Series, key: str) -> dict:
    """Opening days and open hours to expect in the best window, and what its check found, where told."""
    about, n = {"tier": best["tier"], "verdict": best["verdict"]}, best["seasons"]
    found = {}
    for name, what, noun, low, high in (
        ("expected", "expected_days", "opening days", "expected_low", "expected_high"),
        ("hours", "expected_hours", "open hours", "hours_low", "hours_high"),
    ):
        if pd.notna(best.get(what)) and pd.notna(best.get(low)):
            ends = {"low": best[low], "high": best[high]}
            text = f"{words.quantity(best[what])} {noun} ({words.quantity(best[low])} to {words.quantity(best[high])})"
            found[f"{key}_{name}"] = number(best[what], text=text, unit=noun.split()[1], n=n, **ends) | about
    if pd.notna(best.get("big_chance")):
        ends = {"low": best["big_low"], "high": best["big_high"]}
        text = chance_text(best["big_chance"], **ends, tier=best["tier"])
        found[f"{key}_big"] = number(best["big_chance"], text=text, unit="chance", n=n, **ends) | about
    if pd.notna(best.get("check")):
        found[f"{key}_check"] = number(text=best["check"], unit="check", n=n) | about
    return found


def starts_text(starts) -> str:
    """Near-best first days as runs of dates: `between 5 and 28 June or on 14 July`.

    Runs of one or two days are left out where there are longer ones: they are chips of the margin.
    """
    days = pd.Series(sorted(pd.to_datetime(pd.Series(list(starts)))))
    step = days.diff().min() if len(days) > 1 else pd.Timedelta(days=1)
    runs = [part for _, part in days.groupby((days.diff() > 2 * step).cumsum())]
    longest = max(map(len, runs))
    told = [
        words.between_days(run.iloc[0], run.iloc[-1]) for run in runs if len(run) >= min(longest, SHORT_RUN)
    ]
    return words.listed(told, last="or")


def slug(text: str) -> str:
    """Letters and digits of a phrase joined by underscores, lower case."""
    return "_".join(re.findall(r"[a-z0-9]+", str(text).lower()))


def estimate_text(value, low, high, *, unit: str) -> str:
    """A value in its unit's words, with the interval where there is one."""
    form = FORMS.get(unit, words.quantity)
    ends = (
        "" if pd.isna(low) or pd.isna(high) or form(low) == form(high) else f" ({form(low)} to {form(high)})"
    )
    return f"{form(value)}{'' if unit in FORMS or not unit else ' ' + unit}{ends}"


def span_text(low, high, *, unit: str) -> str:
    """An interval alone, in its unit's words; empty where there is none."""
    form = FORMS.get(unit, words.quantity)
    return "" if pd.isna(low) or pd.isna(high) else words.span(form(low), form(high))


def year_day(number: float) -> str:
    """Day and month of a day of a common year, which may lie in the year before or after."""
    return words.day(words.of_year(number))


FORMS = {
    "solar hour": words.clock,
    "sun-phase hour": words.sun_phase,
    "day of year": year_day,
    "chance": words.percent,
    "share": words.percent,
}
"""How a value is written, by its unit."""

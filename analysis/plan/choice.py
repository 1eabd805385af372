"""Which weeks to take off: windows that fit the wishes, their chances, and what each choice loses."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from analysis.fit.ahead.days import DaySeries, assess_days
from analysis.fit.ahead.next_season import UNHEARD, coming_season, is_southern, season_dates
from analysis.fit.ahead.windows import BIG, DRAWING, EXPECTED, Dates, Drawing, refused_row, series_windows
from analysis.gather.problems import InputError
from analysis.plan.constraints import Wishes, calendar, check
from analysis.plan.update import begun
from analysis.tag.sun import season_of

KEYS = ["band", "mechanism", "direction"]
NUMBERS = ["chance", "low", "high", "at_least", *EXPECTED, *BIG]
CHOICE = ["near_best", "loss", "loss_high", "hours_lost"]
ABOUT = ["seasons", "tier", "verdict", "reason", "check", "skill", "skill_low", "skill_high"]
COLUMNS = [*KEYS, "start", "end", "days", "leave_days", *NUMBERS, *CHOICE, *ABOUT]
RUNNING_UNTIL = 100  # days after midsummer up to which a season is still worth planning for (judgement)
STRICTEST = ("refuse", "provisional", "ok")


def plan_windows(
    series: Sequence[DaySeries],
    wishes: Wishes,
    *,
    next_season: int | None = None,
    drawing: Drawing = DRAWING,
) -> pd.DataFrame:
    """Every window of next season that the wishes allow, with its chances in each series.

    Parameters
    ----------
    series : list of DaySeries
        Bands, mechanisms and directions wanted; `together` joins them into one.
    wishes : Wishes
    next_season : int, optional
        Season to plan; by default the one that holds the earliest date wished for, else the one after
        the last, or a later one if that is over on `wishes.today`.
    drawing
        As for `fit.windows.window_chance`.

    Returns
    -------
    DataFrame
        `COLUMNS`: what `fit.windows.series_windows` gives for each window allowed, its `end` (last day)
        and `leave_days`. In a season that has begun the chances heed what
        it has brought so far. A refused series has one row with blank numbers and the reason.

    Raises
    ------
    InputError
        If the wishes make no sense or no window fits them.
    """
    check(wishes)
    tables = [_plan(one, wishes, season=_season(one, wishes, next_season), drawing=drawing) for one in series]
    plan = pd.concat(tables, ignore_index=True) if tables else pd.DataFrame(columns=COLUMNS)
    return plan.astype({"at_least": "Int64", "leave_days": "Int64"})


def together(series: Sequence[DaySeries], *, name: str = "any") -> DaySeries:
    """Several series as one: a day is open if an opening starts in any of them.

    A day is monitored if one of them was listened to, so where another was not the chance is rather too
    low than too high. Refused series are left out while others remain; of those the weakest tier holds,
    and in it the best verdict.

    Raises
    ------
    ValueError
        If there is no series.
    """
    if not series:
        raise ValueError("no series to join")
    able = [one for one in series if one.verdict.status != "refuse"] or list(series)
    days = pd.concat([one.days for one in able]).groupby("date", as_index=False)
    columns = {"max_km": ("max_km", "max")} if all("max_km" in one.days for one in able) else {}
    joined = days.agg(
        season=("season", "first"),
        season_day=("season_day", "first"),
        monitored=("monitored", "any"),
        open=("open", "any"),
        n_openings=("n_openings", "sum"),
        open_hours=("open_hours", "sum"),
        **columns,
    )
    joined["open"] &= joined["monitored"]
    tier = max(one.verdict.tier for one in able)
    # Together there are more opening days than in any of them, so the best of the weakest tier speaks.
    weakest = [one.verdict for one in able if one.verdict.tier == tier]
    verdict = max(weakest, key=lambda verdict: STRICTEST.index(verdict.status))
    keys = [
        " ".join(dict.fromkeys(values)) for values in zip(*(one.keys().values() for one in able), strict=True)
    ]
    return DaySeries(keys[0], keys[1], name, joined, assess_days(joined, verdict))


def near_best_runs(plan: pd.DataFrame) -> pd.DataFrame:
    """Near-best windows as runs of first days, one row per run.

    Returns
    -------
    DataFrame
        `band mechanism direction first last` (earliest and latest first day), `windows`, and of the
        run's best window `start end days leave_days chance low high at_least` and what is expected of it,
        and the series' `tier verdict reason seasons check`.
    """
    good = plan[plan["near_best"].astype(bool)].sort_values([*KEYS, "start"])
    gap = (good["start"].diff() != pd.Timedelta(days=1)) | (good[KEYS] != good[KEYS].shift()).any(axis=1)
    run = gap.cumsum()
    # Where chances tie, as they do at midsummer, more open hours decide.
    ranked = good.assign(run=run, sure=good["chance"].round(2)).sort_values(
        ["sure", "expected_hours", "start"], ascending=[False, False, True]
    )
    best = ranked.drop_duplicates("run").set_index("run").sort_index()
    spans = good.groupby(run)["start"].agg(first="min", last="max", windows="size")
    columns = [
        "start",
        "end",
        "days",
        "leave_days",
        *NUMBERS,
        "tier",
        "verdict",
        "reason",
        "seasons",
        "check",
    ]
    table = best[KEYS].join(spans).join(best[columns])
    return table.reset_index(drop=True)


def _season(one: DaySeries, wishes: Wishes, next_season: int | None) -> int:
    if next_season is not None:
        return next_season
    if wishes.earliest is None:
        return max(coming_season(one.days), _still_ahead(one, wishes)) if one.days["monitored"].any() else 0
    first = pd.Series([wishes.earliest]).dt.tz_localize("UTC")
    return int(season_of(first, lat=-1.0 if is_southern(one.days) else 1.0)["season"].iloc[0])


def _still_ahead(one: DaySeries, wishes: Wishes) -> int:
    """The season whose better half is not over on the day on which the plan is made; 0 if nobody said."""
    if wishes.today is None:
        return 0
    now = season_of(
        pd.Series([wishes.today]).dt.tz_localize("UTC"), lat=-1.0 if is_southern(one.days) else 1.0
    ).iloc[0]
    return int(now["season"]) + bool(now["season_day"] > RUNNING_UNTIL)


def _plan(one: DaySeries, wishes: Wishes, *, season: int, drawing: Drawing) -> pd.DataFrame:
    """Rows of one series: the windows allowed, with what they cost and how far they can be trusted."""
    if one.verdict.status == "refuse":
        refused = refused_row(one, length=wishes.length, reason=one.verdict.reason)
        return refused.reindex(columns=COLUMNS)
    dates = _allowed(one, wishes, season)
    ahead = (dates["date"] > one.days["date"].max())[dates["allowed"]].all()
    table = series_windows(
        one,
        season=season,
        length=wishes.length,
        at_least=wishes.at_least,
        dates=Dates(
            usable=None if dates["usable"].all() else dates["usable"].to_numpy(),
            allowed=dates["allowed"].to_numpy(),
        ),
        so_far=begun(one, season=season) if ahead else None,
        drawing=drawing,
    )
    table = table[dates["allowed"].reindex(table.index) & table["chance"].notna()]
    if table.empty:
        table = refused_row(one, length=wishes.length, reason=UNHEARD)
        return table.reindex(columns=COLUMNS)
    table = table.assign(leave_days=dates["leave_days"])
    return table.assign(end=table["start"] + pd.Timedelta(days=wishes.length - 1))[COLUMNS]


def _allowed(one: DaySeries, wishes: Wishes, season: int) -> pd.DataFrame:
    """Dates of the season against the wishes, as `constraints.calendar` gives them; what is over is barred."""
    dates = calendar(season_dates(season, southern=is_southern(one.days)), wishes)
    if wishes.earliest is None:
        dates["allowed"] &= dates["date"] > max(one.days["date"].max(), wishes.today or pd.Timestamp.min)
    if not dates["allowed"].any():
        between = f"between {dates['date'].iloc[0]:%Y-%m-%d} and {dates['date'].iloc[-1]:%Y-%m-%d}"
        raise InputError(
            f"no window of {wishes.length} days fits the dates given {between}; shorten it or loosen the dates"
        )
    return dates

"""One call for the whole plan: windows, hours, places and skeds of one operator, as finished tables."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from analysis.find.cells import reference_point
from analysis.fit.ahead.days import DaySeries
from analysis.fit.climatology import FREQUENCY_MHZ, published_foes, support_chance
from analysis.fit.estimate import Series
from analysis.gather.problems import InputError
from analysis.plan.choice import KEYS, RUNNING_UNTIL, near_best_runs, plan_windows, together
from analysis.plan.constraints import Wishes, check, in_hours
from analysis.plan.hours import days_in_hours
from analysis.plan.localtime import HOURS, alarms, hour_by_month, likely_directions
from analysis.plan.places import compare_places, direction_series, wanted
from analysis.plan.skeds import Sked, sked_table
from analysis.plan.update import rest_of_season

EVENTS_PER_SERIES = 3  # judgement: a calendar is for reading
CLIMATOLOGY = ["band", "month", "share_of_best", "label", "reason"]
LABEL = "climatology only: the published maps of foEs, not this region's reports"


@dataclass(frozen=True)
class Plan:
    """Finished tables of a plan; each function named below says which columns they have.

    `windows` (`choice.plan_windows`), `runs` of near-best windows (`choice.near_best_runs`), `rest` of a
    season that is running (`update.rest_of_season`), `hours` by month in local civil time
    (`localtime.hour_by_month`), `directions` (`localtime.likely_directions`), `alarms`
    (`localtime.alarms`), `places` (`places.compare_places`), `skeds` (`skeds.sked_table`), `events`, the
    runs worth a place in a calendar, and `climatology` (`climatology_months`) where contacts
    alone allow no more.
    """

    windows: pd.DataFrame
    runs: pd.DataFrame
    rest: pd.DataFrame
    hours: pd.DataFrame
    directions: pd.DataFrame
    alarms: pd.DataFrame
    places: pd.DataFrame
    skeds: pd.DataFrame
    events: pd.DataFrame
    climatology: pd.DataFrame


def make_plan(
    *,
    spots: pd.DataFrame,
    openings: pd.DataFrame,
    series: Sequence[Series],
    wishes: Wishes,
    places: Sequence[str] = (),
    sked: Sked | None = None,
) -> Plan:
    """Everything that next season's calendar needs.

    Parameters
    ----------
    spots, openings : DataFrame
        Tagged spots with `opening`, openings.
    series : list of Series
        Bands, mechanisms and path types wanted, with their days, which say where home is (`with_days`).
    wishes : Wishes
        What a window must fit; its `zone` is the operator's.
    places : list of str
        Up to ten locators to compare.
    sked : Sked, optional
        The partner to try with, and from where.

    Returns
    -------
    Plan
        Finished tables: windows, hours, directions, places, skeds and more.

    Raises
    ------
    InputError
        If the wishes or locators make no sense; one line says which.

    Examples
    --------
    >>> from analysis import Wishes, make_plan, open_tables, vhf_series, with_days
    >>> season = open_tables(None)  # the demo; the folder of your own review's tables in its place
    >>> spots = season.spots[season.spots["band"] == "6m"]
    >>> home = {"lon": -1.0, "lat": 43.5}
    >>> series = with_days(vhf_series(spots, season.listening), season.days, spots, season.listening, **home)
    >>> series = [one for one in series if one.mechanism == "ES"]
    >>> plan = make_plan(spots=spots, openings=season.openings, series=series, wishes=Wishes(length=7))
    >>> bool(plan.windows["chance"].between(0, 1).any())
    True
    """
    check(wishes)
    if not series:
        raise InputError("there are no reports on 8 m to 23 cm to plan from; add files with VHF reports")
    here = {"lon": series[0].lon, "lat": series[0].lat}
    whole = [days_in_hours(openings, one, hours=wishes.hours, zone=wishes.zone) for one in series]
    windows = _windows(spots, openings, series, whole, wishes, **here)
    runs = near_best_runs(windows)
    year = _year(windows, spots)
    hours = clock_hours(spots, series, zone=wishes.zone, year=year)
    return Plan(
        windows=windows,
        runs=runs,
        rest=_joined(
            [
                rest_of_season(one, length=wishes.length, at_least=wishes.at_least)
                for one in whole
                if _running(one)
            ]
        ),
        hours=hours,
        directions=_joined([_directions(spots, one, zone=wishes.zone, **here) for one in series]),
        alarms=_alarms(hours, wishes.hours),
        places=compare_places(
            places, spots, openings, series, zone=wishes.zone, year=year, hours=wishes.hours
        )
        if places
        else pd.DataFrame(),
        skeds=sked_table(
            series,
            spots,
            sked,
            zone=wishes.zone,
            hours=wishes.hours,
            year=year,
        )
        if sked
        else pd.DataFrame(),
        events=_events(runs[wanted(runs["direction"], wishes.toward)]),
        climatology=_joined([climatology_months(one.band, **here) for one in whole if _contacts_only(one)]),
    )


def climatology_months(band: str, *, lon: float, lat: float) -> pd.DataFrame:
    """Months of sporadic E by the published maps alone, for who has contacts only.

    Parameters
    ----------
    band : str
        8m, 6m, 5m, 4m or 2m.
    lon, lat : float
        Degrees east, north.

    Returns
    -------
    DataFrame
        `band month share_of_best label reason`: the chance that the layer above carries the band over
        1600 km, as a share of that in the best month. A shape, no chance of hearing anything; one row
        with the reason where the maps are not installed or do not reach the band.
    """
    blank = {"band": band, "label": LABEL}
    if band not in FREQUENCY_MHZ:
        reason = f"the published maps say nothing about {band}"
        return pd.DataFrame([blank | {"reason": reason}]).reindex(columns=CLIMATOLOGY)
    try:
        foes = published_foes(lat=lat, lon=lon)
    except ImportError as error:
        return pd.DataFrame([blank | {"reason": str(error)}]).reindex(columns=CLIMATOLOGY)
    chance = support_chance(foes, freq_mhz=FREQUENCY_MHZ[band])
    monthly = chance.groupby(foes["month"]).mean()
    table = pd.DataFrame({"month": monthly.index, "share_of_best": (monthly / monthly.max()).to_numpy()})
    reason = "extrapolated far beyond what the maps' makers measured" if band == "2m" else ""
    return table.assign(**blank, reason=reason)[CLIMATOLOGY]


def _windows(spots, openings, series, whole: list[DaySeries], wishes: Wishes, *, lon, lat) -> pd.DataFrame:
    """Windows of all series, of their quadrants, and of everything together."""
    able = [one for one in whole if one.verdict.status != "refuse"]
    parts = [
        toward
        for one, days in zip(series, whole, strict=True)
        if days.verdict.status != "refuse"
        for toward in direction_series(
            spots, openings, one, lon=lon, lat=lat, hours=wishes.hours, zone=wishes.zone
        )
    ]
    joint = [together(able)] if len(able) > 1 else []
    return plan_windows([*joint, *whole, *parts], wishes)


def _year(windows: pd.DataFrame, spots: pd.DataFrame) -> int:
    """Civil year of the season that is planned; the one after the last report where none can be."""
    starts = windows["start"].dropna()
    return int(starts.dt.year.mode().iloc[0]) if len(starts) else int(spots["time"].dt.year.max()) + 1


def clock_hours(spots: pd.DataFrame, series: Sequence[Series], *, zone: str, year: int) -> pd.DataFrame:
    """Chances by month and hour of the clock of every series, as `localtime.hour_by_month` gives them."""
    found = [_hours(spots, one, zone=zone, year=year) for one in series]
    return pd.concat(found, ignore_index=True) if found else pd.DataFrame(columns=list(HOURS))


def _hours(spots, one: Series, *, zone: str, year: int) -> pd.DataFrame:
    lon, lat = reference_point(spots, band=one.band, mechanism=one.mechanism, path_type=one.path_type)
    return hour_by_month(one, lon=lon, lat=lat, zone=zone, year=year)


def _directions(spots, one: Series, *, lon: float, lat: float, zone: str) -> pd.DataFrame:
    found = likely_directions(spots, **one.keys(), lon=lon, lat=lat, zone=zone)
    return found.assign(**one.keys())


def _alarms(hours: pd.DataFrame, awake: tuple[float, float]) -> pd.DataFrame:
    """Alarms of every series within the hours in which the operator can sit down."""
    if hours.empty:
        return hours
    hours = hours[hours["hour"].isna() | in_hours(hours["hour"] + 0.5, awake)]
    keys = ["band", "mechanism", "path_type"]
    found = [
        alarms(part).assign(**{key: part[key].iloc[0] for key in keys})
        for _, part in hours.groupby(keys, sort=False)
    ]
    return _joined(found)


def _running(one: DaySeries) -> bool:
    """Whether the last season heard has not passed its better half."""
    seen = one.days[one.days["monitored"]].sort_values("date")
    return bool((seen["season_day"].tail(1) < RUNNING_UNTIL).any())


def _contacts_only(one: DaySeries) -> bool:
    return one.mechanism == "ES" and one.verdict.tier == "C"


def _events(runs: pd.DataFrame) -> pd.DataFrame:
    """The best few runs of each series, the best first: what belongs into a calendar."""
    ranked = runs.sort_values("expected_days", ascending=False)
    return ranked.groupby(KEYS, sort=False).head(EVENTS_PER_SERIES)


def _joined(parts: list[pd.DataFrame]) -> pd.DataFrame:
    filled = [part for part in parts if len(part)]
    return pd.concat(filled, ignore_index=True) if filled else pd.DataFrame()

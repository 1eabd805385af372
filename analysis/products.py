"""Single products of a finished review: one operator's plan, the pictures, the article, the shack card."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import fields, replace
from datetime import datetime
from pathlib import Path

import pandas as pd

from analysis import folders, progress
from analysis.find.reach import HERE
from analysis.find.signs.heard import listening_days, station_days
from analysis.fit.estimate import Series
from analysis.fit.signs.uptime import uptime
from analysis.gather.problems import InputError
from analysis.plan.calendars import write_calendar
from analysis.plan.constraints import Wishes, in_hours
from analysis.plan.plan import Plan, make_plan
from analysis.plan.sites import place
from analysis.plan.skeds import Sked
from analysis.series import vhf_series, with_days
from analysis.show import charts
from analysis.show.charts.picture import Picture, captions
from analysis.show.gallery import gallery
from analysis.show.maps.places import places_map, stated_series
from analysis.show.papers import documents
from analysis.show.papers.article import article
from analysis.show.papers.beacon import beacon_page
from analysis.show.papers.card import write_card
from analysis.show.wording import plan_words
from analysis.show.wording.plan_numbers import plan_numbers, whole_series
from analysis.tables import Tables, write_csv, write_json

WRITERS: dict[str, Callable] = {
    ".md": documents.write_markdown,
    ".html": documents.write_html,
    ".docx": documents.write_docx,
    ".odt": documents.write_odt,
}


def write_plan(
    tables: Tables,
    out: Path,
    *,
    wishes: Wishes,
    bands: Sequence[str] = ("6m", "2m"),
    places: Sequence[str] = (),
    partner: str = "",
    partner_zone: str = "",
) -> Plan:
    """Make one operator's plan and leave its tables, calendar and two cards in `out`.

    Parameters
    ----------
    tables : Tables
        A finished review.
    out : Path
        Folder for `windows.csv`, `hours.csv` and the other tables of a plan, `plan.ics`, `card.pdf`
        and `portable_card.pdf`; what is not ours there stays, as `folders.refilled` says.
    wishes : Wishes
        Dates, hours and places that must fit.
    bands : list of str
    places : list of str
        Up to ten locators to compare.
    partner, partner_zone : str
        Locator of the other end of a sked, none without it, and the IANA name of its zone.

    Raises
    ------
    InputError
        If a wish makes no sense, or `out` holds something else.
    """
    lon, lat = place(tables.about.home)
    here = {"lon": lon, "lat": lat}
    with folders.refilled(out, product="plan") as new:
        every = vhf_series(tables.spots, tables.listening, beacons=tables.beacons, scope=HERE, **here)
        every = with_days(every, tables.days, tables.spots, tables.listening, **here)
        series = [one for one in every if one.band in bands]
        if not series:
            raise InputError(f"--band {' '.join(bands)}: no report of these bands is in the review")
        sked = Sked(home=tables.about.home, partner=partner, partner_zone=partner_zone or "UTC")
        plan = make_plan(
            spots=tables.spots,
            openings=tables.openings,
            series=series,
            wishes=wishes,
            places=places,
            sked=sked if partner else None,
        )
        _fill_plan(new, plan, tables=tables, series=series, wishes=wishes)
    return plan


def _fill_plan(folder: Path, plan: Plan, *, tables: Tables, series: Sequence[Series], wishes: Wishes) -> None:
    """Every product of a finished plan."""
    for field in fields(plan):
        table = getattr(plan, field.name)
        if len(table.columns):  # what was not asked for leaves no file
            write_csv(table, folder / f"{field.name}.csv", float_format="%.6g")
    write_calendar(
        folder / "plan.ics",
        plan_words.events(plan.events),
        when=pd.Timestamp(tables.about.data_until, tz="UTC"),
    )
    for picture in _plan_pictures(plan, series, home=tables.about.home, zone=wishes.zone):
        picture.save(folder)
    hours = plan.hours[plan.hours["hour"].isna() | in_hours(plan.hours["hour"] + 0.5, wishes.hours)]
    asked = {"windows": plan.windows, "hours": hours, "places": plan.places}
    told = plan_numbers(tables.key_numbers, **asked, zone=wishes.zone)
    planned = replace(tables, key_numbers=told, windows=whole_series(plan.windows))
    for name, portable in (("card.pdf", False), ("portable_card.pdf", True)):
        write_shack_card(planned, folder / name, portable=portable, hours=hours, zone=wishes.zone)


def _plan_pictures(plan: Plan, series: Sequence[Series], *, home: str, zone: str) -> Iterator[Picture]:
    for band, mechanism in dict.fromkeys((one.band, one.mechanism) for one in series):
        yield charts.hours_chart(plan.hours, band=band, mechanism=mechanism, zone=zone)
    if len(plan.places):
        yield charts.places_chart(plan.places)
        for one in stated_series(plan.places):
            yield places_map(plan.places, **one, home=home)


def write_figures(tables: Tables, out: Path, *, width: str = "full") -> dict:
    """Every picture of a review as PNG and SVG, with `captions.json`; returns the captions.

    Parameters
    ----------
    tables : Tables
        A finished review.
    out : Path
        Made if there is none; what is not ours there stays, as `folders.refilled` says.
    width : str
        "full", "column" (85 mm of a newsletter) or "slide".

    Raises
    ------
    InputError
        If `out` holds something else.
    """
    with folders.refilled(out, product="figures") as new:
        return draw_figures(tables, new, width=width)


def draw_figures(tables: Tables, folder: Path, *, width: str = "full") -> dict:
    """The files of `write_figures` in a folder that is ours alone."""
    drawn = []
    for picture in progress.each(gallery(tables, width=width), what="pictures", unit="pictures"):
        picture.save(folder)
        drawn.append(picture)
    told = captions(drawn)
    write_json(folder / "captions.json", told)
    return told


def write_shack_card(
    tables: Tables, path: Path, *, portable: bool = False, hours: pd.DataFrame | None = None, zone: str = ""
) -> Path | None:
    """The one-page card of a review; with `hours` of a plan, in local civil time.

    Returns
    -------
    Path or None
        Where another file that stood at `path` was put.
    """
    return folders.write_file(
        path, lambda new: write_card(new, tables, portable=portable, hours=hours, zone=zone)
    )


def write_beacon(tables: Tables, path: Path | None, *, call: str) -> Path | str | None:
    """One beacon's page, as .md, .html, .docx or .odt by the ending of `path`.

    Returns
    -------
    Path, str or None
        Without a path the page as text; else where another file that stood at `path` was put.

    Raises
    ------
    InputError
        If there is no such beacon, or the ending is none of these.
    """
    if path is not None and path.suffix.lower() not in WRITERS:
        raise InputError(f"{path}: the page is written as {', '.join(WRITERS)}; name one of these endings")
    call = call.strip().upper()
    heard = tables.beacons_heard
    own = heard[(heard["call"] == call) & (heard["n_reports"] > 0)]
    every = station_days(tables.spots)
    days = {str(band): listening_days(every, call=call, band=str(band)) for band in own["band"]}
    page = beacon_page(heard, {band: uptime(table) for band, table in days.items()}, call=call)
    if path is None:
        return documents.markdown_text(page)
    writer = WRITERS[path.suffix.lower()]
    dated = {} if path.suffix.lower() == ".md" else {"when": datetime.fromisoformat(tables.about.data_until)}
    return folders.write_file(path, lambda new: writer(page, new, figures=path.parent, **dated))


def write_article(
    tables: Tables,
    path: Path,
    *,
    figures: Path,
    captions: dict,
    club: str,
    agreed_calls: Sequence[str] = (),
    template: Path | None = None,
) -> Path | None:
    """The newsletter draft as .md, .html, .docx or .odt, by the ending of `path`.

    It bears the date of the newest report, so that the same review gives the same bytes.

    Returns
    -------
    Path or None
        Where another file that stood at `path` was put, for example an edited draft.

    Raises
    ------
    InputError
        If the ending is none of these.
    """
    writer = WRITERS.get(path.suffix.lower())
    if writer is None:
        raise InputError(f"{path}: the article is written as {', '.join(WRITERS)}; name one of these endings")
    blocks = article(tables.key_numbers, captions, club=club, agreed_calls=agreed_calls, template=template)
    dated = {} if path.suffix.lower() == ".md" else {"when": datetime.fromisoformat(tables.about.data_until)}
    return folders.write_file(path, lambda new: writer(blocks, new, figures=figures, **dated))

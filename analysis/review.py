"""The whole review: files to tables, tables to notebooks, pictures, page, article and card."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import pandas as pd

import analysis
from analysis import crosschecks, folders, keeping, products, progress, workbook
from analysis import tables as kept_tables
from analysis.anonymous import anonymous, coarse, invented
from analysis.find.days import days_table
from analysis.find.grouping.patches import find_patches
from analysis.find.listening import find_listening
from analysis.find.once import remembering
from analysis.find.openings import find_openings, opening_sensitivity
from analysis.find.reach import HERE
from analysis.fit.ahead.days import day_series
from analysis.fit.ahead.windows import windows_table
from analysis.fit.daily import daily_table
from analysis.fit.season import estimates_table, season_table, seasons_table
from analysis.fit.signs.brought import evidence_tables
from analysis.gather.evidence.files import (
    NO_EVIDENCE,
    Evidence,
    gather_evidence,
    nameless,
    parted,
    with_account,
)
from analysis.gather.evidence.kinds import kind_of_file
from analysis.gather.files import Gathered, gather_files
from analysis.gather.locators import clean, place
from analysis.gather.problems import InputError
from analysis.gather.store import add_to_store, read_store
from analysis.plan.constraints import time_zone
from analysis.plan.plan import clock_hours
from analysis.series import series_names, vhf_series, with_days, with_scope
from analysis.shipped import demo_evidence, demo_files, notebook_paths, source_files
from analysis.show.gallery import narrow_pngs
from analysis.show.page.answers import ten_lines
from analysis.show.page.opening_view import opening_view, shows
from analysis.show.page.page import write_page
from analysis.show.papers import documents
from analysis.show.papers.article import mailing
from analysis.show.wording.key_numbers import key_numbers
from analysis.signs import signs_tables, with_field_note
from analysis.tables import About, Tables
from analysis.tag.tags import tag_spots


@dataclass(frozen=True, kw_only=True)
class Owner:
    """Whose review it is.

    `home` is the own locator, by default the one that most contacts in the logs were made from; `station`
    the own call sign; `club` heads the article; `zone` is the IANA name of the zone in which hours are
    told beside UTC.
    """

    home: str = ""
    station: str = ""
    club: str = ""
    zone: str = "UTC"


NOBODY = Owner()
DEMO_OWNER = Owner(home="IN93", club="Lantern Point VHF Circle", zone="Europe/Madrid")


@remembering()
def analyse(gathered: Gathered, *, owner: Owner = NOBODY, evidence: Evidence = NO_EVIDENCE) -> Tables:
    """Tag, find and fit what was gathered: every table of a review.

    Parameters
    ----------
    gathered : Gathered
        From `gather_files` or `read_store`.
    owner : Owner
    evidence : Evidence
        From `gather_evidence`: what else the user knows.

    Raises
    ------
    InputError
        If no report is left to review, or nothing says where home is.
    """
    gathered = with_account(gathered, evidence)
    _refuse_nothing(gathered)
    home, zone, field = owner.home or _usual_locator(gathered.spots), owner.zone, evidence.field
    inputs = (home, gathered.spots, gathered.listening, gathered.beacons, field)
    found = keeping.kept("found", keeping.mark(*inputs), lambda: _found(gathered, home=home, field=field))
    fitted = keeping.kept(
        "fitted",
        keeping.mark(zone, *inputs),
        lambda: _fitted(found, beacons=gathered.beacons, home=home, zone=zone),
    )
    with progress.stage("what the user brought beside the reports"):
        brought = evidence_tables(found, evidence, lon=place(home)["lon"])
    spots, finished = found["spots"], found | fitted | brought | {"account": gathered.account}
    with progress.stage("key numbers"):
        numbers = key_numbers(finished, home=home, zone=zone)
    return Tables(
        about=_about(spots, replace(owner, home=home)),
        beacons=gathered.beacons,
        set_aside=gathered.set_aside,
        guesses=gathered.guesses,
        notes=with_field_note(gathered.notes, spots, field),
        key_numbers=numbers,
        **finished,
    )


def _found(gathered: Gathered, *, home: str, field: pd.DataFrame) -> dict[str, pd.DataFrame]:
    """What happened, by the names that tables have in a review: no chance is estimated yet."""
    n = len(gathered.spots)
    with progress.stage("paths, Sun and mechanisms", total=n, unit="rows"):
        spots = tag_spots(gathered.spots, disturbed=field, home_lat=place(home)["lat"])
    with progress.stage(f"who listened when, from {n:,} rows"):
        listening = find_listening(spots, declared=gathered.listening)
    with progress.stage(f"openings in {n:,} rows"):
        spots, openings = find_openings(spots, listening=listening, home=place(home))
        days = days_table(openings, spots, listening, series=series_names(spots, openings), **place(home))
    with progress.stage("openings by other rules, and patches as they moved"):
        others = {"sensitivity": opening_sensitivity(spots), "patches": find_patches(spots)}
    with progress.stage("what announced the openings"):
        signs = signs_tables(spots, openings, listening=listening, beacons=gathered.beacons, home=place(home))
    return {"spots": spots, "listening": listening, "openings": openings, "days": days, **others, **signs}


def _fitted(
    found: dict[str, pd.DataFrame], *, beacons: pd.DataFrame, home: str, zone: str
) -> dict[str, pd.DataFrame]:
    """The tables of chances, from every series with its fits; nothing here depends on who heads the article."""
    spots, listening = found["spots"], found["listening"]
    with progress.stage("half-hours that somebody watched"):
        series = vhf_series(spots, listening, beacons=beacons, scope=HERE, **place(home))
        series = with_days(series, found["days"], spots, listening, **place(home))
    for one in progress.each(series, what="curves", total=len(series), unit="series"):
        _ = one.fit, one.steady_fit
    with progress.stage("windows, and forecasts of seasons left out"):
        chances = [day_series(one) for one in series]
        windows = windows_table(chances)
        verification, reliability = crosschecks.verified(chances, windows)
    with progress.stage("tables of curves and seasons"):
        by_series = {
            "daily": daily_table(series),
            "season": season_table(series),
            "seasons": seasons_table(series),
            "estimates": estimates_table(series),
            "compared": crosschecks.compared(series),
            "published": crosschecks.published(series, spots),
        }
        hours = clock_hours(spots, series, zone=zone, year=int(spots["time"].max().year))
    by_direction = {"windows": windows, "verification": verification, "reliability": reliability}
    return {
        "hours": hours,
        **{name: with_scope(table, series) for name, table in by_series.items()},
        **{name: with_scope(table, series, by="direction") for name, table in by_direction.items()},
    }


def gather(files, *, store: str = "", home: str = "", station: str = "") -> Gathered:
    """What the user named: files, a season store, the files added to the store, or else the demo.

    Raises
    ------
    InputError
        If a file cannot be used at all, or home is no locator.
    """
    if home and not clean(pd.Series([home])).iloc[0]:
        raise InputError(f"--home {home}: is no locator; it has 4, 6 or 8 characters, like IN93 or IN93kd")
    brought = [path for path in files if kind_of_file(Path(path))]
    if brought:
        raise InputError(
            f"{brought[0]}: holds no reports but {kind_of_file(Path(brought[0]))}, which no store keeps; name it with "
            "review, each time"
        )
    if files and store:
        add_to_store(files, store=store, home=home, station=station)
    return read_store(store) if store else gather_files(files, home=home, station=station)


def demo_tables() -> Tables:
    """The demo's finished tables, worked out once and kept in the user's cache folder."""
    mark = kept_tables.fingerprint([*demo_files(), *demo_evidence(), *source_files()])
    folder = folders.cache_folder() / f"demo-{mark}"
    return kept_tables.kept(folder, _demo)


def _demo() -> Tables:
    evidence, spots = parted(demo_evidence())
    gathered = gather_files([*demo_files(), *spots])
    return analyse(gathered, owner=DEMO_OWNER, evidence=gather_evidence(evidence))


def open_tables(folder: str | Path | None) -> Tables:
    """Open the tables of a finished review: the notebooks' first line.

    Parameters
    ----------
    folder : path or None
        The `tables` folder of a review; None for the demo seasons, which are worked out the first time.

    Returns
    -------
    Tables
        Each table by its name in DEVELOPERS.md, such as `spots`, and `about`.

    Raises
    ------
    InputError
        If `folder` holds no finished review.

    Examples
    --------
    >>> from analysis import open_tables
    >>> open_tables(None).about.home
    'IN93'
    """
    return demo_tables() if folder is None else kept_tables.load(folder)


def review(
    files,
    *,
    out: str | Path,
    store: str = "",
    owner: Owner = NOBODY,
    hidden: bool = False,
) -> Path:
    """Make the whole review and leave it in `out`, complete or not at all.

    What somebody changed or added in an earlier review there stays, as `folders.refilled` says.

    Parameters
    ----------
    files : list of path
        Logs, spot tables, beacon lists and declared listening hours, and what the user knows beside them:
        noted forecasts, weather of the day, soundings, heights of the ground (`gather.evidence`);
        neither files nor a store means the demo seasons.
    out : path
        Folder to make, or one that an earlier command filled.
    store : path, optional
        Season store to add the files to and to review as a whole.
    owner : Owner
        Whose review it is.
    hidden : bool
        Name nobody: invented call signs and coarse locators, as `anonymous.anonymous` says. The store
        keeps what was read.

    Raises
    ------
    InputError
        If a file cannot be used, nothing says where home is, or `out` holds something else.
    """
    time_zone(owner.zone)  # a wrong name is told before the work
    with progress.stage("review"), folders.refilled(out, product="review") as new:
        if files or store:
            brought, reports = parted(files)
            if brought and not (reports or store):
                raise InputError("the files hold no report; add a log or a spot table")
            evidence = gather_evidence(brought)
            gathered = gather(reports, store=store, home=owner.home, station=owner.station)
            if hidden:
                evidence = nameless(evidence)
                gathered, station = anonymous(gathered), invented([owner.station])[owner.station]
                owner = replace(owner, home=coarse(owner.home), station=station)
            tables = analyse(gathered, owner=owner, evidence=evidence)
        else:
            tables = demo_tables()
        _fill(new, tables)
    return Path(out)


def _fill(folder: Path, tables: Tables) -> None:
    """Every product of a review, from its finished tables."""
    with progress.stage("writing tables"):
        kept_tables.save(tables, folder / "tables")
    # Notebooks run in processes of their own while we draw.
    with ThreadPoolExecutor(1) as kernels, workbook.stopped_with_us():
        running = kernels.submit(_run_notebooks, folder)
        words = products.draw_figures(tables, folder / "figures")
        notebooks = running.result()
    with progress.stage("page, article and card"):
        _write_papers(folder, tables, notebooks, words)


def _write_papers(folder: Path, tables: Tables, notebooks: list[Path], words: dict) -> None:
    first, title = ten_lines(tables).data, f"Season review from {tables.about.home}"
    (folder / "ten_lines.md").write_text(first + "\n", encoding="utf-8")
    write_page(notebooks, out=folder / "review.html", title=title, first=first, narrow=narrow_pngs(tables))
    _write_articles(folder, tables, words)
    _write_opening(folder / "opening.html", tables)
    products.write_shack_card(tables, folder / "card.pdf")


def _run_notebooks(folder: Path) -> list[Path]:
    runs = workbook.run_notebooks(folder / "notebooks", tables=folder / "tables")
    total = len(notebook_paths())
    return list(progress.each(runs, what="notebooks", total=total, unit="notebooks"))


def _write_articles(folder: Path, tables: Tables, words: dict) -> None:
    figures, club = folder / "figures", tables.about.club
    for ending in products.WRITERS:
        path = folder / f"article{ending}"
        products.write_article(tables, path, figures=figures, captions=words, club=club)
    short = mailing(tables.key_numbers, club=club)
    documents.write_markdown(short, folder / "mailing.md", figures=figures)


def _write_opening(path: Path, tables: Tables) -> None:
    """The opening of sporadic E that most stations shared, as it moved; nothing where there was none."""
    if shows(tables.openings):
        page = opening_view(tables.spots, tables.openings, patches=tables.patches, home=tables.about.home)
        path.write_text(page, encoding="utf-8")


def _about(spots: pd.DataFrame, owner: Owner) -> About:
    until = spots["time"].max()
    return About(
        **asdict(owner),
        sources=sorted(spots["source"].unique()),
        data_until="" if pd.isna(until) else f"{until:%Y-%m-%d}",
        version=analysis.__version__,
    )


def _refuse_nothing(gathered: Gathered) -> None:
    if gathered.spots.empty and gathered.set_aside.empty:
        raise InputError(
            "the files hold no report, only beacons or listening hours; add a log or a spot table"
        )
    if gathered.spots.empty:
        rows = gathered.set_aside
        first, n = rows.iloc[0], rows[["source", "source_row"]].drop_duplicates().shape[0]
        what = f"{first['source']}, row {first['source_row']}: {first['reason']}; {first['repair']}"
        raise InputError(f"none of {n} rows could be used; the first is {what}")


def _usual_locator(spots: pd.DataFrame) -> str:
    """Locator that most contacts were made from."""
    own = spots.loc[(spots["kind"] == "worked") & (spots["rx_locator"] != ""), "rx_locator"]
    if own.empty:
        raise InputError("no file says where home is; name your own locator, for example --home IN93")
    return own.mode().iloc[0]

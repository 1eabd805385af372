"""What each command of the command line does: options in, files and words on the screen out."""

from __future__ import annotations

import re
import shutil
import textwrap
from pathlib import Path

from analysis import folders
from analysis.gather.problems import InputError


def run_review(options) -> None:
    from analysis import review

    made = review.review(
        options.files,
        out=options.out,
        store=options.store,
        owner=review.Owner(home=options.home, station=options.station, club=options.club, zone=options.zone),
        hidden=options.anonymous,
    )
    for line in re.sub(
        r"\*\*|\\(?=\W|_)", "", (made / "ten_lines.md").read_text(encoding="utf-8")
    ).splitlines():
        first = "" if re.match(r"\d+\. ", line) else "   "
        width = shutil.get_terminal_size().columns
        print(textwrap.fill(line, width, initial_indent=first, subsequent_indent="   "))
    print(f"The review is ready: open {made / 'review.html'}")
    _tell_put_aside(folders.put_aside(made))


def run_gather(options) -> None:
    from analysis import review
    from analysis.gather import store

    before = store.sources(options.store)
    gathered = review.gather(options.files, store=options.store, home=options.home, station=options.station)
    print(gathered.account.to_string(index=False))
    if n := int(gathered.account["doubted"].sum()):
        print(f"{n} of the rows kept may be wrong; tables/doubts.csv of a review tells which, and why")
    new = ~gathered.guesses["source"].isin(before)  # what was told of earlier files is not told again
    for guess in gathered.guesses[new & (gathered.guesses["confidence"] < 1)].itertuples():
        said = f"column {guess.column!r} read as {guess.means} ({guess.confidence:.0%} sure: {guess.why})"
        print(f"{guess.source}: {said}: {guess.samples}")
    for note in gathered.notes.itertuples():
        print(f"{note.source}: {note.note}")


def run_plan(options) -> None:
    from analysis import products, review
    from analysis.plan.places import wanted
    from analysis.show.wording import plan_words

    folders.refuse_foreign(options.out)
    wishes = _wishes(options)
    tables = review.open_tables(_tables(options.review))
    plan = products.write_plan(
        tables,
        Path(options.out),
        wishes=wishes,
        bands=options.band or ("6m", "2m"),
        places=options.place,
        partner=options.partner,
        partner_zone=options.partner_zone,
    )
    lines = plan_words.told(plan.runs[wanted(plan.runs["direction"], wishes.toward)], plan.windows)
    lines = [*(lines or [plan_words.NONE]), *plan_words.places_told(plan.places)]
    print("\n".join([_data_until(tables), *lines]))
    print(f"In {options.out}: plan.ics for your calendar, two cards to print, the pictures and the tables")
    _tell_put_aside(folders.put_aside(options.out))


def _data_until(tables) -> str:
    from analysis.show.wording import words

    return f"Planned from reports up to {words.date(tables.about.data_until)}, seen from {tables.about.home[:4]}."


def _wishes(options):
    import pandas as pd

    from analysis.plan import constraints
    from analysis.plan.calendars import read_spans

    return constraints.Wishes(
        length=options.days,
        earliest=constraints.parse_date(options.earliest) if options.earliest else None,
        latest=constraints.parse_date(options.latest) if options.latest else None,
        weekdays=constraints.parse_weekdays(options.weekdays),
        within=tuple(span[:2] for path in options.within for span in read_spans(path, zone=options.zone)),
        avoid=tuple(span[:2] for path in options.avoid for span in read_spans(path, zone=options.zone)),
        country=options.country,
        subdivision=options.region,
        hours=constraints.parse_hours(options.hours),
        zone=options.zone,
        at_least=options.at_least,
        toward=tuple(options.toward),
        today=pd.Timestamp.today().normalize(),
    )


def run_article(options) -> None:
    import json

    from analysis import products, review

    tables = review.open_tables(_tables(options.review))
    figures = Path(options.review) / "figures"
    captions = json.loads((figures / "captions.json").read_text(encoding="utf-8"))
    agreed = Path(options.agreed).read_text(encoding="utf-8").split() if options.agreed else ()
    club = options.club or tables.about.club
    template = {"template": Path(options.template)} if options.template else {}
    aside = products.write_article(
        tables,
        Path(options.out),
        figures=figures,
        captions=captions,
        club=club,
        agreed_calls=agreed,
        **template,
    )
    print(f"The article is in {options.out}")
    _tell_put_aside([str(aside)] if aside else [])


def run_figures(options) -> None:
    from analysis import products, review

    folders.refuse_foreign(options.out)
    tables = review.open_tables(_tables(options.review))
    products.write_figures(tables, Path(options.out), width=options.width)
    print(f"The pictures and their captions are in {options.out}")
    _tell_put_aside(folders.put_aside(options.out))


def run_card(options) -> None:
    from analysis import products, review

    tables = review.open_tables(_tables(options.review))
    if not options.out.lower().endswith(".pdf"):
        raise InputError(f"{options.out}: the card is written as PDF; name a file that ends in .pdf")
    aside = products.write_shack_card(tables, Path(options.out), portable=options.portable)
    print(f"The card is in {options.out}")
    _tell_put_aside([str(aside)] if aside else [])


def run_beacon(options) -> None:
    from analysis import products, review

    tables = review.open_tables(_tables(options.review))
    path = Path(options.out) if options.out else None
    told = products.write_beacon(tables, path, call=options.call)
    if path is None:
        print(told)
        return
    print(f"The page is in {options.out}")
    _tell_put_aside([str(told)] if told else [])


def run_lab(options) -> None:
    from analysis import workbook
    from analysis.shipped import notebook_paths

    if options.out is None:
        folder = workbook.demo_folder()
        workbook.trust(notebook_paths())  # our own; a review's were signed when they ran here
    else:
        folder = _finished(options.out) / "notebooks"
    print(f"The notebooks are in {folder}; Ctrl-C ends JupyterLab")
    workbook.open_lab(folder)


def _tell_put_aside(names: list[str], *, shown: int = 4) -> None:
    """The last line on the screen: where files stand now that somebody had changed or added."""
    if names:
        more = f" and {len(names) - shown} more of that date" if len(names) > shown else ""
        print(f"Files that you had changed were kept, under new names: {', '.join(names[:shown])}{more}")


def _tables(out: str | None) -> Path | None:
    return None if out is None else _finished(out) / "tables"


def _finished(out: str) -> Path:
    if Path(out).is_file():
        raise InputError(f"{out}: is a file; name the folder that a review left")
    folders.finish(out)
    if not (Path(out) / "notebooks").is_dir():
        raise InputError(
            f"{out}: no finished review found; make one with: seasonbook review FILES --home LOCATOR --out {out}"
        )
    return Path(out)

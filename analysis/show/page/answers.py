"""What a notebook says in words: its first-line answer, and key numbers as a table to read."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
from IPython.display import HTML, Markdown

from analysis.show.page.searchable import listed
from analysis.show.papers.blocks import escape
from analysis.show.papers.templating import context, render
from analysis.show.wording import evidence_words
from analysis.show.wording.number import main_series

QUESTIONS = {
    "01_collected": "What did we collect, and who was listening?",
    "02_paths": "What paths are these, and where do they fall against the sun?",
    "03_openings": "When was the band open, and by which mechanism?",
    "04_hours": "At what hour do openings come: over land, over sea, over both?",
    "05_season": "When does the season start, peak and end, and was this one unusual?",
    "06_maps": "Where did each month open to?",
    "07_first_signs": "What gave the first sign, and how long before voice?",
    "08_plan": "Which weeks are worth taking off, and from where?",
    "09_club": "What do we tell the club?",
}
TEMPLATES = Path(__file__).parent / "templates"


def ten_lines(tables) -> Markdown:
    """The season in ten lines: what was, what comes, what cannot be said and what to do.

    Parameters
    ----------
    tables : analysis.tables.Tables
        Finished tables; only their key numbers are used.
    """
    lines = render(TEMPLATES / "ten_lines.md.j2", context(tables.key_numbers)).splitlines()
    return Markdown("\n".join(line for line in lines if line.strip()))


def answer(tables, question: int) -> Markdown:
    """First-line answer to one of the nine questions, in as many words as the data carry.

    Parameters
    ----------
    tables : analysis.tables.Tables
        Finished tables; only their key numbers are used.
    question : int
        1 to 9, as the notebooks are numbered.
    """
    words = render(TEMPLATES / "answers.md.j2", context(tables.key_numbers) | {"question": question})
    return Markdown("\n".join(line for line in words.splitlines() if line))


def brought(tables, *names: str) -> Markdown:
    """What the user's own evidence says, a line each, or which file would tell.

    Parameters
    ----------
    tables : analysis.tables.Tables
        Finished tables.
    *names : {"forecasts", "weather", "soundings", "neighbours", "land_sea"}
    """
    lines = [line for name in names for line in getattr(evidence_words, name)(getattr(tables, name))]
    return Markdown("\n".join(f"- {escape(line)}" for line in lines))


def overview(tables) -> Markdown:
    """The nine questions, each with the first line of its answer and a link to its notebook.

    Parameters
    ----------
    tables : analysis.tables.Tables
        Finished tables; only their key numbers are used.
    """
    lines = []
    for number, (file, question) in enumerate(QUESTIONS.items(), start=1):
        first = answer(tables, number).data.splitlines()[0].replace("**", "").removeprefix("- ")
        lines += [f"{number}. **[{question}]({file}.ipynb)**  ", f"   {first.rstrip(';.:')}."]
    return Markdown("\n".join(lines))


def numbers(tables) -> HTML:
    """Every key number as words print it, or why there is none."""
    table = pd.DataFrame.from_dict(tables.key_numbers, orient="index").reset_index(names="name")
    return listed(table[["name", "text", "n", "tier", "reason"]], file="key_numbers.json")


def told(tables, *kinds: str) -> HTML:
    """Key numbers of some kinds for the series worth writing about, as words print them.

    Parameters
    ----------
    tables : analysis.tables.Tables
        Finished tables.
    kinds : str
        Ends of names in the key numbers, such as "morning_peak".
    """
    numbers = tables.key_numbers
    rows = [
        {
            "series": numbers[f"{key}_name"]["text"],
            "number": kind.replace("_", " "),
            "says": found["text"] or f"refused: {found['reason']}",
            "evidence": found["tier"] or "",
            "verdict": found["verdict"] or "",
        }
        for key in main_series(numbers)
        for kind in kinds
        for found in [numbers.get(f"{key}_{kind}")]
        if found
    ]
    return listed(pd.DataFrame(rows, columns=["series", "number", "says", "evidence", "verdict"]))

"""What a notebook says in words: its first-line answer, and key numbers as a table to read."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
from IPython.display import Markdown

from analysis.show.templating import context, render

ANSWERS = Path(__file__).parent / "templates" / "answers.md.j2"


def answer(tables, question: int) -> Markdown:
    """First-line answer to one of the nine questions, in as many words as the data carry.

    Parameters
    ----------
    tables : analysis.tables.Tables
        Finished tables; only their key numbers are used.
    question : int
        1 to 9, as the notebooks are numbered.
    """
    words = render(ANSWERS, context(tables.key_numbers, {}) | {"question": question})
    return Markdown(" ".join(words.split()))


def told(tables, *kinds: str) -> pd.DataFrame:
    """Key numbers of some kinds for every series, with their ranges as words print them.

    Parameters
    ----------
    tables : analysis.tables.Tables
        Finished tables.
    kinds : str
        Ends of names in the key numbers, such as "morning_peak".

    Returns
    -------
    DataFrame
        `series number says tier verdict reason`; a refused number has empty `says` and its reason.
    """
    numbers = tables.key_numbers
    series = [name.removesuffix("_name") for name in numbers if name.endswith("_name")]
    rows = [
        {
            "series": numbers[f"{key}_name"]["text"],
            "number": kind.replace("_", " "),
            "says": found["text"],
            **{column: found[column] or "" for column in ("tier", "verdict", "reason")},
        }
        for key in series
        for kind in kinds
        for found in [numbers.get(f"{key}_{kind}")]
        if found
    ]
    return pd.DataFrame(rows, columns=["series", "number", "says", "tier", "verdict", "reason"])

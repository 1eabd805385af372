"""What a notebook says in words: its first-line answer, and key numbers as a table to read."""

from __future__ import annotations

from html import escape
from pathlib import Path

import pandas as pd
from IPython.display import HTML, Markdown

from analysis.show.number import main_series
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
    words = render(ANSWERS, context(tables.key_numbers) | {"question": question})
    return Markdown("\n".join(line for line in words.splitlines() if line))


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


def listed(table: pd.DataFrame, *, digits: int = 0) -> HTML:
    """A table to read: plain headings, no row numbers, thousands apart, times to the minute, text escaped.

    Parameters
    ----------
    table : DataFrame
        Finished rows in the order to show them.
    digits : int
        Decimals of the numbers that are not whole.
    """
    shown = table.rename(columns=lambda name: str(name).replace("_", " "))
    for name in shown.columns:
        if isinstance(shown[name].dtype, pd.DatetimeTZDtype):
            shown[name] = shown[name].dt.strftime("%Y-%m-%d %H:%M")
        elif pd.api.types.is_integer_dtype(shown[name]) and name != "season":
            shown[name] = shown[name].map("{:,}".format)
        elif not pd.api.types.is_float_dtype(shown[name]):
            shown[name] = shown[name].astype("object").map(_left)
    with pd.option_context("display.max_colwidth", None):
        html = shown.to_html(
            index=False, escape=False, float_format=f"{{:,.{digits}f}}".format, na_rep="–", border=0
        )
    return HTML(html)


def _left(value) -> str:
    """Text of a cell, escaped and on the left, where JupyterLab would put it on the right."""
    return f'<div style="text-align: left">{escape(str(value))}</div>'

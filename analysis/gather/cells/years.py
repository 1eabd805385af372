"""Days written without a year, completed from the file's name or a line above the table if they name one year."""

from __future__ import annotations

import re

import pandas as pd

from analysis.gather.cells import times

YEAR = r"(?<![0-9])(19[6-9][0-9]|20[0-9][0-9])(?![0-9])"
_MONTH = "|".join(times.MONTHS)
YEARLESS = (  # month-day, day.month., day and month in words; a time of day may follow
    r"(?P<month>0[1-9]|1[0-2])-(?P<day>[0-3][0-9])",
    r"(?P<day>[0-9]{1,2})\.(?P<month>[0-9]{1,2})\.",
    rf"(?P<day>[0-9]{{1,2}})[. -]*(?P<month>{_MONTH})[a-z]*\.?",
    rf"(?P<month>{_MONTH})[a-z]*\.? (?P<day>[0-9]{{1,2}})",
)
REST = r"(?P<rest>|[T ]\s*[0-9]{1,2}[:.h]?[0-9][0-9]\S*)"


def completed(text: pd.Series, *, year: str) -> pd.Series:
    """Days without a year as YYYY-MM-DD with what follows them, any other text as it is."""
    done = text
    for pattern in YEARLESS:
        parts = text.str.strip().str.lower().str.extract(f"^{pattern}{REST}$")
        month = parts["month"].replace({name: str(number) for name, number in times.MONTHS.items()})
        full = year + "-" + month.str.zfill(2) + "-" + parts["day"].str.zfill(2) + parts["rest"]
        done = done.where(full.isna(), full.astype("str"))
    return done


def yearless(text: pd.Series) -> pd.Series:
    """Mask of distinct cells that are days without a year (in some leap year)."""
    moved = completed(text, year="2024")
    return moved.ne(text) & times.dates(moved.str[:10]).notna()


def named_year(headings: pd.DataFrame, *, source: str) -> str:
    """The one year that the file's name or else the lines above and between the rows name, "" if none or several."""
    for text in (source, " ".join(headings["text"].astype("str"))):
        named = set(re.findall(YEAR, text))
        if named:
            return named.pop() if len(named) == 1 else ""
    return ""

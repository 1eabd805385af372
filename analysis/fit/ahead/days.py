"""Opening days of one series as the day model wants them, and whether they are enough."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pandas as pd

from analysis.fit.assess import DAYS_FOR_OK, DAYS_NEEDED, Verdict, assess
from analysis.fit.estimate import Series


@dataclass(frozen=True)
class DaySeries:
    """Days of one band, mechanism and direction (`days` as `model_days` returns them), and their verdict."""

    band: str
    mechanism: str
    direction: str
    days: pd.DataFrame
    verdict: Verdict

    def keys(self) -> dict[str, str]:
        """What names the series in every table."""
        return {"band": self.band, "mechanism": self.mechanism, "direction": self.direction}


def day_series(one: Series, *, direction: str | None = None) -> DaySeries:
    """Days of a series, judged before anything is fitted to them.

    Parameters
    ----------
    one : Series
        A series with its days.
    direction : str, optional
        What the windows table calls it; the path type by default.
    """
    days = model_days(one.days)
    verdict = assess_days(days, assess(one.cells, tier=one.tier))
    return DaySeries(one.band, one.mechanism, direction or one.path_type, days, verdict)


def model_days(days: pd.DataFrame) -> pd.DataFrame:
    """Rows of `find.days` under the names that the day model uses.

    Returns
    -------
    DataFrame
        `date season season_day monitored open n_openings open_hours max_km`, in order of date.
    """
    names = {"day": "date", "listened": "monitored"}
    table = days.rename(columns=names).assign(open_hours=days["opened_min"] / 60)
    return table[["date", "season", "season_day", "monitored", "open", "n_openings", "open_hours", "max_km"]]


def assess_days(days: pd.DataFrame, verdict: Verdict) -> Verdict:
    """A series' verdict, made stricter where its opening days are fewer than its half-hours suggest.

    A direction may have far fewer opening days than the whole series, and an opening must last half an
    hour to make a day.
    """
    if verdict.status == "refuse":
        return verdict
    n = int((days["monitored"] & days["open"]).sum())
    if n < DAYS_NEEDED:
        reason = f"only {n} days with an opening of half an hour or more, at least {DAYS_NEEDED} are needed"
        return Verdict("refuse", verdict.tier, (reason,), ("add seasons",))
    if n < DAYS_FOR_OK and verdict.status == "ok":
        reason = f"only {n} days with an opening of half an hour or more"
        return replace(verdict, status="provisional", reasons=(reason,), helps=("add seasons",))
    return verdict

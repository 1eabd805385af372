"""May these data carry a number at all? Asked first by every fit, answered in words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

HALF_HOURS_NEEDED = 600  # monitored ones below which a fitted curve errs as much as a flat line
DAYS_NEEDED = 10  # opening days below which it does
DAYS_FOR_OK = 40  # judgement: below, an interval is wider than a factor of two
SEASONS_FOR_OK = 4  # judgement: fewer do not tell how far seasons differ
OPEN_SHARE_LIMIT = 0.9  # more than this and something other than openings is being counted

STUB_SHARE = 0.1  # of the fullest season's listening, below which a season is not one of its own

LISTEN_LONGER = (
    "declare any hours you listened that no file tells yet, or add a receiver or beacon report that runs "
    "around the clock"
)
ALWAYS_OPEN = (
    "nearly every monitored half-hour counts as open, so signals that are always there are being counted",
    "leave out local stations and beacons that are heard all the time",
)
NAME_BEACONS = "a list of beacons, or reports of local stations, which say when senders were on"
POOL = "add seasons, or pool the spots of neighbouring regions"


@dataclass(frozen=True)
class Verdict:
    """Whether to fit: `status` ok, provisional or refuse; evidence `tier`; why; what would help."""

    status: str
    tier: str
    reasons: tuple[str, ...]
    helps: tuple[str, ...]

    @property
    def reason(self) -> str:
        """The reasons and the help as one piece of text, empty when nothing stands against a fit."""
        said = "; ".join(self.reasons)
        return f"{said}. What would help: {'; '.join(self.helps)}." if self.helps else said

    def but(self, reason: str) -> Verdict:
        """The same, provisional for a further reason where it is not refused already."""
        if self.status == "refuse":
            return self
        return Verdict("provisional", self.tier, (*self.reasons, reason), (*self.helps, NAME_BEACONS))

    def against(self, reason: str) -> Verdict:
        """Refused for this reason where it is not refused already."""
        return self if self.status == "refuse" else _refuse(self.tier, reason, NAME_BEACONS)


def monitored(cells: pd.DataFrame) -> pd.Series:
    """Mask of the half-hours in which somebody would have heard an opening."""
    return cells["n_listening"] > 0


def days_heard(cells: pd.DataFrame) -> int:
    """Days with a report in a monitored half-hour: what a curve is drawn from, no opening days (`find.days`)."""
    heard = cells.loc[monitored(cells) & (cells["n_detected"] > 0), ["season", "season_day"]]
    return len(heard.drop_duplicates())


def seasons_covered(season: pd.Series) -> np.ndarray:
    """Seasons in order, without those that hold less than a tenth of what the fullest holds.

    Files that end on New Year's Eve reach ten days into another season, which says nothing about it.
    """
    size = season.value_counts().sort_index()
    return size.index[size >= STUB_SHARE * size.max()].to_numpy(dtype="int64")


def assess(cells: pd.DataFrame, *, tier: str) -> Verdict:
    """Judge whether half-hour cells of one series can carry a curve.

    Parameters
    ----------
    cells : DataFrame
        Half-hours of one series, columns `season season_day n_listening n_detected`.
    tier : str
        A (monitors), B (opportunistic listeners) or C (contacts only).

    Returns
    -------
    Verdict
        refuse where a fitted curve would be no better than a flat line, provisional where it is
        indicative, ok otherwise.

    References
    ----------
    The thresholds come from simulated seasons with known truth (`benchmarks/fit.py` repeats them).
    """
    if tier == "C":
        return _refuse(
            tier,
            "contacts alone, and reports of the openings themselves, show when something got through, not "
            "when the band was shut: nobody knows how often you listened in vain",
            LISTEN_LONGER,
        )
    days = days_heard(cells)
    barred = _no_curve(cells, days=days)
    if barred:
        return _refuse(tier, *barred)
    reasons, helps = _cautions(cells, tier=tier, days=days)
    return Verdict("provisional" if reasons else "ok", tier, tuple(reasons), tuple(helps))


def always_open(tier: str) -> Verdict:
    """Refused: what is counted is there all the time."""
    return _refuse(tier, *ALWAYS_OPEN)


def all_false(tier: str) -> Verdict:
    """Refused: no more was heard than false reports make."""
    return _refuse(tier, "nearly all that was heard are lone reports, as many as false ones make", POOL)


def too_few_watched(tier: str, detected: int, needed: int) -> Verdict:
    """Refused: what watching buys cannot be learnt from so few reports."""
    reason = (
        f"only {detected} half-hours with a report between stations that were both known to be on the air, "
        f"{needed} are needed"
    )
    return _refuse(tier, reason, NAME_BEACONS)


def _no_curve(cells: pd.DataFrame, *, days: int) -> tuple[str, str] | None:
    """Reason and help where no curve may be drawn."""
    heard = cells.loc[monitored(cells), "n_detected"] > 0
    n = len(heard)
    if n == 0:
        return "nobody is known to have listened", LISTEN_LONGER
    if n < HALF_HOURS_NEEDED:
        return f"somebody listened in only {n:,} half-hours, {HALF_HOURS_NEEDED} are needed", LISTEN_LONGER
    if days == 0:
        return f"nothing was heard in {n:,} half-hours in which somebody listened", POOL
    if days < DAYS_NEEDED:
        return (
            f"only {days} days with a report, at least {DAYS_NEEDED} are needed; see the list of dates",
            POOL,
        )
    return ALWAYS_OPEN if heard.mean() > OPEN_SHARE_LIMIT else None


def _cautions(cells: pd.DataFrame, *, tier: str, days: int) -> tuple[list[str], list[str]]:
    """Reasons to call a fit provisional, and what would help."""
    reasons, helps = [], []
    n_seasons = len(seasons_covered(cells.loc[monitored(cells), "season"]))
    if tier == "B":
        reasons.append(
            "indicative: heard by people who happened to be on the air, not by receivers that always run"
        )
        helps.append(LISTEN_LONGER)
    if days < DAYS_FOR_OK:
        reasons.append(f"only {days} days with a report, so the curve is kept smooth")
        helps.append(POOL)
    if n_seasons == 1:
        reasons.append(
            "one season: it says what this season was like, a typical one may be three times more or less"
        )
    elif n_seasons < SEASONS_FOR_OK:
        reasons.append(f"only {n_seasons} seasons, so a typical one is known within about a factor of two")
    if n_seasons < SEASONS_FOR_OK:
        helps.append("add earlier seasons")
    return reasons, helps


def _refuse(tier: str, reason: str, help_: str) -> Verdict:
    return Verdict("refuse", tier, (reason,), (help_,))

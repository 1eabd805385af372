"""A program of somebody else's, for the strict type check alone: `mypy --strict tests/public_use.py`."""

from pathlib import Path

import pandas as pd

from analysis import (
    Sked,
    Wishes,
    counted,
    curve,
    find_listening,
    find_openings,
    fit_occupancy,
    fit_plain,
    gather_files,
    half_hours,
    make_plan,
    open_tables,
    path_half_hours,
    plain_curve,
    share_open,
    tag_spots,
    vhf_series,
)


def from_files(files: list[Path]) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """Spots, listening and openings of some files."""
    gathered = gather_files(files, home="IN93")
    tagged = tag_spots(gathered.spots)
    listening = find_listening(tagged, declared=gathered.listening)
    spots, openings = find_openings(tagged, listening=listening, gap_min=60)
    return spots, listening, openings


def from_review(folder: Path) -> list[str]:
    """Answers from a finished review."""
    season = open_tables(folder)
    cells = half_hours(season.spots, season.listening, band="6m", mechanism="ES")
    hours: pd.DataFrame = curve(fit_occupancy(cells), by="hour")
    plain: pd.DataFrame = plain_curve(cells, by="hour")
    terms: int = len(fit_plain(counted(cells)).params)
    path = path_half_hours(season.spots, season.listening, band="2m", mechanism="TR", to="IN78")
    share: float = share_open(path).value
    plan = make_plan(
        spots=season.spots,
        openings=season.openings,
        series=vhf_series(season.spots, season.listening),
        wishes=Wishes(length=7),
        sked=Sked(home="IN93", partner="JO62"),
    )
    return [f"{share:.3f}", f"{len(hours)}", f"{len(plain)}", f"{terms}", f"{len(plan.windows)}"]

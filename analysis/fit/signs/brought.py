"""What a user's own evidence adds to a review: forecasts scored, weather and soundings beside openings, neighbours compared."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analysis.find.reach import REGION
from analysis.find.signs import ducts
from analysis.find.signs.spread import spreads
from analysis.find.signs.states import AREA, area_states, day_states, here_or_region
from analysis.fit.signs import forecast, weather
from analysis.fit.signs.nearby import neighbours_table
from analysis.gather.evidence.files import Evidence
from analysis.gather.evidence.rows import areas
from analysis.physics.ducting import coupling_loss_db

BANDS_MHZ = {
    "6m": 50.3,
    "4m": 70.2,
    "2m": 144.3,
    "70cm": 432.2,
}  # where most reports are (common practice, no source)
WOULD_TELL = {  # what file would answer, where none was given
    "forecasts": "no noted forecast was given; a CSV with day issued, day meant and index would be scored",
    "weather": "no weather of the day was given; a CSV with date, pressure, temperature, thunder and warm front "
    "would be held against the openings",
    "soundings": "no sounding was given; a CSV with time, height or pressure, temperature and humidity or dew "
    "point, or a folder of them, would show the ducts",
}


def evidence_tables(
    tables: dict[str, pd.DataFrame], evidence: Evidence, *, lon: float
) -> dict[str, pd.DataFrame]:
    """Tables by the name they have in `Tables`, from what was found in the reports and what the user brought.

    Parameters
    ----------
    tables : dict
        `spots listening days` and what else a review has found.
    evidence : Evidence
        As `gather_evidence` reads it; what is not there is told in one line of the table that it would fill.
    lon : float
        Home [degrees east].
    """
    spots, days = tables["spots"], tables["days"]
    pairs = _pairs(evidence.forecasts, days, spots) if len(evidence.forecasts) else forecast.NO_PAIRS
    found = ducts.with_openings(ducts.ducts_table(evidence.soundings), days, lon=lon)
    beside = _beside(evidence.weather, ducts.daily_ducts(found))
    linked = weather.weather_table(beside, days, spreads(spots)) if len(beside) else pd.DataFrame()
    made = {"forecasts": forecast.forecast_scores(pairs), "weather": linked, "soundings": found}
    return {name: _or_line(table, name) for name, table in made.items()} | {
        "forecast_levels": forecast.forecast_levels(pairs),
        "neighbours": neighbours_table(spots, tables["listening"], ground=evidence.ground),
        "land_sea": land_sea(days),
    }


def _or_line(table: pd.DataFrame, name: str) -> pd.DataFrame:
    """A table, or one line that says which file would fill it."""
    columns = {"forecasts": forecast.COLUMNS, "weather": weather.COLUMNS, "soundings": list(table)}[name]
    line = {"verdict": "refuse", "reason": WOULD_TELL[name]}
    if table.empty:
        return pd.DataFrame([line], columns=list(dict.fromkeys([*list(columns), *line, "method"])))
    return table.assign(verdict="", reason="", method="") if name == "soundings" else table


def _beside(noted: pd.DataFrame, by_day: pd.DataFrame) -> pd.DataFrame:
    """What was noted of each day's weather, with what its soundings showed."""
    if by_day.empty:
        return noted
    return noted.merge(by_day, on="day", how="outer") if len(noted) else by_day


def land_sea(days: pd.DataFrame) -> pd.DataFrame:
    """Opening days by tropo over land and over sea, beside what a duct over sea costs each band.

    Returns
    -------
    DataFrame
        `band coupling_loss_db days_listened land_days sea_days land_share sea_share`, of the region's days with listening;
        the loss is ITU-R P.2001's for paths wholly over sea.
    """
    tropo = days[(days["mechanism"] == "TR") & (days["scope"] == REGION)]
    rows = []
    for band, mhz in BANDS_MHZ.items():
        own = tropo[tropo["band"] == band]
        n = int(own.loc[own["path_type"] == "all", "listened"].sum())
        land, sea = (int(own.loc[own["path_type"] == kind, "open"].sum()) for kind in ("land", "sea"))
        shares = [opened / n if n else np.nan for opened in (land, sea)]
        rows.append([band, float(coupling_loss_db(mhz)), n, land, sea, *shares])
    columns = [
        "band",
        "coupling_loss_db",
        "days_listened",
        "land_days",
        "sea_days",
        "land_share",
        "sea_share",
    ]
    return pd.DataFrame(rows, columns=columns)


def _pairs(noted: pd.DataFrame, days: pd.DataFrame, spots: pd.DataFrame) -> pd.DataFrame:
    """Every day of the series that a forecast speaks of, with what was foretold for it at each lead."""
    parts = []
    for key, own in noted.groupby(["forecast", "area", "band", "mechanism"]):
        name, area, band, mechanism = map(str, key)  # type: ignore[arg-type]
        scope, states = here_or_region(days, band=band, mechanism=mechanism, least=forecast.LEAST)
        centre = areas(pd.Series([area], dtype="str")).iloc[0]
        if centre.notna().all():
            scope, states = AREA, day_states(days, band=band, mechanism=mechanism, scope=REGION)
            mine = spots[(spots["band"] == band) & (spots["mechanism"] == mechanism)]
            states = area_states(states, mine, lon=centre["lon"], lat=centre["lat"])
        about = {"forecast": name, "area": area, "band": band, "mechanism": mechanism, "scope": scope}
        for lead in sorted(own["lead"].astype(int).unique()):
            told = own[own["lead"] == lead].groupby("meant")["index"].mean()
            parts.append(states.assign(**about, lead_days=lead, index=told.reindex(states["day"]).to_numpy()))
    return pd.concat(parts, ignore_index=True)

"""What a user's own evidence adds to a review: noted forecasts scored, weather beside openings, neighbours compared."""

from __future__ import annotations

from collections.abc import Callable

import pandas as pd

from analysis.find.reach import REGION
from analysis.find.signs.spread import spreads
from analysis.find.signs.states import AREA, area_states, day_states, here_or_region
from analysis.fit.signs import forecast, weather
from analysis.gather.evidence.files import Evidence
from analysis.gather.evidence.rows import areas

WOULD_TELL = {  # what file would answer, where none was given
    "forecasts": "no noted forecast was given; a CSV with day issued, day meant and index would be scored",
    "weather": "no weather of the day was given; a CSV with date, pressure, temperature, thunder and warm front "
    "would be held against the openings",
}


def evidence_tables(tables: dict[str, pd.DataFrame], evidence: Evidence) -> dict[str, pd.DataFrame]:
    """Tables by the name they have in `Tables`, from what was found in the reports and what the user brought.

    Parameters
    ----------
    tables : dict
        `spots days` and what else a review has found.
    evidence : Evidence
        As `gather_evidence` reads it; what is not there is told in one line of the table that it would fill.
    """
    spots, days = tables["spots"], tables["days"]
    pairs = _pairs(evidence.forecasts, days, spots) if len(evidence.forecasts) else None
    return {
        "forecasts": _or_line("forecasts", forecast.forecast_scores, pairs),
        "forecast_levels": forecast.forecast_levels(forecast.NO_PAIRS if pairs is None else pairs),
        "weather": _or_line(
            "weather",
            lambda brought: weather.weather_table(brought, days, spreads(spots)),
            evidence.weather if len(evidence.weather) else None,
        ),
    }


def _or_line(
    name: str, make: Callable[[pd.DataFrame], pd.DataFrame], brought: pd.DataFrame | None
) -> pd.DataFrame:
    """A table, or one line that says which file would fill it."""
    if brought is not None:
        return make(brought)
    columns = {"forecasts": forecast.COLUMNS, "weather": weather.COLUMNS}[name]
    line = {"verdict": "refuse", "reason": WOULD_TELL[name]}
    return pd.DataFrame([line], columns=list(dict.fromkeys([*columns, "method"])))


def _pairs(noted: pd.DataFrame, days: pd.DataFrame, spots: pd.DataFrame) -> pd.DataFrame:
    """Every day of the series that a forecast speaks of, with what was foretold for it at each lead."""
    parts = []
    for key, own in noted.groupby(["area", "band", "mechanism"]):
        area, band, mechanism = map(str, key)  # type: ignore[arg-type]
        scope, states = here_or_region(days, band=band, mechanism=mechanism, least=forecast.LEAST)
        centre = areas(pd.Series([area], dtype="str")).iloc[0]
        if centre.notna().all():
            scope, states = AREA, day_states(days, band=band, mechanism=mechanism, scope=REGION)
            mine = spots[(spots["band"] == band) & (spots["mechanism"] == mechanism)]
            states = area_states(states, mine, lon=centre["lon"], lat=centre["lat"])
        about = {"area": area, "band": band, "mechanism": mechanism, "scope": scope}
        for lead in sorted(own["lead"].astype(int).unique()):
            told = own[own["lead"] == lead].groupby("meant")["index"].mean()
            parts.append(states.assign(**about, lead_days=lead, index=told.reindex(states["day"]).to_numpy()))
    return pd.concat(parts, ignore_index=True)

"""Every chart, one door: finished tables in, a `Picture` out."""

from analysis.show.charts.account import account_chart, effort_chart
from analysis.show.charts.checks import climatology_chart, reliability_chart, two_seasons_chart
from analysis.show.charts.collected import mechanism_chart, paths_chart
from analysis.show.charts.curves import daily_chart, season_chart
from analysis.show.charts.drift import drift_chart
from analysis.show.charts.headings import headings_chart
from analysis.show.charts.openings import calendar_chart, openings_chart
from analysis.show.charts.plan import hours_chart, places_chart
from analysis.show.charts.seasons import seasons_chart
from analysis.show.charts.signs.climb import rungs_chart, voice_chart
from analysis.show.charts.signs.forecasts import forecasts_chart
from analysis.show.charts.signs.indicators import indicators_chart
from analysis.show.charts.signs.layer import layer_chart
from analysis.show.charts.signs.leads import leads_chart
from analysis.show.charts.windows import windows_chart

__all__ = [
    "account_chart",
    "calendar_chart",
    "climatology_chart",
    "daily_chart",
    "drift_chart",
    "effort_chart",
    "forecasts_chart",
    "headings_chart",
    "hours_chart",
    "indicators_chart",
    "layer_chart",
    "leads_chart",
    "mechanism_chart",
    "openings_chart",
    "paths_chart",
    "places_chart",
    "reliability_chart",
    "rungs_chart",
    "season_chart",
    "seasons_chart",
    "two_seasons_chart",
    "voice_chart",
    "windows_chart",
]

"""Every chart, one door: finished tables in, a `Picture` out."""

from analysis.show.charts_account import account_chart, effort_chart
from analysis.show.charts_checks import climatology_chart, reliability_chart, two_seasons_chart
from analysis.show.charts_collected import mechanism_chart, paths_chart
from analysis.show.charts_curves import daily_chart, season_chart
from analysis.show.charts_openings import openings_chart
from analysis.show.charts_plan import hours_chart, places_chart
from analysis.show.charts_seasons import seasons_chart, signs_chart
from analysis.show.charts_windows import windows_chart
from analysis.show.drift import drift_chart
from analysis.show.headings import headings_chart

__all__ = [
    "account_chart",
    "climatology_chart",
    "daily_chart",
    "drift_chart",
    "effort_chart",
    "headings_chart",
    "hours_chart",
    "mechanism_chart",
    "openings_chart",
    "paths_chart",
    "places_chart",
    "reliability_chart",
    "season_chart",
    "seasons_chart",
    "signs_chart",
    "two_seasons_chart",
    "windows_chart",
]

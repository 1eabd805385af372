"""What a user's own evidence says in words and in its picture: only what was shown, refusals as they are."""

import pandas as pd
import pytest

from analysis.fit.signs import brought, forecast
from analysis.show import charts
from analysis.show.wording import evidence_words

KEYS = {"area": "", "band": "2m", "mechanism": "TR", "scope": "here"}


def scores():
    """A forecast with skill at one day of two, and one without."""
    rows = [
        ("chart", 1, 0.4, forecast.SKILL),
        ("chart", 4, 0.1, forecast.NONE),
        ("rumour", 1, 0.0, forecast.NONE),
    ]
    table = pd.DataFrame(rows, columns=["forecast", "lead_days", "skill_persistence", "verdict"])
    ends = {
        "skill_persistence_low": table["skill_persistence"] - 0.05,
        "skill_persistence_high": table["skill_persistence"] + 0.05,
    }
    numbers = {"n_days": 300, "threshold": 5.0, "hits": 0.7, "false_alarms": 0.2, "roc": 0.8, "reason": ""}
    return table.assign(**KEYS, **ends, **numbers)


def levels():
    """Three levels, one of them of a single day."""
    rows = [(0.0, 100, 0.1), (5.0, 40, 0.6), (9.0, 1, 1.0)]
    table = pd.DataFrame(rows, columns=["index_low", "n", "share"])
    ends = {"index_high": table["index_low"], "low": table["share"] - 0.1, "high": table["share"] + 0.1}
    return table.assign(**KEYS, forecast="chart", lead_days=1, **ends)


def test_forecasts_are_told_with_their_reach():
    """How far ahead, from which index on; no skill is called so."""
    first, second = evidence_words.forecasts(scores())
    assert "up to 1 day ahead" in first
    assert "5 or more caught 70 % of open days and called 20 % of shut ones" in first
    assert "no skill shown" in second


@pytest.mark.parametrize("width", ["full", "slide"])
def test_the_picture_draws_what_the_table_says(width):
    """Filled marks where there is skill; a level of one day is not drawn; the title names the reach."""
    picture = charts.forecasts_chart(scores(), levels(), width=width)
    assert picture.title == "chart told more than calendar and persistence, up to 1\u00a0day ahead"
    assert "rumour, tropo on 2 m, 1" in picture.alt
    shown = picture.figure.axes[1].get_lines()[0].get_xydata()
    assert shown.tolist() == [[0.0, 0.1], [5.0, 0.6]]
    none = scores().assign(verdict=forecast.NONE)
    assert charts.forecasts_chart(none, levels()).title.startswith("No skill shown")


def test_what_was_not_brought_is_one_line():
    """The line names the file that would answer, in words and where the picture would stand."""
    for name, reason in brought.WOULD_TELL.items():
        line = pd.DataFrame([{"verdict": "refuse", "reason": reason}])
        assert getattr(evidence_words, name)(line) == [f"{reason[0].upper()}{reason[1:]}."]
    picture = charts.forecasts_chart(line, levels())
    assert not picture.figure.axes
    assert "CSV" in picture.alt


def test_weather_has_its_caution_and_counts_its_tests():
    """A link is told with its interval, the others are counted, lightning stands beside."""
    rows = pd.DataFrame({"factor": ["pressure", "thunder", "warm_front"], "what": "openings", "step": "1010 to 1020",
                         "n_days": 200, "value": [3.0, 1, 1], "low": 2.0, "high": 4.5, "p_holm": [0.001, 0.8, float("nan")],
                         "verdict": ["link", "no link shown", "refuse"], "reason": ""}).assign(**KEYS)  # fmt: skip
    link, rest, caution = evidence_words.weather(rows)
    assert (
        link
        == "pressure (1010 to 1020) goes with tropo on 2 m: odds of an opening day times 3 (2 to 4.5, 200 days)."
    )
    assert "1 of 2 tests" in rest
    assert "unplug" in caution


def test_neighbours_are_told_with_their_best_and_worst_heading():
    """The pair, its difference, and where the difference is largest and smallest."""
    about = {
        "station": "Q1UP",
        "other": "Q1DN",
        "km": 8.0,
        "band": "2m",
        "verdict": "differ",
        "reason": "",
        "n_same": 90,
    }
    rows = [("all", "", 6.0), ("heading", "N", 9.0), ("heading", "S", 3.0)]
    table = pd.DataFrame(rows, columns=["by", "which", "snr_db"]).assign(snr_low=5.0, snr_high=7.0, **about)
    (said,) = evidence_words.neighbours(table)
    assert (
        said
        == "Q1UP beside Q1DN (8 km), 2 m: +6.0 dB (5 to 7, 90 signals); +9.0 dB toward N, +3.0 dB toward S."
    )

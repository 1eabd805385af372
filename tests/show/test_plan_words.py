"""A plan in words."""

import pandas as pd
import pytest

from analysis.plan.calendars import read_spans, write_calendar
from analysis.show.wording import plan_words

ABOUT = {
    "band": "6m",
    "mechanism": "ES",
    "direction": "all",
    "days": 10,
    "at_least": 1,
    "seasons": 6,
    "tier": "A",
    "verdict": "ok",
    "reason": "",
    "leave_days": 8,
    "expected_days": 6.2,
    "expected_hours": 14.0,
    "hours_low": 9.0,
    "hours_high": 21.0,
    "check": "checked on 5 left-out seasons",
}


@pytest.fixture
def runs():
    """Two spells of near-best dates of one series."""
    first = pd.to_datetime(["2026-05-20", "2026-07-10"])
    last = pd.to_datetime(["2026-06-30", "2026-07-25"])
    best = pd.to_datetime(["2026-06-08", "2026-07-12"])
    dates = {"first": first, "last": last, "start": best, "end": best + pd.Timedelta(days=9)}
    return pd.DataFrame(dates | {"chance": [0.8, 0.9], "low": 0.7, "high": 0.95}).assign(**ABOUT)


def test_runs_are_told_with_what_other_dates_lose(runs):
    """Two spells of one series on one line, the best chance, and the loss outside them."""
    windows = pd.DataFrame({"near_best": [True, False, False], "hours_lost": [0.0, 0.2, 0.5]}).assign(**ABOUT)
    (line,) = plan_words.told(runs, windows)
    assert line.startswith(
        "Sporadic E on 6 m: ten days that begin between 20 May and 30 June 2026 or between"
    )
    assert (
        "the chance of an opening day is 90 % (70 to 95 %). Other dates lose up to 50 % of the open hours"
        in line
    )
    (every,) = plan_words.told(runs, windows.assign(near_best=True))
    assert "any ten days are about equally good" in every
    assert plan_words.told(runs.iloc[:0], windows) == []


def test_events_carry_the_chance(runs, tmp_path):
    """The calendar has the windows under human titles, their chances and the evidence in the text."""
    events = plan_words.events(runs)
    assert events["title"].iloc[0] == "Sporadic E on 6 m: good ten days"
    for said in (
        "from 20 May 2026 to 30 June 2026",
        "80 % (90 % interval 70 to 95 %)",
        "evidence tier A; checked on 5 left-out seasons",
        "Open hours to expect: 14 (9 to 21)",
    ):
        assert said in events["text"].iloc[0]
    write_calendar(tmp_path / "plan.ics", events, when=pd.Timestamp("2025-01-01"))
    spans = [span[:2] for span in read_spans(tmp_path / "plan.ics")]
    assert spans == list(zip(events["start"], events["end"], strict=True))


def test_a_window_that_moves_stays_the_same_event(runs, tmp_path):
    """Planned anew with other dates and chances, each event keeps its identifier, and no two share one."""
    moved = runs.assign(start=runs["start"] + pd.Timedelta(days=3), chance=0.5)
    found = []
    for name, table in (("old.ics", runs), ("new.ics", moved)):
        write_calendar(tmp_path / name, plan_words.events(table), when=pd.Timestamp("2025-01-01"))
        lines = (tmp_path / name).read_text().splitlines()
        found.append([line for line in lines if line.startswith("UID:")])
    assert found[0] == found[1]
    assert len(set(found[0])) == 2


def test_quadrants_and_grounds_have_names():
    """A series of the plan is named by band, ground and quadrant, several together by each."""
    row = {"band": "2m", "mechanism": "TR", "direction": "sea south"}
    assert plan_words.series(row) == "tropo over sea on 2 m toward the south"
    joint = {"band": "6m 2m", "mechanism": "ES", "direction": "any"}
    assert plan_words.series(joint) == "sporadic E on 6 m or 2 m"


@pytest.mark.parametrize(("low", "said"), [(0.55, "JN00 is best served"), (0.3, "they cannot be told apart")])
def test_places_are_told(low, said):
    """The best place is named as best only where its interval clears the others'."""
    about = {"band": "6m", "mechanism": "ES", "path_type": "all", "verdict": "ok", "best_heading": "NE"}
    places = pd.DataFrame(
        {"locator": ["IN93", "JN00"], "open_share": [0.4, 0.6], "low": [0.3, low], "high": [0.5, 0.65]}
    ).assign(**about)
    (line,) = plan_words.places_told(places)
    assert "JN00 60 %" in line
    assert said in line
    assert "best heading from JN00: north-east" in line


def test_no_places_no_words():
    """Nothing was asked, nothing is said."""
    assert plan_words.places_told(pd.DataFrame()) == []


def test_the_place_to_go_to():
    """The one that is surely best served, else the first asked for; its lines name its ground and its heading."""
    about = {"band": "2m", "mechanism": "TR", "path_type": "sea", "verdict": "ok", "best_heading": "NW"}
    about |= {"sunrise": "06:31", "sunset": "21:57", "note": ""}
    table = pd.DataFrame(
        [
            about | {"locator": "JN00", "open_share": 0.2, "low": 0.1, "high": 0.3},
            about | {"locator": "JN01", "open_share": 0.6, "low": 0.5, "high": 0.7},
        ]
    )
    assert plan_words.chosen_place(table) == "JN01"
    assert plan_words.chosen_place(table.assign(low=0.05)) == "JN00"
    told = " ".join(plan_words.place_lines(table, "JN01"))
    assert "Tropo over sea on 2 m: 60 % (50 to 70 %)" in told
    assert "toward the north-west" in told
    assert "tropo over sea on 2 m" in plan_words.places_told(table)[0].lower()

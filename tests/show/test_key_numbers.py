"""Key numbers: everything that words print, and nothing that the data cannot carry."""

import json

import pandas as pd
import pytest

from analysis.fit.signs.leads import NO_MORE
from analysis.show.wording import words
from analysis.show.wording.key_numbers import full_seasons, listened_hours
from tests.show import example_tables, examples

FIELDS = {"value", "low", "high", "n", "unit", "text", "tier", "verdict", "reason"}


@pytest.fixture(scope="module")
def numbers():
    """Key numbers of the invented seasons."""
    return example_tables.numbers(example_tables.tables())


def test_every_number_has_every_field_and_fits_json(numbers):
    """The dictionary is flat, complete and survives JSON without loss."""
    assert all(set(one) == FIELDS for one in numbers.values())
    assert json.loads(json.dumps(numbers, allow_nan=False)) == numbers


def test_accounts_are_sums(numbers):
    """Rows add up: 1 200 + 50 000 + 90 rows came in."""
    assert numbers["rows_in"]["value"] == 51290
    assert numbers["rows_in"]["value"] == sum(
        numbers[f"rows_{what}"]["value"] for what in ("kept", "duplicates", "set_aside")
    )


def test_home_is_printed_with_four_characters(numbers):
    """Nobody's house can be read off a locator that we print."""
    assert numbers["home"]["text"] == "IN93"


def test_chance_carries_interval_n_and_tier(numbers):
    """The best hour of sporadic E is the highest row of the table, with its own interval."""
    daily = examples.daily().query("band == '6m' and mechanism == 'ES'")
    top = daily.loc[daily["chance"].idxmax()]
    found = numbers["6m_es_best_hour_chance"]
    assert found["value"] == pytest.approx(top["chance"], rel=1e-5)
    assert found["low"] < found["value"] < found["high"]
    assert (found["n"], found["tier"], found["verdict"]) == (top["n_monitored"], "A", "ok")
    assert found["text"] == "12 % (8 to 18 %)"


def test_refused_series_has_reason_and_no_number(numbers):
    """A refusal leaves no value and no text, only why."""
    for name in ("2m_es_best_hour", "2m_es_best_hour_chance", "6m_es_winter_rise"):
        assert numbers[name]["value"] is None
        assert numbers[name]["text"] == ""
        assert numbers[name]["reason"]


def test_contacts_only_never_gives_a_chance():
    """Tier C: no probability anywhere, even if a fitted table wrongly holds one."""
    tables = example_tables.contacts_only()
    tables["daily"] = examples.daily().assign(tier="C")
    tables["windows"] = examples.windows().assign(tier="C")
    found = example_tables.numbers(tables)
    assert not [name for name, one in found.items() if one["unit"] == "chance" and one["value"] is not None]
    assert not [name for name, one in found.items() if "%" in one["text"] and name != "vhf_share"]
    assert found["6m_listened_hours"]["verdict"] == "refuse"
    assert found["6m_es_window"]["reason"]


def test_tier_b_is_called_indicative():
    """Without monitors a chance says that it is only indicative."""
    tables = example_tables.tables()
    found = example_tables.numbers(tables | {"daily": examples.daily().assign(tier="B")})
    assert found["6m_es_best_hour_chance"]["text"].endswith("indicative)")


def test_test_verdict_without_size_is_kept(numbers):
    """A test that has a verdict but no number of its own is not a refusal."""
    assert numbers["2m_tr_land_land_and_sea_differ"]["text"] == "supported"
    assert numbers["2m_tr_land_sunrise_over_afternoon_on_land_paths"]["text"] == "3.2 times (1.9 to 5.2)"


def test_dates_of_estimates_are_days_of_a_common_year(numbers):
    """Day 172 of a common year is 21 June."""
    assert numbers["6m_es_season_peak"]["text"] == "21 June (14 June to 29 June)"


def test_latest_season_is_compared(numbers):
    """The newest season has its opening days and a verdict in words."""
    assert numbers["6m_es_latest_opening_days"]["value"] == 55
    assert numbers["6m_es_latest_compared"]["text"] == "more than in a usual season"
    assert numbers["6m_es_latest_days_listened"]["text"] == "55 of 193 days listened to here"
    assert numbers["6m_es_unusual_seasons"]["text"] == "more in 2024"


def test_windows_are_sets_not_one_winner(numbers):
    """Near-best first days come as ranges of dates; path types are named as such."""
    windows = examples.windows().query("band == '6m' and near_best")
    assert numbers["6m_es_window_near"]["value"] == len(windows)
    assert numbers["6m_es_window_near"]["text"].startswith("between ")
    assert all(" toward the " not in one["text"] for name, one in numbers.items() if "_sea_window" in name)


def test_best_openings_are_confirmed_and_of_the_latest_season(numbers):
    """Neither single reports nor other years are praised."""
    openings = examples.openings()
    for place in range(1, 1 + numbers["best"]["value"]):
        start = pd.Timestamp(numbers[f"best_{place}_when"]["value"])
        row = openings[openings["start"] == start].iloc[0]
        assert row["grade"] == "confirmed"


def test_wrong_locators_make_no_record():
    """The longest path leaves out doubted reports and paths that nothing explains."""
    tables = example_tables.tables()
    spots = tables["spots"].copy()
    far = spots["band"] == "6m"
    spots.loc[far & (spots.index % 2 == 0), ["distance_km", "doubt"]] = [15000.0, "the locator may be wrong"]
    spots.loc[far & (spots["mechanism"] == "undetermined"), "distance_km"] = 16000.0
    for openings in (tables["openings"], tables["openings"].iloc[:0]):
        found = example_tables.numbers(tables | {"spots": spots, "openings": openings})
        assert found["6m_longest"]["value"] < 5000


def test_first_signs_are_told_beyond_chance(numbers):
    """A beacon's excess has an interval; FT8, that only more reports put first, has no number at all."""
    beacon, ft8 = (numbers[f"6m_es_sign_{sign}_lead"] for sign in ("beacon", "ft8"))
    assert (beacon["low"], beacon["value"], beacon["high"]) == (5.1, 6.5, 8.0)
    assert (ft8["value"], ft8["text"], ft8["reason"]) == (None, "", NO_MORE)
    assert ft8["n"] == 345


def test_overlapping_listeners_count_once():
    """Two stations from 10 to 12 and from 11 to 13 listened for three hours between them."""
    time = pd.to_datetime(
        ["2024-06-01T10:00Z", "2024-06-01T12:00Z", "2024-06-01T11:00Z", "2024-06-01T13:00Z"]
    )
    table = pd.DataFrame({"start": time[[0, 2]], "end": time[[1, 3]]})
    assert listened_hours(table) == 3.0


def test_southern_season_runs_across_new_year():
    """A summer of two years bears both; north of the equator the year alone."""
    tables = example_tables.tables()
    for home, said in (("IN93KD", "2024"), ("RE78", "2024/25")):
        numbers = example_tables.numbers(tables | {"home": home})
        assert numbers["season_latest"]["text"] == said
        assert numbers["season_latest"]["value"] == 2024
    assert words.season(1999, lat=-1) == "1999/00"


def test_windows_across_new_year_bear_the_later_year():
    """First days in December and January are told with the year of the last one."""
    tables = example_tables.tables()
    windows = tables["windows"]
    near = windows[windows["near_best"]]
    shift = pd.Timestamp("2025-12-31") - pd.to_datetime(near["start"]).median()
    moved = windows.assign(start=pd.to_datetime(windows["start"]) + shift.floor("D"))
    numbers = example_tables.numbers(tables | {"windows": moved})
    told = {numbers[key]["text"] for key in numbers if key.endswith("_window_near") and numbers[key]["text"]}
    assert any("December" in text and "January" in text for text in told)
    assert {numbers[key]["value"] for key in numbers if key.endswith("_window_year")} == {2026}


def test_latest_season_needs_thirty_days():
    """A few winter reports that already belong to the next season do not make it the latest."""
    days = pd.date_range("2024-05-01", periods=60, freq="D", tz="UTC")
    spots = pd.DataFrame({"time": days, "season": 2024})
    spots.loc[spots.index[-5:], "season"] = 2025
    assert full_seasons(spots) == [2024]
    assert full_seasons(spots.iloc[:0]) == []


def test_empty_tables_are_no_fault():
    """A file without one usable row still gives an account in words."""
    tables = example_tables.tables()
    empty = {
        name: table.iloc[:0]
        for name, table in tables.items()
        if isinstance(table, pd.DataFrame) and name != "account"
    }
    found = example_tables.numbers(tables | empty)
    assert found["reports"]["value"] == 0
    assert found["reports"]["text"] == "0 reports"


def test_tables_read_back_from_files_give_the_same_numbers(numbers, tmp_path):
    """Blank reasons, dates as text and seasons beside a blank one change nothing."""
    tables = example_tables.tables()
    fitted = {}
    for name in ("daily", "season", "seasons", "estimates", "windows"):
        tables[name].to_csv(tmp_path / name, index=False)
        fitted[name] = pd.read_csv(tmp_path / name)
    refused = fitted["seasons"].iloc[:1].assign(season=float("nan"), band="4m", verdict="refuse")
    fitted["seasons"] = pd.concat([fitted["seasons"], refused], ignore_index=True)
    assert example_tables.numbers(tables | fitted) == numbers

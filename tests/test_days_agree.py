"""Every number of opening days in the products is that of the table of days."""

import pandas as pd
import pytest

from analysis.find.days import of_series
from analysis.fit.ahead.days import day_series
from analysis.gather import locators
from analysis.series import vhf_series, with_days

KEYS = ["scope", "band", "mechanism", "path_type"]


def counted(days, **keys):
    rows = of_series(days, **keys)
    return int(rows["open"].sum()), int(rows["listened"].sum())


def test_seasons_count_from_days(season):
    """Opening days and days listened to of every series and season."""
    table = season.seasons.dropna(subset="season")
    assert len(table)
    for row in table.to_dict("records"):
        keys = {name: row[name] for name in [*KEYS, "season"]}
        assert (row["opening_days"], row["monitored_days"]) == counted(season.days, **keys), keys


def test_key_numbers_count_from_days(season):
    """What texts print: each season's days, all seasons' and the latest one's, here and in the region."""
    numbers, seen = season.key_numbers, 0
    latest = numbers["season_latest"]["value"]
    told = season.seasons.groupby(["band", "mechanism"])["scope"].first()
    for (band, mechanism), scope in told.items():
        key = f"{band}_{mechanism.lower()}"
        about = {"band": band, "mechanism": mechanism, "path_type": "all"}
        for end, where in (("", scope), ("_in_region", "region")):
            for name, more in (("", {}), ("_latest", {"season": latest})):
                found = numbers[f"{key}_opening_days{name}{end}"]
                assert (found["value"], found["n"]) == counted(season.days, scope=where, **about, **more)
                assert found["text"].endswith("here" if where == "here" else "in the region")
                seen += 1
    for row in season.seasons.dropna(subset="season").to_dict("records"):
        path = "" if row["path_type"] == "all" else f"_{row['path_type']}"
        key = f"{row['band']}_{row['mechanism'].lower()}{path}_{row['season']:.0f}_opening_days"
        if numbers[key]["value"] is not None:
            assert numbers[key]["value"] == row["opening_days"]
            seen += 1
    assert seen > 20


def test_what_windows_are_fitted_to_are_the_days(season):
    """The day model sees the rows of the table, and windows say which scope they are of."""
    home = locators.place(season.about.home)
    spots = season.spots[season.spots["band"] == "2m"]
    listening = season.listening[season.listening["band"] == "2m"]
    series = vhf_series(spots, listening, beacons=season.beacons, scope="here", **home)
    for one in with_days(series, season.days, spots, listening, **home):
        days = day_series(one).days
        rows = of_series(season.days, scope=one.scope, **one.keys())
        assert days["open"].sum() == rows["open"].sum()
        mine = season.windows[
            (season.windows["band"] == "2m") & (season.windows["direction"] == one.path_type)
        ]
        mine = mine[mine["mechanism"] == one.mechanism]
        assert set(mine["scope"]) == {one.scope}


@pytest.mark.parametrize(("inner", "outer"), [("here", "region"), ("neighbours", "here")])
def test_scopes_lie_within_one_another(season, inner, outer):
    """What is open, and listened to, in a scope is so in the wider one."""
    names = ["band", "mechanism", "path_type", "day"]
    wide = of_series(season.days, scope=outer)[[*names, "open", "opened_min"]]
    both = of_series(season.days, scope=inner).merge(wide, on=names, suffixes=("", "_wide"))
    assert both["open_wide"][both["open"]].all()
    assert (both["opened_min"] <= both["opened_min_wide"] + 1e-6).all()


def test_no_day_is_open_without_an_opening(season):
    """The list of openings and the table of days tell the same dates."""
    openings = season.openings[season.openings["grade"] != "single"]
    shift = pd.Timedelta(minutes=round(4 * locators.place(season.about.home)["lon"]))
    for scope in ("here", "region"):
        rows = of_series(season.days, scope=scope, band="6m", mechanism="ES", path_type="all")
        mine = openings[(openings["band"] == "6m") & (openings["mechanism"] == "ES")]
        spare = pd.Timedelta(minutes=15)  # half of the longest extension for what sampling missed
        begun = (mine["start"] + shift - spare).dt.tz_localize(None).dt.normalize()
        ended = (mine["end"] + shift + spare).dt.tz_localize(None).dt.normalize()
        assert set(rows.loc[rows["open"], "day"]) <= set(begun) | set(ended)

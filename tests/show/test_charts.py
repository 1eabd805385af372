"""Charts: what is drawn is what the tables say, and what cannot be said is not drawn."""

from functools import cache

import numpy as np
import pandas as pd
import pytest

from analysis.show import charts
from analysis.show.charts.curves import listed_peaks
from analysis.show.charts.openings import bars, openings_a_season
from tests.show import example_tables, examples

SERIES = {"band": "6m", "mechanism": "ES"}
EVERY = {
    "account": lambda width: charts.account_chart(examples.account(), examples.set_aside(), width=width),
    "effort": lambda width: charts.effort_chart(examples.listening(), band="6m", width=width),
    "paths": lambda width: charts.paths_chart(examples.spots(), width=width),
    "mechanism": lambda width: charts.mechanism_chart(examples.spots(), band="6m", width=width),
    "openings": lambda width: charts.openings_chart(examples.openings(), **SERIES, width=width),
    "daily": lambda width: charts.daily_chart(examples.daily(), band="2m", mechanism="TR", width=width),
    "season": lambda width: charts.season_chart(examples.season(), band="2m", mechanism="TR", width=width),
    "seasons": lambda width: charts.seasons_chart(examples.seasons(), **SERIES, width=width),
    "signs": lambda width: charts.leads_chart(examples.leads(), width=width),
    "indicators": lambda width: charts.indicators_chart(examples.indicators(), width=width),
    "rungs": lambda width: charts.rungs_chart(examples.rungs(), width=width),
    "voice-level": lambda width: charts.voice_chart(examples.voice_levels(), width=width),
    "layer": lambda width: charts.layer_chart(examples.muf(), examples.chain(), width=width),
    "windows": lambda width: charts.windows_chart(examples.windows(), band="2m", mechanism="TR", width=width),
}


@cache
def drawn(name, width="full"):
    """Each picture once for all tests that only look at it."""
    return EVERY[name](width)


def lines(axes):
    """Data of every line on a panel that has more than two points."""
    return [line.get_xydata() for line in axes.get_lines() if len(line.get_xydata()) > 2]


@pytest.mark.parametrize("name", EVERY)
def test_words_stand_beside_every_picture(name):
    """Title, caption and alt text are there, and the alt text holds a number."""
    picture = drawn(name)
    assert picture.title
    assert picture.caption
    assert picture.alt.startswith(picture.title)
    assert any(sign.isdigit() for sign in picture.alt)


def test_account_bars_are_the_rows():
    """Each file's parts add up to the whole bar, and the alt text counts them."""
    picture = charts.account_chart(examples.account(), examples.set_aside())
    ends = {}
    for bar in picture.figure.axes[0].patches:
        ends.setdefault(round(bar.get_y(), 2), []).append(bar.get_width())
    assert [sum(parts) for parts in ends.values()] == pytest.approx([1, 1, 1])
    assert "49,150 kept, 530 repeats, 1,610 set aside" in picture.alt


def test_effort_has_one_limit_for_all_seasons():
    """The busiest season fits into the limit that all seasons share, so growth is seen."""
    first = pd.Timestamp("2020-06-01", tz="UTC")
    spans = pd.concat(
        pd.DataFrame(
            {"station": [f"Q{n:02d}ZZ" for n in range(count)], "band": "6m", "basis": "receptions"}
        ).assign(start=first + pd.DateOffset(years=year), end=first + pd.DateOffset(years=year, days=30))
        for year, count in enumerate((1, 3, 12))
    )
    panels = charts.effort_chart(spans, band="6m").figure.axes
    assert len(panels) == 3
    assert {axes.get_ylim() for axes in panels} == {panels[-1].get_ylim()}
    assert panels[-1].get_ylim()[1] > 12


def test_effort_counts_southern_seasons_across_new_year():
    """At a southern home December and January are one season."""
    spans = pd.DataFrame(
        {
            "station": "Q01ZZ",
            "band": "6m",
            "start": pd.to_datetime(["2023-12-10", "2024-01-10"], utc=True),
            "end": pd.to_datetime(["2023-12-11", "2024-01-11"], utc=True),
            "basis": "monitor",
        }
    )
    south = charts.effort_chart(spans, band="6m", home="GF15")
    north = charts.effort_chart(spans, band="6m", home="IN93")
    assert len(south.figure.axes) == 1
    assert len(north.figure.axes) == 2


def test_daily_draws_the_table():
    """The curve's points are the table's rows, and the thin hours are gaps."""
    table = examples.daily()
    picture = charts.daily_chart(table, **SERIES)
    own = table[(table["band"] == "6m") & (table["mechanism"] == "ES")]
    drawn = lines(picture.figure.axes[1])[0]
    np.testing.assert_array_equal(drawn[:, 0], own["hour"])
    np.testing.assert_array_equal(drawn[:, 1], own["chance"])
    assert np.isnan(drawn[5:7, 1]).all()


def test_daily_names_both_maxima():
    """Two peaks of sporadic E stand in the title, to the half hour."""
    title = charts.daily_chart(examples.daily(), **SERIES).title
    assert "11:00 and 18:30" in title or "10:30 and 18:00" in title


def test_a_peak_that_the_interval_drowns_is_not_dated():
    """Where the interval spans more than a factor of ten, the title says that the data do not say."""
    table = examples.season()
    land = (table["mechanism"] == "TR") & (table["path_type"] == "land")
    table.loc[land, "low"] /= 20
    title = charts.season_chart(table, band="2m", mechanism="TR").title
    assert (
        title
        == "This curve of tropo on 2 m is highest in late June over sea; over land the data do not say when"
    )
    table["low"] /= 20
    assert "do not say when" in charts.season_chart(table, **SERIES).title


def test_titles_name_the_estimates_and_not_the_highest_point():
    """Where the review's estimates are there, hours and dates are theirs; a refused one is not named."""
    estimates = example_tables.estimates()
    assert (
        "likeliest around 10:30 and 18:00" in charts.daily_chart(examples.daily(), estimates, **SERIES).title
    )
    assert charts.season_chart(examples.season(), estimates, **SERIES).title.endswith("peaks in late June")
    refused = estimates.assign(value=float("nan"), verdict="refuse")
    for draw, table in ((charts.daily_chart, examples.daily()), (charts.season_chart, examples.season())):
        assert "do not say" in draw(table, refused, **SERIES).title


def test_a_slope_is_no_maximum():
    """A curve with one peak has one, though the other half of the day has a highest point too."""
    hour = np.arange(0.25, 24, 0.5)
    rows = pd.DataFrame({"hour": hour, "chance": 0.01 + np.exp(-0.5 * ((hour - 13.25) / 3) ** 2)})
    assert listed_peaks(rows) == [13.25]


def test_refused_series_get_words_and_no_number():
    """2 m sporadic E has too few opening days: reasons, no axes."""
    for picture in (
        charts.daily_chart(examples.daily(), band="2m", mechanism="ES"),
        charts.season_chart(examples.season(), band="2m", mechanism="ES"),
        charts.seasons_chart(examples.seasons(), band="2m", mechanism="ES"),
        charts.windows_chart(examples.windows(), band="2m", mechanism="ES"),
    ):
        assert not picture.figure.axes
        assert "fewer than 10 opening days" in picture.alt.lower()
        assert "%" not in picture.alt


@pytest.mark.parametrize("band", ["70cm", "4m"])
def test_nothing_at_all_gets_words(band):
    """A band nobody used is a sentence, never an exception."""
    empty = examples.spots().iloc[:0]
    pictures = [
        charts.effort_chart(examples.listening(), band=band),
        charts.mechanism_chart(examples.spots(), band=band),
        charts.openings_chart(examples.openings(), band=band, mechanism="ES"),
        charts.daily_chart(examples.daily(), band=band, mechanism="ES"),
        charts.windows_chart(examples.windows(), band=band, mechanism="ES"),
        charts.paths_chart(empty),
        charts.leads_chart(examples.leads().iloc[:0]),
        charts.indicators_chart(examples.indicators().iloc[:0]),
        charts.rungs_chart(examples.rungs().iloc[:0]),
        charts.voice_chart(examples.voice_levels().iloc[:0]),
        charts.layer_chart(examples.muf().iloc[:0], examples.chain()),
        charts.account_chart(examples.account().iloc[:0], examples.set_aside().iloc[:0]),
    ]
    assert all(not picture.figure.axes for picture in pictures)


def test_contacts_only_state_no_chance():
    """Tier C refuses in words, and no percentage is drawn even if a number strayed into the table."""
    table = examples.daily().assign(verdict="refuse", tier="C", reason="only contacts are known")
    picture = charts.daily_chart(table, **SERIES)
    assert not picture.figure.axes
    assert "%" not in picture.alt


def test_opportunistic_listeners_are_an_indication():
    """Tier B and provisional curves say so in the title."""
    table = examples.daily().assign(tier="B")
    assert charts.daily_chart(table, **SERIES).title.startswith("An indication only")
    assert not charts.daily_chart(examples.daily(), **SERIES).title.startswith("An indication")


def test_single_reports_alone_have_no_longest():
    """Where nothing but single reports were caught, none is called the longest."""
    rows = examples.openings().assign(grade="single", duration_min=np.nan)
    picture = charts.openings_chart(rows, **SERIES)
    assert picture.title.startswith("Single reports of")
    assert "longest" not in picture.alt


def test_openings_are_cut_at_midnight_for_drawing_only():
    """An opening from 22:00 to 01:30 is two bars of one day each, and 3.5 hours in all."""
    start = pd.Timestamp("2024-06-10 22:00", tz="UTC")
    rows = pd.DataFrame(
        {
            "start": [start],
            "end": [start + pd.Timedelta(minutes=210)],
            "season_day": [-11],
            "grade": ["confirmed"],
            "path_type": ["all"],
        }
    )
    drawn = bars(rows)
    assert drawn[["season_day", "low", "high"]].to_numpy().tolist() == [[-11, 22, 24], [-10, 0, 1.5]]


def test_openings_a_season_are_confirmed_or_probable():
    """A confirmed and a probable one are two; a single report is none."""
    rows = pd.DataFrame(
        {"season": [2024] * 3, "season_day": [1, 1, 2], "grade": ["confirmed", "probable", "single"]}
    )
    assert openings_a_season(rows).to_dict() == {2024: 2}


def test_three_reports_are_no_finding():
    """Two long reports over sea beside many over land do not make sea the longest."""
    spots = examples.spots(n=500).assign(path_type="land")
    spots.loc[spots.index[:2], "path_type"] = "sea"
    spots.loc[spots.index[:2], "distance_km"] = 2500.0
    assert charts.paths_chart(spots).title.startswith("Paths over land: half")
    assert "Too few" in charts.paths_chart(spots.iloc[:5]).title


def test_mechanism_shares_are_those_of_the_spots():
    """The title's share is what the table gives beyond 500 km."""
    spots = examples.spots()
    far = spots[(spots["band"] == "6m") & (spots["distance_km"] >= 500)]
    share = (far["mechanism"] == "ES").mean()
    assert f"{100 * share:.0f}" in charts.mechanism_chart(spots, band="6m").title


def test_seasons_mark_the_unusual_one():
    """Only 2024 is called above normal."""
    picture = charts.seasons_chart(examples.seasons(), **SERIES)
    assert picture.title.endswith("2024 above normal")
    assert "55 opening days here of 193" in picture.alt


def test_windows_name_the_near_best_run():
    """First and last near-best start stand in the title."""
    table = examples.windows()
    best = table[(table["band"] == "6m") & table["near_best"].astype(bool)]["start"]
    title = charts.windows_chart(table, **SERIES).title
    assert f"{best.min().day} {best.min():%B}" in title
    assert f"{best.max().day} {best.max():%B}" in title


def test_windows_say_how_many_opening_days_the_chance_is_of():
    """The table's own count stands in the caption and beside each chance, apart by path where it differs."""
    table = examples.windows()
    single = charts.windows_chart(table, **SERIES)
    assert "chance of at least 4\u00a0opening days, and" in single.caption
    assert "chance of at least 4\u00a0opening days" in single.alt
    several = charts.windows_chart(table, band="2m", mechanism="TR")
    assert "1\u00a0opening day over land and 2\u00a0opening days over sea" in several.caption
    assert "chance of at least 2\u00a0opening days" in several.alt


def test_only_leads_beyond_chance_are_told():
    """The beacon's excess is the headline; FT8 is drawn and called luck; what is refused is not drawn."""
    picture = charts.leads_chart(examples.leads())
    assert picture.title == "Beyond chance, beacon reports led voice by 6 min in sporadic E on 6 m"
    assert "FT8: -1 min beyond chance, which may be luck" in picture.alt
    assert "2 m" not in picture.alt
    nothing = examples.leads().query("verdict != 'comes first'")
    assert charts.leads_chart(nothing).title == "No sign came before voice by more than chance"
    assert not charts.leads_chart(nothing.query("verdict == 'refuse'")).figure.axes


def test_signs_to_listen_for_stand_beside_chance():
    """Frequency, square and heading are in the words; what chance explains is not drawn."""
    picture = charts.indicators_chart(examples.indicators())
    assert picture.title.startswith(
        "After Q1ABC/B on 144.489 MHz, voice or CW by tropo on 2 m followed in 13 %"
    )
    assert "(IN71, 238°)" in picture.alt
    assert "any station on 6 m" in picture.alt
    assert "Q2ABC" not in picture.alt
    right = picture.figure.axes[-1].get_xlim()[1]
    dots = [
        line.get_xdata()
        for axes in picture.figure.axes
        for line in axes.get_lines()
        if line.get_marker() == "o"
    ]
    assert max(map(max, dots)) == pytest.approx(100 * 134 / 534)
    assert right > 100 * 134 / 534
    nothing = examples.indicators().query("verdict != 'useful'")
    assert "3 pairs" not in charts.indicators_chart(nothing).title
    assert "2 pairs of sign and opening were looked at; 1 had enough" in charts.indicators_chart(nothing).alt


def test_tables_read_back_from_a_folder_draw_the_same(tmp_path):
    """A review's CSV files, as they are read again, give the same words and numbers."""

    def again(table, *times):
        table.to_csv(tmp_path / "table.csv", index=False)
        read = pd.read_csv(tmp_path / "table.csv")
        text = read.select_dtypes("str").columns
        read = read.assign(**{name: read[name].fillna("") for name in text})
        return read.assign(**{name: pd.to_datetime(read[name], utc=True, format="ISO8601") for name in times})

    pairs = [
        (lambda table: charts.daily_chart(table, **SERIES), examples.daily(), ()),
        (lambda table: charts.season_chart(table, **SERIES), examples.season(), ()),
        (lambda table: charts.seasons_chart(table, **SERIES), examples.seasons(), ()),
        (lambda table: charts.windows_chart(table, **SERIES), examples.windows(), ()),
        (lambda table: charts.openings_chart(table, **SERIES), examples.openings(), ("start", "end")),
        (charts.leads_chart, examples.leads(), ()),
        (charts.indicators_chart, examples.indicators(), ()),
        (lambda table: charts.effort_chart(table, band="6m"), examples.listening(), ("start", "end")),
    ]
    for draw, table, times in pairs:
        assert draw(again(table, *times)).alt == draw(table).alt


def test_hostile_file_names_are_drawn():
    """A file may be called anything."""
    account = examples.account()
    account["source"] = ["$x_{1}$.csv", "日本<b>.adi", "a" * 200]
    aside = examples.set_aside().assign(reason="$\\bad$ 日本")
    assert charts.account_chart(account, aside).png()

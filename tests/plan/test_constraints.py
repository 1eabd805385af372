"""Windows fit leave, weekdays, holidays, school terms and dates to avoid, and nonsense is refused in one line."""

import pandas as pd
import pytest

from analysis.fit.ahead.windows import season_dates
from analysis.gather.problems import InputError
from analysis.plan.constraints import (
    WEEKEND,
    Wishes,
    calendar,
    check,
    in_spans,
    parse_date,
    parse_hours,
    parse_weekdays,
    public_holidays,
    time_zone,
)

DATES = season_dates(2026, southern=False)


def day(text):
    """A date."""
    return pd.Timestamp(text)


def row(table, date):
    """The row of a date."""
    return table[table["date"] == day(date)].iloc[0]


def test_no_wishes_allow_every_day_but_the_last():
    """Without wishes every window that fits into the season is allowed."""
    table = calendar(DATES, Wishes(length=10))
    assert table["allowed"].sum() == 365 - 9
    assert table["usable"].all()


def test_leave_days_are_working_days():
    """Ten days from a Monday cost eight days of leave, from a Saturday six."""
    table = calendar(DATES, Wishes(length=10))
    assert row(table, "2026-06-08")["leave_days"] == 8
    assert row(table, "2026-06-06")["leave_days"] == 6


def test_public_holiday_costs_no_leave():
    """The same ten days cost one day less where a public holiday lies in them."""
    # Boletín Oficial del Estado, labour calendar 2026: 1 May is a national holiday (a Friday).
    table = calendar(DATES, Wishes(length=10, country="es"))
    assert row(table, "2026-05-01")["holiday"]
    assert row(table, "2026-04-27")["leave_days"] == 7


def test_region_has_its_own_holidays():
    """Corpus Christi (60 days after Easter, 4 June 2026) is kept in Bavaria and not in Berlin."""
    # Bavarian law on Sundays and holidays (FTG), article 1: Corpus Christi; none such in Berlin.
    bavaria = calendar(DATES, Wishes(country="DE", subdivision="BY"))
    berlin = calendar(DATES, Wishes(country="DE", subdivision="BE"))
    assert row(bavaria, "2026-06-04")["holiday"]
    assert not row(berlin, "2026-06-04")["holiday"]


def test_dates_bound_the_whole_window():
    """The window must lie between the earliest and the latest date, last day included."""
    table = calendar(DATES, Wishes(length=7, earliest=day("2026-06-01"), latest=day("2026-06-10")))
    allowed = table.loc[table["allowed"], "date"]
    assert (allowed.min(), allowed.max(), len(allowed)) == (day("2026-06-01"), day("2026-06-04"), 4)


def test_avoided_dates_are_kept_free():
    """No window touches a date to avoid."""
    wedding = (day("2026-06-20"), day("2026-06-21"))
    table = calendar(DATES, Wishes(length=5, avoid=(wedding,)))
    assert not table[table["date"].between(day("2026-06-16"), day("2026-06-21"))]["allowed"].any()
    assert row(table, "2026-06-15")["allowed"]
    assert row(table, "2026-06-22")["allowed"]


def test_school_holidays_are_not_joined():
    """Two school holidays that touch do not make one long one."""
    spans = ((day("2026-07-01"), day("2026-07-07")), (day("2026-07-08"), day("2026-07-14")))
    assert not calendar(DATES, Wishes(length=10, within=spans))["allowed"].any()
    assert calendar(DATES, Wishes(length=7, within=spans))["allowed"].sum() == 2


def test_weekends_and_holidays_only():
    """Who operates at weekends also does on a public holiday, and not in a window without either."""
    table = calendar(DATES, Wishes(length=3, weekdays=WEEKEND, country="ES"))
    assert row(table, "2026-05-01")["usable"]
    assert not row(table, "2026-05-05")["usable"]
    assert not row(table, "2026-05-05")["allowed"]
    assert row(table, "2026-05-07")["allowed"]


def test_spans_include_both_ends():
    """A span of one day holds that day."""
    dates = pd.Series(pd.date_range("2026-06-01", periods=3))
    assert in_spans(dates, ((day("2026-06-02"), day("2026-06-02")),)).tolist() == [False, True, False]


@pytest.mark.parametrize(
    ("wishes", "words"),
    [
        ({"toward": ("north-east",)}, "north, east, south, west"),
        ({"length": 0}, "0 days"),
        ({"length": 400}, "400 days"),
        ({"earliest": day("2026-07-01"), "latest": day("2026-06-01")}, "before the earliest"),
        ({"at_least": 11}, "11 opening days in 10"),
        ({"weekdays": (7,)}, "0 .Monday. to 6"),
        ({"weekdays": ()}, "weekdays"),
        ({"hours": (8, 25)}, "0 to 24"),
        ({"avoid": ((day("2026-07-02"), day("2026-07-01")),)}, "before it starts"),
        ({"zone": "Europe/Nowhere"}, "Europe/Madrid"),
        ({"zone": "../../etc/passwd"}, "IANA"),
        ({"zone": ""}, "IANA"),
        ({"country": "XQ"}, "public holidays"),
        ({"country": "DE", "subdivision": "ZZ"}, "public holidays"),
    ],
)
def test_nonsense_is_refused(wishes, words):
    """One line that says what was found and how to repair it."""
    with pytest.raises(InputError, match=words) as caught:
        check(Wishes(**wishes))
    assert "\n" not in str(caught.value)


def test_words_of_the_command_line():
    """Dates, hours and weekdays as people type them."""
    assert parse_date("2026-06-01") == day("2026-06-01")
    assert parse_hours("18-23:30") == (18, 23.5)
    assert parse_hours(" 7:15 - 8 ") == (7.25, 8)
    assert parse_weekdays("Sat, sunday") == parse_weekdays("weekend") == WEEKEND
    assert parse_weekdays("workdays") == (0, 1, 2, 3, 4)


@pytest.mark.parametrize(
    ("parse", "text"),
    [
        (parse_date, "1.6.2026"),
        (parse_date, ""),
        (parse_hours, "18"),
        (parse_hours, "6pm-8pm"),
        (parse_weekdays, "xyz"),
        (parse_weekdays, ""),
    ],
)
def test_other_words_are_refused(parse, text):
    """One line with the form that is wanted."""
    with pytest.raises(InputError, match=r"write (it|them) as"):
        parse(text)


@pytest.mark.parametrize(
    ("wrong", "meant"),
    [
        ("BuenosAires", "America/Argentina/Buenos_Aires or America/Buenos_Aires"),
        ("Europe/Madird", "Europe/Madrid"),
        ("UTC-3", "UTC"),
        ("", "Europe/Madrid"),
    ],
)
def test_a_wrong_zone_is_answered_with_one_like_it(wrong, meant):
    """The place that was meant, whatever stands before it or is misspelt."""
    with pytest.raises(InputError) as problem:
        time_zone(wrong)
    assert any(zone in str(problem.value).split("such as ")[1].split(" or ") for zone in meant.split(" or "))


def test_good_wishes_pass():
    """Hours past midnight, a zone, a country and a span are fine."""
    span = (day("2026-07-01"), day("2026-08-01"))
    check(Wishes(hours=(20, 2), zone="Pacific/Auckland", country="nz", within=(span,), at_least=3))
    assert time_zone("Asia/Kolkata").key == "Asia/Kolkata"
    assert public_holidays([2026], country="").empty

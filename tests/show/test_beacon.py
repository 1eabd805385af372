"""The beacon keeper's page."""

from types import SimpleNamespace

import pandas as pd
import pytest

from analysis.find.signs.heard import beacons_heard, listening_days, station_days
from analysis.fit.signs.uptime import uptime
from analysis.gather.problems import InputError
from analysis.products import WRITERS, write_beacon
from analysis.show.papers import documents
from analysis.show.papers.beacon import beacon_page
from tests.find.make import tagged
from tests.find.test_heard import BEACON, dates, days_heard


def page():
    """A beacon heard every day but for ten, on which its listener heard others."""
    all_days = list(dates("2024-05-01", 90))
    own = days_heard([*all_days[:40], *all_days[50:]], tx_locator="IN53TH", rx_locator="IN63")
    spots = tagged(pd.concat([own, days_heard(all_days, call="Q5TX")]))
    heard = beacons_heard(spots)
    up = {"6m": uptime(listening_days(station_days(spots), call=BEACON, band="6m"))}
    return spots, heard, documents.markdown_text(beacon_page(heard, up, call=BEACON))


def test_page_says_when_it_was_likely_off():
    """Ten days off are named, with the share of days on and the square in four characters."""
    _, _, text = page()
    assert "10 June 2024 to 19 June 2024" in text
    assert "On the air on" in text
    assert "IN53" in text
    assert "IN53TH" not in text


def test_unknown_beacon_is_one_line():
    """Who asks for a beacon that is not there is told which there are."""
    _, heard, _ = page()
    with pytest.raises(InputError, match=f"Q7NO/B: no such beacon.*{BEACON}"):
        beacon_page(heard, {}, call="Q7NO/B")
    with pytest.raises(InputError, match="together with a list of beacons"):
        beacon_page(heard.iloc[:0], {}, call="Q7NO/B")


def test_page_is_written_in_every_form(tmp_path):
    """On the screen, and as each kind of document; another ending is one clear line."""
    spots, heard, text = page()
    tables = SimpleNamespace(spots=spots, beacons_heard=heard, about=SimpleNamespace(data_until="2024-08-01"))
    assert write_beacon(tables, None, call=BEACON.lower()) == text
    for ending in WRITERS:
        write_beacon(tables, tmp_path / f"page{ending}", call=BEACON)
        assert (tmp_path / f"page{ending}").stat().st_size > 300
    with pytest.raises(InputError, match="name one of these endings"):
        write_beacon(tables, tmp_path / "page.pdf", call=BEACON)


def test_hostile_call_is_printed_not_obeyed():
    """Marks in a call sign from a file do not become markup."""
    _, heard, _ = page()
    text = documents.markdown_text(beacon_page(heard.assign(call="Q1<b>*X*/B"), {}, call="Q1<b>*X*/B"))
    assert "<b>" not in text.replace("\\<b>", "")

"""The page of one opening: self-contained, without call signs, frame by frame what was heard."""

import re

import pandas as pd
import pytest

from analysis.show.page.opening_view import opening_view, shows
from tests.show import examples


def one_opening():
    """Six reports over forty minutes, two of one path, one in doubt."""
    spots = examples.spots(n=300).query("mechanism == 'ES'").iloc[:6].copy()
    spots["time"] = pd.to_datetime(
        [f"2024-06-10 10:{minute:02d}" for minute in (2, 5, 9, 21, 39, 39)], utc=True
    )
    spots["tx_locator"] = ["JO21", "JO21", "IO91", "JN45", "IM68", "QF56"]
    spots["rx_locator"] = "IN93"
    spots["opening"] = pd.array([7] * 6, "Int64")
    spots["doubt"] = [""] * 5 + ["heard once"]
    openings = examples.openings().iloc[:1].assign(opening=7, grade="confirmed", n_paths=4)
    openings["start"], openings["end"] = spots["time"].min(), spots["time"].max()
    return spots, openings


def test_frames_are_ten_minutes_and_count_paths():
    """10:00 has two paths, 10:10 none, 10:20 and 10:30 one each."""
    page = opening_view(*one_opening(), home="IN93")
    assert re.findall(r'data-now="([^"]+)"', page) == [
        "10:00 UTC, 2\u00a0paths",
        "10:10 UTC, 0\u00a0paths",
        "10:20 UTC, 1\u00a0path",
        "10:30 UTC, 1\u00a0path",
    ]


def test_nothing_is_linked_and_nobody_named():
    """No address of any kind, no call sign, and the language is set."""
    spots, openings = one_opening()
    page = opening_view(spots, openings, home="IN93")
    assert not re.search(r"https?:|//[a-z]|src=|href=|@import|url\(", page)
    assert not any(call in page for call in {*spots["tx_call"], *spots["rx_call"]})
    assert '<html lang="en">' in page


def test_same_page_every_time():
    """Rows in another order give the same bytes."""
    spots, openings = one_opening()
    assert opening_view(spots, openings) == opening_view(spots.iloc[::-1], openings)


def test_no_opening_to_show_says_so():
    """One clear line, for a series without a confirmed opening and for an unknown number."""
    spots, openings = one_opening()
    with pytest.raises(ValueError, match="no confirmed opening by tropo on 2 m"):
        opening_view(spots, openings, band="2m", mechanism="TR")
    with pytest.raises(ValueError, match="no opening 99"):
        opening_view(spots, openings, opening=99)


def test_the_view_runs_by_keyboard_and_stops_at_its_end(browser, tmp_path):
    """Offline in a browser: arrow keys step, Play plays to the last frame once, Pause holds, no message."""
    file = tmp_path / "opening.html"
    file.write_text(opening_view(*one_opening(), home="IN93"), encoding="utf-8")
    page = browser.new_page(reduced_motion="no-preference")
    page.context.set_offline(True)
    said = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.goto(file.as_uri())
    page.focus("#step")
    page.keyboard.press("ArrowRight")
    assert page.inner_text("#now").startswith("10:10")
    assert page.locator(".frame.now").count() == 1
    page.focus("#play")
    page.keyboard.press("Space")
    assert page.inner_text("#play") == "Pause"
    page.keyboard.press("Space")
    assert page.inner_text("#play") == "Play"
    page.keyboard.press("Space")
    page.wait_for_function("document.getElementById('now').value.startsWith('10:30')", timeout=10_000)
    page.wait_for_function("document.getElementById('play').textContent === 'Play'", timeout=10_000)
    assert not said
    page.close()


def test_patches_have_extent_drift_and_error():
    """A patch stands in the frames of its time: disc between two rings, an arrow only where it surely moves."""
    spots, openings = one_opening()
    start = pd.Timestamp("2024-06-10 10:00", tz="UTC")
    about = {"opening": 7, "start": start, "end": start + pd.Timedelta(minutes=15), "lon": 2.0, "lat": 46.0}
    about |= {"radius_km": 150.0, "radius_low": 120.0, "radius_high": 200.0, "speed_ms": 60.0}
    patch = pd.DataFrame(
        [about | {"toward_deg": 270.0, "toward_low": 250.0, "toward_high": 290.0, "verdict": "moving"}]
    )
    page = opening_view(spots, openings, patches=patch, home="IN93")
    assert page.count('class="disc"') == 2  # of four frames
    sizes = [float(size) for size in re.findall(r'class="(?:disc|ring)"[^>]* r="([\d.]+)"', page)[:3]]
    assert sizes[1] < sizes[0] < sizes[2]
    (x1, x2), *_ = re.findall(r'class="drift" x1="([\d.]+)"[^>]* x2="([\d.]+)"', page)
    assert float(x2) < float(x1)  # to the west
    still = opening_view(spots, openings, patches=patch.assign(verdict="cannot tell"), home="IN93")
    assert 'class="disc"' in still
    assert 'class="drift"' not in still


def test_paths_are_shown_on_request_only(browser, tmp_path):
    """Great circles stay away until the box is ticked."""
    file = tmp_path / "opening.html"
    file.write_text(opening_view(*one_opening(), home="IN93"), encoding="utf-8")
    page = browser.new_page()
    page.goto(file.as_uri())
    assert not page.locator(".frame.now .ways").is_visible()
    page.check("#ways")
    assert page.locator(".frame.now .ways").is_visible()
    page.close()


def test_a_confirmed_opening_here_alone_is_none_to_show():
    """What `shows` promises, `opening_view` keeps."""
    spots, openings = one_opening()
    assert shows(openings)
    here = openings.assign(scope="here")
    assert not shows(here)
    with pytest.raises(ValueError, match="no confirmed opening"):
        opening_view(spots, here)

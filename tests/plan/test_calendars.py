"""Calendar files: what is written can be read back, hostile text stays text, bad dates are named."""

import contextlib

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.gather.problems import InputError
from analysis.plan.calendars import escape, fold, read_spans, write_calendar

WHEN = pd.Timestamp("2026-01-01T12:00:00Z")
ICS = "BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nDTSTART;VALUE=DATE:{start}\r\n{end}SUMMARY:Summer\\, long\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"


def written(tmp_path, text, name="terms.csv"):
    """A file with this text."""
    path = tmp_path / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def one(start="2026-06-08", end="2026-06-17", title="6 m", text="chance"):
    """Table of one event."""
    dates = {"start": pd.Timestamp(start), "end": pd.Timestamp(end)}
    return pd.DataFrame([{"key": "6m ES all 2026 0", **dates, "title": title, "text": text}])


def test_event_by_the_standard(tmp_path):
    """An all-day event ends, in the file, on the day after its last day."""
    write_calendar(tmp_path / "plan.ics", one(), when=WHEN)
    text = (tmp_path / "plan.ics").read_bytes()
    # RFC 5545 section 3.6.1: the DTEND of an all-day event is not included.
    assert b"DTSTART;VALUE=DATE:20260608\r\nDTEND;VALUE=DATE:20260618\r\n" in text
    assert text.startswith(b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:")
    assert text.endswith(b"END:VEVENT\r\nEND:VCALENDAR\r\n")
    assert b"DTSTAMP:20260101T120000Z\r\n" in text


def test_same_plan_same_bytes(tmp_path):
    """Written twice, the file is the same."""
    for name in "ab":
        write_calendar(tmp_path / name, one(), when=WHEN)
    assert (tmp_path / "a").read_bytes() == (tmp_path / "b").read_bytes()


def test_text_escapes():
    """Backslash, semicolon, comma and line break are escaped, each once."""
    # RFC 5545 section 3.3.11: "\\", "\;", "\,", "\n".
    assert escape("a\\b;c,d\ne") == "a\\\\b\\;c\\,d\\ne"


def test_no_text_can_end_the_event(tmp_path):
    """A title that tries to close the event and open another stays one line of text."""
    title = "x\r\nEND:VEVENT\r\nBEGIN:VEVENT\u2028DTSTART:20200101"
    write_calendar(tmp_path / "plan.ics", one(title=title), when=WHEN)
    lines = (tmp_path / "plan.ics").read_bytes().decode().split("\r\n")
    assert lines.count("BEGIN:VEVENT") == lines.count("END:VEVENT") == 1
    assert not any("\u2028" in line for line in lines)


@settings(deadline=None)
@given(st.text(max_size=300))
def test_folding_loses_nothing(text):
    """Unfolding gives the line back, no piece is longer than 75 octets, no character is cut."""
    line = "DESCRIPTION:" + escape(text)
    pieces = fold(line).split("\r\n")
    # RFC 5545 section 3.1: lines of no more than 75 octets, unfolded by taking CRLF and one blank away.
    assert all(len(piece.encode("utf-8", "surrogatepass")) <= 75 for piece in pieces)
    assert fold(line).replace("\r\n ", "") == line


def test_long_lines_fill_75_octets():
    """A long line is broken at 75 octets, the blank that leads each further piece included."""
    assert [len(piece) for piece in fold("x" * 200).split("\r\n")] == [75, 75, 52]


def test_written_calendar_reads_back(tmp_path):
    """Dates survive the round trip."""
    write_calendar(tmp_path / "plan.ics", one(text="x" * 200), when=WHEN)
    assert read_spans(tmp_path / "plan.ics") == [
        (pd.Timestamp("2026-06-08"), pd.Timestamp("2026-06-17"), "6 m")
    ]


@pytest.mark.parametrize(
    ("end", "last"),
    [
        ("", "2026-07-01"),
        ("DTEND;VALUE=DATE:20260716\r\n", "2026-07-15"),
        ("DTEND:20260716T120000\r\n", "2026-07-16"),
    ],
)
def test_ics_ends(tmp_path, end, last):
    """No end is one day; a date is the day after; an end at noon is that day."""
    path = written(tmp_path, ICS.format(start="20260701", end=end), "terms.ics")
    assert read_spans(path) == [(pd.Timestamp("2026-07-01"), pd.Timestamp(last), "Summer, long")]


@pytest.mark.parametrize(
    ("start", "rest", "zone", "first", "last"),
    [
        # RFC 5545, section 3.3.6: weeks, or days and a time; section 3.6.1: DTEND and DURATION exclude each other
        ("20260701", "DURATION:P2W\r\n", "UTC", "2026-07-01", "2026-07-14"),
        ("20260701", "DURATION:P3D\r\n", "UTC", "2026-07-01", "2026-07-03"),
        ("20260701T120000", "DURATION:P1DT13H\r\n", "UTC", "2026-07-01", "2026-07-03"),
        ("20260701T120000", "DURATION:PT12H\r\n", "UTC", "2026-07-01", "2026-07-01"),
        # RFC 5545, section 3.3.5: Z marks UTC, anything else is the local time of the calendar
        ("20260701T230000Z", "", "Europe/Madrid", "2026-07-02", "2026-07-02"),
        ("20260701T230000", "", "Europe/Madrid", "2026-07-01", "2026-07-01"),
        ("20260630T220000Z", "DTEND:20260702T220000Z\r\n", "Europe/Madrid", "2026-07-01", "2026-07-02"),
    ],
)
def test_ics_times_and_durations(tmp_path, start, rest, zone, first, last):
    """A duration makes the last day; a time in UTC belongs to the day that the operator's clock shows."""
    text = ICS.format(start=start, end=rest).replace(";VALUE=DATE", "")
    got = read_spans(written(tmp_path, text, "terms.ics"), zone=zone)
    assert [span[:2] for span in got] == [(pd.Timestamp(first), pd.Timestamp(last))]


@pytest.mark.parametrize(
    "text",
    [
        "start,end,name\n2026-07-01,2026-07-15,Summer\n\n",
        "Name;Start;End\r\nSummer;2026-07-01;2026-07-15\r\n",
        "\ufeffstart,end,name\n20260701,20260715,Summer\n",
    ],
)
def test_csv_shapes(tmp_path, text):
    """Comma or semicolon, any order and case, a byte order mark, empty lines."""
    assert read_spans(written(tmp_path, text)) == [
        (pd.Timestamp("2026-07-01"), pd.Timestamp("2026-07-15"), "Summer")
    ]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "column called start"),
        ("start,end\n", "holds no dates"),
        ("first,last\n2026-07-01,2026-07-02\n", "column called start"),
        ("start\n31.07.2026\n", "line 2.*'31.07.2026'.*2026-07-04"),
        ("start\n2026-02-30\n", "line 2.*no date"),
        ("start,end\n2026-07-02,2026-07-01\n", "line 2.*before it starts"),
        (b"\xff\xfe\x00\x01", "UTF-8"),
        (ICS.format(start="2026", end=""), "line 3.*no date"),
        (ICS.format(start="20260701", end="DURATION:two weeks\r\n"), "line 4.*'two weeks'.*P2W"),
        ("start\n٢٠٢٦٠٧٠١\n", "line 2.*no date"),
        (ICS.format(start="20260701T99", end="").replace(";VALUE=DATE", ""), "line 3.*no date"),
        (ICS.format(start="20260701", end="RRULE:FREQ=YEARLY\r\n"), "line 4.*repeating"),
        ("BEGIN:VCALENDAR\nBEGIN:VEVENT\nEND:VEVENT\nEND:VCALENDAR", "line 2.*DTSTART"),
    ],
)
def test_bad_files_are_named(tmp_path, text, words):
    """Which file, which line, what was found, how to repair it."""
    path = written(tmp_path, text)
    with pytest.raises(InputError, match=words) as caught:
        read_spans(path)
    assert str(path) in str(caught.value)


def test_unreadable_places_are_named(tmp_path):
    """A folder or a missing file gives one line."""
    for path in (tmp_path, tmp_path / "none.ics"):
        with pytest.raises(InputError, match="cannot be read"):
            read_spans(path)


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=200))
def test_no_bytes_break_the_reader(tmp_path_factory, blob):
    """Whatever the bytes: spans, or our own error."""
    path = tmp_path_factory.mktemp("fuzz") / "x"
    for head in (b"", b"BEGIN:VCALENDAR\nBEGIN:VEVENT\n", b"start,end\n"):
        path.write_bytes(head + blob)
        with contextlib.suppress(InputError):
            read_spans(path)

"""Dates in and out: school terms and dates to avoid from ICS or CSV, chosen windows as an ICS calendar."""

from __future__ import annotations

import csv
import hashlib
import re
from pathlib import Path

import pandas as pd

from analysis.gather.problems import InputError

LINE_OCTETS = 75  # RFC 5545, section 3.1
PRODUCT = "-//Seasonbook//Plan//EN"
LARGEST = 5_000_000  # bytes of a calendar file
ONE_DAY = pd.Timedelta("1D")
DURATION = re.compile(
    r"\+?P(?:(?P<weeks>[0-9]{1,4})W|(?:(?P<days>[0-9]{1,5})D)?"
    r"(?:T(?:(?P<hours>[0-9]{1,5})H)?(?:(?P<minutes>[0-9]{1,6})M)?(?:(?P<seconds>[0-9]{1,7})S)?)?)"
)


def read_spans(path: str | Path, *, zone: str = "UTC") -> list[tuple[pd.Timestamp, pd.Timestamp, str]]:
    """First date, last date and name of each entry of a calendar file.

    Parameters
    ----------
    path : path
        iCalendar (.ics), or CSV with columns `start`, `end` (last day, included; may be absent or
        blank) and perhaps `name`; dates as 2026-07-04.
    zone : str
        Time zone of the operator, whose days the times that a calendar gives in UTC fall on.

    Returns
    -------
    list of (Timestamp, Timestamp, str)
        In the order of the file.

    Raises
    ------
    InputError
        If the file cannot be read, holds no dates, or a date makes no sense: which file, which line.
    """
    path = Path(path)
    try:
        if path.stat().st_size > LARGEST:
            raise InputError(f"{path}: larger than any calendar; give an ICS or CSV file of dates")
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise InputError(
            f"{path}: cannot be read ({error.strerror}); check the name and the rights"
        ) from error
    except UnicodeDecodeError as error:
        raise InputError(f"{path}: is no text in UTF-8; save it as ICS or CSV in UTF-8") from error
    spans = _from_ics(text, path, zone=zone) if "BEGIN:VCALENDAR" in text.upper() else _from_csv(text, path)
    if not spans:
        raise InputError(f"{path}: holds no dates; give an ICS calendar or a CSV with columns start,end")
    return spans


def write_calendar(path: str | Path, events: pd.DataFrame, *, when: pd.Timestamp) -> None:
    """Write all-day events as an iCalendar file.

    Parameters
    ----------
    path : path
    events : DataFrame
        `key`, by which a calendar knows the event again when its dates or words have changed; `start`, `end`
        (first and last date), `title`, `text`; texts are escaped.
    when : Timestamp
        Stamp of the events, so that the same plan gives the same bytes.

    References
    ----------
    RFC 5545, sections 3.1 (folding), 3.3.11 (escapes), 3.6.1 (all-day events end on the day after).
    """
    stamp = f"{pd.Timestamp(when):%Y%m%dT%H%M%SZ}"
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:{PRODUCT}", "CALSCALE:GREGORIAN"]
    columns = (events[name] for name in ("key", "start", "end", "title", "text"))
    for key, start, end, title, text in zip(*columns, strict=True):
        lines += [
            "BEGIN:VEVENT",
            f"UID:{hashlib.sha256(key.encode()).hexdigest()[:32]}@seasonbook.invalid",
            f"DTSTAMP:{stamp}",
            f"DTSTART;VALUE=DATE:{start:%Y%m%d}",
            f"DTEND;VALUE=DATE:{end + pd.Timedelta(days=1):%Y%m%d}",
            f"SUMMARY:{escape(title)}",
            f"DESCRIPTION:{escape(text)}",
            "TRANSP:TRANSPARENT",
            "END:VEVENT",
        ]
    lines.append("END:VCALENDAR")
    Path(path).write_bytes("".join(f"{fold(line)}\r\n" for line in lines).encode())


def escape(text: str) -> str:
    """Text as iCalendar wants it: backslash, semicolon, comma and line breaks escaped, controls dropped."""
    text = re.sub(r"\r\n?|[\u2028\u2029\x0b\x0c\x85]", "\n", str(text))
    text = re.sub(r"[\x00-\x09\x0e-\x1f\x7f]", " ", text)
    return text.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")


def fold(line: str) -> str:
    """A line broken into pieces of at most 75 octets, never inside a character."""
    pieces: list[str] = []
    piece = ""
    for letter in line:
        if len((piece + letter).encode()) > LINE_OCTETS - bool(pieces):
            pieces.append(piece)
            piece = ""
        piece += letter
    return "\r\n ".join([*pieces, piece])


def _from_ics(text: str, path: Path, *, zone: str) -> list[tuple[pd.Timestamp, pd.Timestamp, str]]:
    spans, first_line = [], 0
    event: dict[str, tuple[str, int]] | None = None
    for number, line in _unfolded(text):
        name, _, value = line.partition(":")
        key = name.split(";")[0].strip().upper()
        if key == "BEGIN" and value.strip().upper() == "VEVENT":
            event, first_line = {}, number
        elif key == "END" and value.strip().upper() == "VEVENT" and event is not None:
            spans.append(_event(event, path, first_line, zone=zone))
            event = None
        elif event is not None:
            if key in ("RRULE", "RDATE"):
                raise InputError(
                    f"{path}: line {number}: repeating entries are not read; list each span by itself"
                )
            event.setdefault(key, (value.strip(), number))
    return spans


def _unfolded(text: str):
    """Logical lines with the number of the physical line they begin on."""
    number, line = 1, ""
    for at, physical in enumerate(text.splitlines(), start=1):
        if physical[:1] in (" ", "\t"):
            line += physical[1:]
            continue
        yield number, line
        number, line = at, physical
    yield number, line


def _event(
    event: dict[str, tuple[str, int]], path: Path, line: int, *, zone: str
) -> tuple[pd.Timestamp, pd.Timestamp, str]:
    if "DTSTART" not in event:
        raise InputError(f"{path}: line {line}: an event without DTSTART; give it a first day")
    start = _moment(*event["DTSTART"], path, zone=zone)
    whole_days = "T" not in event["DTSTART"][0]
    if "DTEND" in event:
        end = _moment(*event["DTEND"], path, zone=zone)
        whole_days = "T" not in event["DTEND"][0]
    else:
        usual = ("P1D" if whole_days else "PT0S", line)
        end = start + _duration(*event.get("DURATION", usual), path)
    # The end of an all-day event is the day after; so is an end at midnight.
    last = end - ONE_DAY if whole_days or end == end.normalize() else end
    summary = event.get("SUMMARY", ("", 0))[0]
    name = re.sub(r"\\(.)", r"\1", summary.replace("\\n", " "))
    if start <= end:  # an event may end when it begins
        last = max(last, start)
    return _span(start.normalize(), last.normalize(), name, path, line)


def _moment(value: str, line: int, path: Path, *, zone: str) -> pd.Timestamp:
    """A date, or a date and time by the clock of the operator: one in UTC is moved there."""
    written = re.fullmatch(r"(?P<date>[^T]*)(?:T(?P<clock>[0-9]{6})(?P<utc>Z?))?", value)
    day = _date(written["date"] if written else value, path, line)
    if not written or written["clock"] is None:
        return day
    try:
        moment = pd.to_datetime(f"{day:%Y%m%d}{written['clock']}", format="%Y%m%d%H%M%S")
    except ValueError as error:
        raise InputError(f"{path}: line {line}: {value[:20]!r} is no date; write it as 2026-07-04") from error
    return moment.tz_localize("UTC").tz_convert(zone).tz_localize(None) if written["utc"] else moment


def _duration(value: str, line: int, path: Path) -> pd.Timedelta:
    """Weeks, or days and a time, as RFC 5545 writes them (section 3.3.6)."""
    found = DURATION.fullmatch(value)
    if not found or not any(found.groups()):
        raise InputError(f"{path}: line {line}: {value[:20]!r} is no duration; write it as P2W or P10D")
    return pd.Timedelta(**{unit: int(number) for unit, number in found.groupdict(default="0").items()})  # type: ignore[arg-type]


def _from_csv(text: str, path: Path) -> list[tuple[pd.Timestamp, pd.Timestamp, str]]:
    separator = ";" if text.partition("\n")[0].count(";") > text.partition("\n")[0].count(",") else ","
    rows = csv.DictReader(text.splitlines(), delimiter=separator)
    names = {(name or "").strip().lower(): name for name in rows.fieldnames or []}
    if "start" not in names:
        raise InputError(f"{path}: line 1: no column called start; give columns start,end,name")
    spans = []
    try:
        for row in rows:
            found = {
                key: (row[name] or "").strip() for key, name in names.items() if isinstance(row[name], str)
            }
            if any(found.values()):
                first = _date(found.get("start", ""), path, rows.line_num)
                last = _date(found["end"], path, rows.line_num) if found.get("end") else first
                spans.append(_span(first, last, found.get("name", ""), path, rows.line_num))
    except csv.Error as error:
        raise InputError(f"{path}: line {rows.line_num}: {error}; give columns start,end,name") from error
    return spans


def _date(text: str, path: Path, line: int) -> pd.Timestamp:
    form = "%Y%m%d" if re.fullmatch("[0-9]+", text) else "%Y-%m-%d"
    try:
        return pd.to_datetime(text, format=form)
    except (ValueError, pd.errors.OutOfBoundsDatetime) as error:
        raise InputError(f"{path}: line {line}: {text[:20]!r} is no date; write it as 2026-07-04") from error


def _span(first, last, name: str, path: Path, line: int) -> tuple[pd.Timestamp, pd.Timestamp, str]:
    if last < first:
        raise InputError(
            f"{path}: line {line}: ends on {last:%Y-%m-%d}, before it starts on {first:%Y-%m-%d}"
        )
    return first, last, name

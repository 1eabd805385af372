"""What DOCX and ODT share: looks, sizes, one date and the same bytes every time."""

from __future__ import annotations

import os
import zipfile
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

from PIL import Image

from analysis.show.papers.blocks import Block, Heading

TEXT_WIDTH_CM = 16.0
TEXT_HEIGHT_CM = 18.0
BOX_FILL = "F1F5F8"
BOX_EDGE = "0072B2"
INK, GREY = "1A1A1A", "444444"
LANGUAGE = ("en", "GB")


def dated(given: datetime | None = None) -> datetime | None:
    """Date that a document carries: the one given, else SOURCE_DATE_EPOCH, else none."""
    epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
    return given or (datetime.fromtimestamp(int(epoch), UTC) if epoch.isdigit() else None)


def file_date(given: datetime | None = None) -> datetime:
    """Date for files that must have one: without any, the oldest that a ZIP entry can carry."""
    return dated(given) or datetime(1980, 1, 1, tzinfo=UTC)


def title_of(blocks: list[Block]) -> str:
    """Text of the first heading."""
    return next((block.text for block in blocks if isinstance(block, Heading)), "")


def size_cm(png: Path) -> tuple[float, float]:
    """Width and height of a picture that fills the text width and still fits on a page."""
    with Image.open(png) as image:
        shape = image.height / image.width
    width = min(TEXT_WIDTH_CM, TEXT_HEIGHT_CM / shape)
    return width, width * shape


def pack(raw: BytesIO, path: Path, when: datetime) -> Path:
    """Write a ZIP again with one date on every entry, since the libraries put the present one."""
    stamp = max(when.timetuple()[:6], (1980, 1, 1, 0, 0, 0))
    with zipfile.ZipFile(raw) as old, zipfile.ZipFile(path, "w") as new:
        for entry in old.infolist():
            plain = zipfile.ZipInfo(entry.filename, date_time=stamp)
            plain.compress_type = entry.compress_type
            plain.create_system = 0  # else the bytes would tell on which system they were made
            new.writestr(plain, old.read(entry.filename))
    return path

"""Bytes of a file and the text in them, whatever it is packed in and however it is encoded."""

from __future__ import annotations

import gzip
import io
import re
import stat
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path

from analysis.gather.problems import InputError, NothingOfOurs, one_line, printable

LARGEST = 500 << 20  # bytes after unpacking, several seasons of spots: beyond, memory would not do
BLOCK = 1 << 20  # speed: bytes read at once
CONTROLS = [bytes([code]) for code in (*range(9), *range(14, 32)) if code != 26]  # 26 ended files once
PEEK = 1000  # bytes that tell an encoding,
HEAD = 100_000  # and those that tell text from anything else
HIDDEN = re.compile(r"(^|/)(\.|__MACOSX/)")  # what an operating system packs beside the user's files
DAMAGE = (OSError, EOFError, ValueError, RuntimeError, NotImplementedError, zlib.error, zipfile.BadZipFile)
NOT_TEXT = {
    b"\x89PNG": "a PNG picture",
    b"\xff\xd8\xff": "a JPEG picture",
    b"GIF8": "a GIF picture",
    b"%PDF": "a PDF document",
    b"\x7fELF": "a program",
    b"PK\x03\x04": "an office document or an archive in an archive",
    b"SQLite format 3": "a database",
}


def members(path: Path) -> Iterator[tuple[str, bytes]]:
    """Bytes of a file, unpacked if it is gzip, zip or zstd; its name is "" but for several files in one zip.

    Raises
    ------
    InputError
        If it cannot be read or is damaged.
    """
    try:
        about = path.stat()
        if not stat.S_ISREG(about.st_mode):
            raise InputError(f"{path}: is no file but a pipe or a device; save what it gives as a file first")
        _limit(about.st_size, path)
        packed = path.read_bytes()
    except FileNotFoundError:
        raise InputError(f"{path}: there is no such file; check the name and the folder") from None
    except OSError as fault:
        raise InputError(f"{path}: cannot be read ({fault.strerror}); allow reading it or copy it") from None
    try:
        yield from _unpacked(packed, path)
    except DAMAGE as fault:
        raise InputError(
            f"{path}: the archive is damaged ({one_line(fault)}); fetch or pack it again"
        ) from None


def _limit(size: int, path: Path) -> None:
    if size > LARGEST:
        raise InputError(f"{path}: holds more than {LARGEST >> 20} MB; split it into smaller files")


def _unpacked(packed: bytes, path: Path) -> Iterator[tuple[str, bytes]]:
    if packed[:2] == b"\x1f\x8b":
        with gzip.GzipFile(fileobj=io.BytesIO(packed)) as stream:
            yield "", _whole(stream, path)
    elif packed[:4] == b"\x28\xb5\x2f\xfd":
        import pyarrow as pa

        with pa.CompressedInputStream(pa.BufferReader(packed), "zstd") as stream:
            yield "", _whole(stream, path)
    elif packed[:4] == b"PK\x03\x04":
        yield from _unzipped(packed, path)
    else:
        yield "", packed


def _unzipped(packed: bytes, path: Path) -> Iterator[tuple[str, bytes]]:
    with zipfile.ZipFile(io.BytesIO(packed)) as archive:
        inside = [item for item in archive.infolist() if not item.is_dir()]
        if any(item.filename in ("[Content_Types].xml", "mimetype") for item in inside):
            yield "", packed  # an office document
            return
        inside = [item for item in inside if not HIDDEN.search(item.filename)]
        _limit(sum(item.file_size for item in inside), path)
        names = _distinct([printable(item.filename) for item in inside])
        for name, item in zip(names, inside, strict=True):
            with archive.open(item) as stream:
                yield name if len(inside) > 1 else "", _whole(stream, path)


def _distinct(names: list[str]) -> list[str]:
    """The names, a number behind each that was there before."""
    found: dict[str, None] = {}
    for name in names:
        while name in found:
            name += " (2)"
        found[name] = None
    return list(found)


def _whole(stream, path: Path) -> bytes:
    blocks: list[bytes] = []
    while block := stream.read(BLOCK):
        blocks.append(bytes(block))
        _limit(len(blocks) * BLOCK, path)
    return b"".join(blocks)


def as_utf8(data: bytes, *, source: str) -> bytes:
    """A text file in UTF-8 with its own line ends, from UTF-8, UTF-16, else Windows-1252.

    Raises
    ------
    NothingOfOurs
        If the bytes are a picture, a document or otherwise no text, or blank.
    """
    for mark, kind in NOT_TEXT.items():
        if data.startswith(mark):
            raise NothingOfOurs(
                f"{source}: is {kind}, not a log or table; export the contacts or spots as text"
            )
    head = data[:HEAD] if data.isascii() and b"\x00" not in data[:PEEK] else _in_utf8(data[:HEAD])
    if sum(map(head.count, CONTROLS)) > 0.02 * len(head):
        raise NothingOfOurs(f"{source}: holds no readable text; export the contacts or spots as ADIF or CSV")
    text = data if data.isascii() and b"\x00" not in data[:PEEK] else _in_utf8(data)
    if not text or text.isspace():
        raise NothingOfOurs(f"{source}: the file is empty; export it again")
    return text.replace(b"\x00", b" ")


def _in_utf8(data: bytes) -> bytes:
    wide = {b"\xff\xfe": "utf-16", b"\xfe\xff": "utf-16"}.get(data[:2]) or _wide_without_mark(data[:PEEK])
    if wide:
        return data.decode(wide, "replace").removeprefix("\ufeff").encode("utf-8", "replace")
    data = data.removeprefix(b"\xef\xbb\xbf")
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return data.decode("cp1252", "replace").encode("utf-8")
    return data


def _wide_without_mark(head: bytes) -> str:
    """UTF-16 that lacks its mark: nearly every other byte of Western text is zero there."""
    for encoding, high, low in (("utf-16-le", head[1::2], head[::2]), ("utf-16-be", head[::2], head[1::2])):
        if high.count(0) > 0.9 * len(high) > 2 and low.count(0) < 0.1 * len(low):
            return encoding
    return ""

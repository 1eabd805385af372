"""Files spoiled at random: bytes changed, cut, doubled, moved, and lines of one file in another."""

import gzip
import io
import random
import zipfile

from tests.gather import clubs
from tests.gather.logs import season_log
from tests.gather.shapes import SHAPES, season, written

SPOILERS = [
    b"<",
    b">",
    b":",
    b'"',
    b",",
    b";",
    b"\n",
    b"\r",
    b"\t",
    b"\x00",
    b"\xff",
    b"<EOR>",
    b"<CALL:99999>",
    b"0",
    b"-",
    b"\xf0\x9f",
    b"\\ud800",
    b"1e400",
    *[letter.encode() for letter in "，：；．、٫٬،·—−’“\u00a0\u2009\u2028\u0085\u200b\u200f\ufeff\u0301"],
    *[letter.encode() for letter in "²½Ⅷ①АВСЕОΑΒЖжßſıİÅøØ日時ñש𝟛𝐐😀"],
]
SCRIPTS = ["٠١٢٣٤٥٦٧٨٩", "۰۱۲۳۴۵۶۷۸۹", "०१२३४५६७८९", "０１２３４５６７８９", "𝟎𝟏𝟐𝟑𝟒𝟓𝟔𝟕𝟖𝟗"]
"""Digits of other scripts, 0 to 9."""


def originals() -> list[bytes]:
    """Small sound files of several kinds."""
    table = season(seed=11, slots=3).head(12)
    log = season_log(seed=11, n=12)
    contest = "START-OF-LOG: 3.0\nCALLSIGN: Q1OWN\n" + "".join(
        f"QSO: 50 PH 2024-06-08 18{i:02} Q1OWN 59 IN93 Q{i % 10}AB 59 JO22\n" for i in range(12)
    )
    adx = (
        "<?xml version='1.0'?><ADX><RECORDS>"
        + "<RECORD><CALL>Q2AB</CALL><BAND>6m</BAND></RECORD>" * 5
        + "</RECORDS></ADX>"
    )
    lines = '{"time": "2024-06-09 14:18", "tx_call": "Q2AB", "tx_locator": "JO22", "freq": 50.3}\n' * 6
    tables = [written(table, shape) for shape in (*SHAPES[:2], *SHAPES[10::4])]
    kept = [clubs.written(clubs.rows_of(club, seed=11).head(12), club) for club in clubs.CLUBS[:60:6]]
    plain = [text.encode() for text in (log, log.replace("\n", "\r\n"), contest, adx, lines, *tables)] + kept
    return [*plain, packed(plain), gzip.compress(plain[2]), table.to_parquet(None)]


def packed(files: list[bytes]) -> bytes:
    """A few files in one archive."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for i, data in enumerate(files[:3]):
            archive.writestr(f"{i}.txt", data)
    return stream.getvalue()


def spoiled(data: bytes, rng: random.Random) -> bytes:
    """The file after one to six random accidents."""
    for _ in range(rng.randint(1, 6)):
        at, end = sorted(rng.randrange(len(data) + 1) for _ in range(2))
        kind = rng.randrange(8)
        if kind == 0:
            data = data[:at] + rng.choice(SPOILERS) + data[at:]
        elif kind == 1:
            data = data[:at] + data[min(end, at + 40) :]
        elif kind == 2:
            data = data[:at] + data[at : at + 60] + data[at:]
        elif kind == 3:
            data = data[:at] + bytes([rng.randrange(256)]) + data[at + 1 :]
        elif kind == 4:
            data = data[: max(at, 20)]
        elif kind in (5, 6):  # some digits as another script writes them
            figures = str.maketrans("0123456789", rng.choice(SCRIPTS))
            part = data[at : at + rng.choice((1, 2, 8, 400))]
            data = data[:at] + part.decode("latin-1").translate(figures).encode() + data[at + len(part) :]
        else:
            data = data[:at] + data[end:] + data[at:end]
    return data

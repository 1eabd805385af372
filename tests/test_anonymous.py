"""A review that names nobody: no call sign, fine locator or file name of the input in anything it leaves."""

import io
import re
import zipfile
import zlib

import pandas as pd
import pytest

from analysis import anonymous, products, review, tables

CALLS = ["QA1AAA", "QB2BBB", "QC3CCC", "QD4DDD/P", "QE5EEE/B", "QF6FFF"]
FINE = {
    "QA1AAA": "IN93KD",
    "QB2BBB": "JN61FX",
    "QC3CCC": "JN61FX12",
    "QD4DDD/P": "JO22OC",
    "QF6FFF": "IN80DQ",
}
FILES = {
    "qa1aaa_2024.csv": "utc,call heard,locator heard,heard by,heard at,MHz,mode,snr\n"
    + "".join(
        f"2024-06-{10 + k % 15} {9 + k % 9:02d}:{k % 60:02d},{call},{FINE[call]},QA1AAA,IN93KD,50.313,FT8,-{k % 20}\n"
        for k in range(120)
        for call in (("QB2BBB", "QC3CCC", "QD4DDD/P", "QF6FFF")[k % 4],)
    )
    + "2024-06-31 10:00,QB2BBB,JN61FX,QA1AAA,IN93KD,50.313,FT8,-3\n"
    + "2024-06-12 10:00,QB2BBX,JN61FX,QA1AAA,IN93KD,50.313,FT8,-3\n",
    "QE5EEE_list.csv": "call,locator,freq_mhz\nQE5EEE/B,IN83AA,50.405\n",
    "our-hours.csv": "station,band,start,end\nQA1AAA,6m,2024-06-10 08:00,2024-06-10 20:00\n",
}


@pytest.fixture(scope="module")
def gathered(tmp_path_factory):
    """Reports, a beacon list and declared hours, with a row that cannot be read and a busted call."""
    folder = tmp_path_factory.mktemp("named")
    for name, text in FILES.items():
        (folder / name).write_text(text)
    return review.gather(sorted(folder.iterdir()))


def texts(folder):
    """What every file holds, archives and packed streams unpacked, tables as text."""
    for path in sorted(path for path in folder.rglob("*") if path.is_file()):
        raw = path.read_bytes()
        yield path.name, path.name.encode()
        if path.suffix == ".parquet":
            yield path.name, pd.read_parquet(path).to_csv().encode()
        elif zipfile.is_zipfile(io.BytesIO(raw)):
            with zipfile.ZipFile(io.BytesIO(raw)) as archive:
                for name in archive.namelist():
                    yield f"{path.name}/{name}", archive.read(name)
        elif path.suffix == ".pdf":
            for stream in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", raw, flags=re.DOTALL):
                try:
                    yield path.name, zlib.decompress(stream)
                except zlib.error:
                    yield path.name, stream
        yield path.name, raw


def betrayed(folder):
    """Where a call sign, a fine locator or a file name of the input stands."""
    names = [call.removesuffix("/P").removesuffix("/B") for call in [*CALLS, "QB2BBX"]] + list(FILES)
    secret = re.compile("|".join([*names, *FINE.values(), "IN83AA", "QA1AAA_2024"]).encode(), re.IGNORECASE)
    return {(name, found.group().decode()) for name, text in texts(folder) if (found := secret.search(text))}


@pytest.fixture(scope="module")
def made(gathered, tmp_path_factory):
    """Folders of tables, pictures, articles, opening and card, as they are and anonymous."""
    folders = {}
    for kind, source in (("named", gathered), ("hidden", anonymous.anonymous(gathered))):
        folders[kind] = tmp_path_factory.mktemp(kind)
        finished = review.analyse(source, owner=review.Owner(home="IN93KD"[: 4 if kind == "hidden" else 6]))
        tables.save(finished, folders[kind] / "tables")
        words = products.draw_figures(finished, folders[kind] / "figures", width="slide")
        review._write_articles(folders[kind], finished, words)
        review._write_opening(folders[kind] / "opening.html", finished)
        products.write_shack_card(finished, folders[kind] / "card.pdf")
    return folders


def test_nothing_that_is_left_names_anybody(made):
    """The same search finds them in a review that is not anonymous, so it can find them."""
    assert {name for name, _ in betrayed(made["named"])} >= {"spots.parquet", "set_aside.csv", "beacons.csv"}
    assert betrayed(made["hidden"]) == set()


def test_only_tables_name_anybody_at_all(made):
    """What the README says of a review that is not anonymous: no call sign beside those in its tables.

    The picture of the account names the files, and one of these bears a call sign in its name.
    """
    outside = {name for name, _ in betrayed(made["named"])} - {"account.svg"}
    assert {name for name in outside if not (made["named"] / "tables" / name).exists()} == set()


def test_the_same_reports_in_the_same_order(gathered):
    """Who worked whom, when and on what is the same under other names; suffixes stay, squares stay."""
    hidden = anonymous.anonymous(gathered)
    plain, veiled = gathered.spots, hidden.spots
    for column in ("tx_call", "rx_call"):
        assert (pd.factorize(plain[column])[0] == pd.factorize(veiled[column])[0]).all()
        assert veiled[column].str.fullmatch(r"Q[A-Z][0-9][A-Z]{3,}(/P)?").all()
    assert (plain["tx_call"].str.endswith("/P") == veiled["tx_call"].str.endswith("/P")).all()
    assert (plain["tx_locator"].str[:4] == veiled["tx_locator"]).all()
    same = ["time", "band", "freq_mhz", "mode", "snr_db", "kind", "source_row"]
    pd.testing.assert_frame_equal(plain[same], veiled[same])
    named = plain.columns.drop("source")
    assert plain[named].dtypes.equals(veiled[named].dtypes)
    assert hidden.beacons["call"].iloc[0].endswith("/B")


def test_names_are_stable_and_never_shared(gathered):
    """Two makings give the same names; of many calls no two get one name; another secret gives other names."""
    assert anonymous.anonymous(gathered).spots.equals(anonymous.anonymous(gathered).spots)
    many = [
        f"QZ{k % 10}{a}{b}{c}" for k in range(10) for a in "ABCDEFGHIJ" for b in "ABCDEFGHIJ" for c in "ABCDE"
    ]
    found = anonymous.invented(many)
    assert len(set(found.values())) == len(found) == len(many) + 1
    assert found["QZ0AAA"] == anonymous.invented(["QZ0AAA"])["QZ0AAA"]


def test_the_secret_is_private_and_kept(tmp_path, monkeypatch):
    """Readable by its owner alone; a half-written one is made anew."""
    monkeypatch.setattr(anonymous, "cache_folder", lambda: tmp_path)
    first = anonymous._secret()
    assert anonymous._secret() == first
    assert (tmp_path / "anonymous.key").stat().st_mode & 0o077 == 0
    (tmp_path / "anonymous.key").write_bytes(b"short")
    assert len(anonymous._secret()) == anonymous.KEY_BYTES

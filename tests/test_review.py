"""The whole job, from files to a finished review, with the network shut."""

import json
import re

import nbformat
import pandas as pd
import pytest

from analysis import cli, products, review, shipped, tables
from analysis.gather.problems import InputError
from tests.notebook_outputs import shown

PROMISED = [
    "review.html",
    "article.docx",
    "article.html",
    "article.md",
    "card.pdf",
    "figures/captions.json",
    *[
        f"tables/{name}.csv"
        for name in ("set_aside", "account", "openings", "listening", "daily", "season", "windows")
    ],
    "tables/spots.parquet",
    "tables/key_numbers.json",
]


def made_from(*files, home=""):
    """Finished tables of a few files."""
    return review.analyse(review.gather(files, home=home), owner=review.Owner(home=home))


@pytest.fixture(scope="module")
def demo(demo_review):
    """The demo review, made once by the installed command."""
    return demo_review


@pytest.mark.parametrize("name", PROMISED)
def test_demo_leaves_what_is_promised(demo, name):
    """Every product of the design is there and not empty."""
    assert (demo / name).stat().st_size > 0


def test_demo_account_adds_up(demo):
    """Rows in = kept + set aside + duplicates, for each file."""
    account = pd.read_csv(demo / "tables" / "account.csv")
    assert (account["rows_in"] == account["kept"] + account["set_aside"] + account["duplicates"]).all()
    assert account["rows_in"].sum() > 100_000


def test_demo_notebooks_ran(demo):
    """All nine notebooks were executed without an error, and show their pictures."""
    paths = sorted((demo / "notebooks").glob("*.ipynb"))
    assert [path.name for path in paths] == [path.name for path in shipped.notebook_paths()]
    for path in paths:
        cells = [cell for cell in nbformat.read(path, as_version=4).cells if cell.cell_type == "code"]
        kinds = {output.output_type for cell in cells for output in cell.outputs}
        assert "error" not in kinds
        assert not any(output.get("name") == "stderr" for cell in cells for output in cell.outputs), path.name


@pytest.mark.parametrize("path", shipped.notebook_paths(), ids=lambda path: path.stem)
def test_stored_notebooks_show_what_a_run_shows(demo, path):
    """The repository's executed notebooks are no older than the code: words, tables and alt texts agree."""
    assert shown(demo / "notebooks" / path.name) == shown(path)


def test_page_stands_alone(demo):
    """The page is self-contained, whole, under 8 MB, and links to nothing outside."""
    page = (demo / "review.html").read_text(encoding="utf-8")
    assert 1_000_000 < len(page) < 8_000_000
    assert not re.findall(r"""(?:src|href)=["'](?:https?:)?//""", page)


def test_figures_have_words(demo):
    """Each figure is there as PNG and SVG with a title, caption and alt text."""
    words = json.loads((demo / "figures" / "captions.json").read_text(encoding="utf-8"))
    names = {path.stem for path in (demo / "figures").glob("*.png")}
    assert names == {path.stem for path in (demo / "figures").glob("*.svg")} == set(words)
    assert all(one["title"] and one["caption"] and one["alt"] for one in words.values())


def test_article_numbers_come_from_key_numbers(demo):
    """No digit stands in the article that no key number says."""
    numbers = json.loads((demo / "tables" / "key_numbers.json").read_text(encoding="utf-8"))
    known = " ".join(str(one["text"]) for one in numbers.values()) + " ".join(
        str(one["reason"]) for one in numbers.values()
    )
    prose = re.sub(r"!\[.*?\]\(.*?\)", "", (demo / "article.md").read_text(encoding="utf-8"), flags=re.DOTALL)
    said = set(re.findall(r"\d[\d,.:]*\d|\d", prose.replace("\\", "")))
    assert not {digits for digits in said if digits.rstrip(".,:") not in known}


def test_contacts_only_gives_no_chance(tmp_path):
    """A log of contacts alone tells dates and paths, and in words why no chance is stated."""
    rows = "".join(
        f"<CALL:5>QA{i % 10}AA <QSO_DATE:8>202406{10 + i % 15:02d} <TIME_ON:4>{9 + i % 9:02d}{i % 60:02d} <BAND:2>6m"
        f"<MODE:3>SSB <GRIDSQUARE:4>JN6{i % 10} <MY_GRIDSQUARE:4>IN93 <STATION_CALLSIGN:5>QB1BB <EOR>\n"
        for i in range(200)
    )
    log = tmp_path / "log.adi"
    log.write_text("<EOH>\n" + rows)
    found = made_from(log)
    assert found.about.home == "IN93"
    for table in (found.daily, found.season, found.windows):
        assert (table["verdict"] == "refuse").all()
        assert table["chance"].isna().all()
        assert (table["reason"].str.len() > 20).all()
    assert len(found.openings) > 0


def test_tables_survive_the_disk(tmp_path):
    """What is saved is read back the same."""
    log = tmp_path / "log.adi"
    log.write_text(
        "<EOH><CALL:5>QA1AA <QSO_DATE:8>20240610 <TIME_ON:4>1015 <BAND:2>6m <MODE:2>CW <GRIDSQUARE:4>JN61 <EOR>"
    )
    made = made_from(log, home="IN93")
    tables.save(made, tmp_path / "tables")
    back = tables.load(tmp_path / "tables")
    pd.testing.assert_frame_equal(made.spots, back.spots)
    assert back.about == made.about
    assert back.key_numbers == made.key_numbers


def test_nothing_reaches_the_network(tmp_path, no_network):
    """Gathering, tagging, finding, fitting and drawing work with every socket shut."""
    log = tmp_path / "log.adi"
    log.write_text(
        "<EOH><CALL:5>QA1AA <QSO_DATE:8>20240610 <TIME_ON:4>1015 <BAND:2>6m <MODE:2>CW <GRIDSQUARE:4>JN61 <EOR>"
    )
    found = made_from(log, home="IN93")
    assert products.write_figures(found, tmp_path / "figures")


def test_real_contest_weekend(real_inputs, tmp_path):
    """The openings of a real contest weekend, listed in the folder's own README; no chance is stated."""
    found = made_from(real_inputs / "contest_weekend.adi", home="EM55")
    assert (found.account["rows_in"] == found.account[["kept", "set_aside", "duplicates"]].sum(axis=1)).all()
    six = found.openings.query("scope == 'here' and band == '6m' and mechanism == 'ES'")
    six = six.nlargest(2, "n_spots").sort_values("start")
    assert list(six["start"].dt.strftime("%d %H")) == ["09 14", "09 22"]
    assert list(six["end"].dt.strftime("%d %H")) == ["09 18", "10 00"]
    assert (found.daily["verdict"] == "refuse").all()


def test_real_mixed_log_says_how_little_is_vhf(real_inputs):
    """Mostly HF: the review says plainly how little of it is VHF."""
    found = made_from(real_inputs / "log_mixed_bands.adif", home="KN96")
    assert int(found.account["duplicates"].sum()) >= 15
    assert found.key_numbers["vhf_share"]["value"] < 0.2


def test_unknown_home_is_refused(tmp_path):
    """A home that is no locator is named in the message."""
    with pytest.raises(InputError, match="ZZ99"):
        review.gather([], home="ZZ99")


def test_what_the_user_changed_outlives_the_next_review(tmp_path, monkeypatch, capsys):
    """An edited article, an own notebook, edits made in the lab, a folder of photos; the last line tells."""

    def fill(folder, tables):
        for name in ("review.html", "ten_lines.md", "article.md", "notebooks/03_openings.ipynb"):
            (folder / name).parent.mkdir(exist_ok=True)
            (folder / name).write_text(f"{len(tables.spots)} reports")

    monkeypatch.setattr(review, "_fill", fill)
    log, out = tmp_path / "log.adi", tmp_path / "out"
    contact = (
        "<CALL:5>QA1AA <QSO_DATE:8>202406{} <TIME_ON:4>1015 <BAND:2>6m <MODE:2>CW <GRIDSQUARE:4>JN61 <EOR>"
    )
    command = ["review", str(log), "--home", "IN93", "--out", str(out)]
    log.write_text("<EOH>" + contact.format(10))
    assert cli.main(command) == cli.DONE
    mine = {"article.md": "my words", "notebooks/03_openings.ipynb": "my cell", "photos/mast.jpg": "picture"}
    for name, text in mine.items():
        (out / name).parent.mkdir(exist_ok=True)
        (out / name).write_text(text)
    log.write_text("<EOH>" + contact.format(10) + contact.format(11))
    assert cli.main(command) == cli.DONE
    last = capsys.readouterr().out.splitlines()[-1]
    left = {path.relative_to(out).as_posix(): path.read_text() for path in out.rglob("*") if path.is_file()}
    kept = {name: text for name, text in left.items() if text in mine.values()}
    assert sorted(kept.values()) == sorted(mine.values())
    assert kept["photos/mast.jpg"] == "picture"
    assert left["article.md"] == left["notebooks/03_openings.ipynb"] == "2 reports"
    assert all(name in last for name in kept if name != "photos/mast.jpg")

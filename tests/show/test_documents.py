"""Markdown, HTML, DOCX and ODT: figures in place, untrusted text harmless, the same bytes every time."""

import re
import shutil
import subprocess
import zipfile
from datetime import UTC, datetime
from xml.etree import ElementTree

import pytest
from PIL import Image

from analysis.show.papers.blocks import from_markdown
from analysis.show.papers.documents import markdown_text, write_docx, write_html, write_markdown, write_odt

WRITERS = {"md": write_markdown, "html": write_html, "docx": write_docx, "odt": write_odt}
DATED = ("html", "docx", "odt")
TEXT = r"""# Invented Radio Club & Friends

Some **bold** and *soft* words, and \<script\>alert(1)\</script\>.

## When to listen

- one **a**
- two

![alt "quoted" \<x\>](first)
Caption of the first.

> **How we know.** In a box.
>
> - item in the box

![wide](second)
"""


@pytest.fixture(scope="module")
def draft():
    """Every kind of block."""
    return from_markdown(TEXT)


@pytest.fixture(scope="module")
def figures(tmp_path_factory):
    """Two plain pictures, one wide and one tall."""
    folder = tmp_path_factory.mktemp("figures")
    Image.new("RGB", (900, 400), "teal").save(folder / "first.png")
    Image.new("RGB", (300, 900), "orange").save(folder / "second.png")
    return folder


@pytest.mark.parametrize("kind", WRITERS)
def test_same_bytes_every_time(kind, draft, figures, tmp_path):
    """Two writings give one file."""
    first, second = (WRITERS[kind](draft, tmp_path / f"{n}.{kind}", figures=figures) for n in "ab")
    assert first.read_bytes() == second.read_bytes()


@pytest.mark.parametrize("kind", DATED)
def test_date_is_the_one_given(kind, draft, figures, tmp_path, monkeypatch):
    """SOURCE_DATE_EPOCH and an explicit date say the same, another date gives other bytes."""
    write = WRITERS[kind]
    given = write(draft, tmp_path / f"a.{kind}", figures=figures, when=datetime(2025, 10, 5, tzinfo=UTC))
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1759622400")
    from_epoch = write(draft, tmp_path / f"b.{kind}", figures=figures)
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1000000000")
    other = write(draft, tmp_path / f"c.{kind}", figures=figures)
    assert given.read_bytes() == from_epoch.read_bytes() != other.read_bytes()


@pytest.mark.parametrize("kind", ["docx", "odt"])
def test_no_present_time_in_the_file(kind, draft, figures, tmp_path, monkeypatch):
    """Every entry of the ZIP carries the document's date, not the moment of writing."""
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    path = WRITERS[kind](draft, tmp_path / f"a.{kind}", figures=figures)
    with zipfile.ZipFile(path) as file:
        assert {entry.date_time for entry in file.infolist()} == {(1980, 1, 1, 0, 0, 0)}


def test_without_a_date_none_is_printed(draft, figures, tmp_path, monkeypatch):
    """A page does not pretend to be from 1980."""
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    page = write_html(draft, tmp_path / "a.html", figures=figures).read_text(encoding="utf-8")
    assert "<time" not in page
    assert "1980" not in page


def test_markdown_comes_back_as_the_same_blocks(draft, figures, tmp_path):
    """What we write as Markdown reads as what it was, with figures linked beside it."""
    path = write_markdown(draft, tmp_path / "article.md", figures=tmp_path / "figures")
    text = path.read_text(encoding="utf-8")
    assert "](figures/first.png)" in text
    assert from_markdown(text.replace("figures/", "").replace(".png", "")) == draft


def test_markdown_text_leaves_figures_out(draft):
    """A notebook can show the draft without a figures folder."""
    assert "![" not in markdown_text(draft)
    assert "**How we know.**" in markdown_text(draft)


def test_html_is_self_contained_and_escaped(draft, figures, tmp_path):
    """One page with the pictures inside it; a script in the text is text."""
    page = write_html(draft, tmp_path / "article.html", figures=figures).read_text(encoding="utf-8")
    assert page.count('<img src="data:image/png;base64,') == 2
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    assert not re.search(r'(?:src|href)="(?!data:|#)', page)
    assert 'alt="alt &#34;quoted&#34; &lt;x&gt;"' in page


def test_docx_has_headings_figures_and_alt_text(draft, figures, tmp_path):
    """Styles carry the structure; every picture has a description."""
    from docx import Document

    document = Document(str(write_docx(draft, tmp_path / "article.docx", figures=figures)))
    styles = {paragraph.style.name: paragraph.text for paragraph in document.paragraphs}
    assert styles["Title"] == "Invented Radio Club & Friends"
    assert styles["Heading 2"] == "When to listen"
    assert styles["Caption"] == "Caption of the first."
    assert [shape._inline.docPr.get("descr") for shape in document.inline_shapes] == [
        'alt "quoted" <x>',
        "wide",
    ]


def test_odt_has_headings_figures_and_alt_text(draft, figures, tmp_path):
    """The mimetype stands first and plain, as the standard wants it; every picture has a description."""
    with zipfile.ZipFile(write_odt(draft, tmp_path / "article.odt", figures=figures)) as file:
        first = file.infolist()[0]
        assert (first.filename, first.compress_type) == ("mimetype", zipfile.ZIP_STORED)
        assert {"Pictures/first.png", "Pictures/second.png"} <= set(file.namelist())
        content = ElementTree.fromstring(file.read("content.xml"))
    texts = {element.tag.split("}")[1]: "".join(element.itertext()) for element in content.iter()}
    assert texts["h"] == "When to listen"
    assert texts["desc"] == "wide"


@pytest.mark.parametrize("kind", ["docx", "odt"])
@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
def test_libreoffice_shows_every_figure(kind, draft, figures, tmp_path):
    """The office program opens the file and its PDF holds both pictures."""
    path = WRITERS[kind](draft, tmp_path / f"article.{kind}", figures=figures)
    profile = f"-env:UserInstallation=file://{tmp_path}/profile"
    command = ["soffice", profile, "--headless", "--convert-to", "pdf", "--outdir", str(tmp_path), str(path)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    pdf = (tmp_path / "article.pdf").read_bytes()
    assert len(re.findall(rb"/Subtype\s*/Image", pdf)) == 2

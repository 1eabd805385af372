"""The review as one page: complete, harmless, readable by eye, ear and printer."""

import base64
import hashlib
import io
import itertools
import re
import shutil
import subprocess
from html.parser import HTMLParser

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output
from PIL import Image

from analysis.gather.problems import InputError
from analysis.show.page.page import write_page
from analysis.show.page.safe_html import clean

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
EMPTY = {"meta", "img", "br", "link", "input", "hr"}


def picture():
    """A small picture as a notebook stores it."""
    raw = io.BytesIO()
    Image.new("RGB", (60, 40), "teal").save(raw, "PNG")
    return base64.b64encode(raw.getvalue()).decode()


def result(**data):
    """The value of a cell's last line."""
    return new_output("execute_result", data={name.replace("__", "/"): value for name, value in data.items()})


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    """Two notebooks with everything that a notebook may hold, as one page."""
    folder = tmp_path_factory.mktemp("page")
    cells = [
        new_markdown_cell(
            "# When was <i>6 m</i> open & how?\n\n**Open.** See [next](02_paths.ipynb), [out](http://example.org)."
        ),
        new_code_cell("tables = '../tables'", metadata={"tags": ["parameters"]}),
        new_code_cell(
            "print(1 < 2)",
            outputs=[
                new_output("stream", name="stdout", text="\x1b[31mtrue\x1b[0m <b>\n"),
                new_output("stream", name="stderr", text="UserWarning: hidden"),
            ],
        ),
        new_code_cell("chart", outputs=[result(image__png=picture(), text__plain='Peak at "11:00" <solar>')]),
        new_code_cell(
            "print(chart.caption)", outputs=[new_output("stream", name="stdout", text="Peaks & range.\n")]
        ),
        new_code_cell("figure", outputs=[result(image__png=picture(), text__plain="<Figure size 1x1>")]),
        new_code_cell(
            "table",
            outputs=[
                result(
                    text__html="<style>x</style><table><thead><tr><th>call</th></tr></thead><tbody>"
                    "<tr><th>0</th><td onclick=x>Q1<script>alert(1)</script></td></tr></tbody></table>"
                )
            ],
        ),
        new_code_cell(
            "widget",
            outputs=[result(**{"application__vnd.jupyter.widget-view+json": {}, "text__plain": "VBox()"})],
        ),
        new_markdown_cell(
            "#### What this cannot show\n\n<script>alert(2)</script>\n\n| a | b |\n|---|---|\n| 1 | 2 |\n"
        ),
    ]
    paths = [folder / "01_open.ipynb", folder / "02_paths.ipynb"]
    nbformat.write(new_notebook(cells=cells), paths[0])
    nbformat.write(
        new_notebook(cells=[new_markdown_cell("# Which paths?\n\n## Seen\n\n### Deeper")]), paths[1]
    )
    out = write_page(paths, out=folder / "review.html", title="Club <6 m> & more")
    return out.read_text(encoding="utf-8")


class Outline(HTMLParser):
    """Every start tag with its attributes, and whether the tags nest."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.stack, self.faults = [], [], []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in EMPTY:
            self.stack.append(tag)

    def handle_endtag(self, tag):
        if not self.stack or self.stack.pop() != tag:
            self.faults.append(tag)


def test_tags_nest(page):
    """Every element that is opened is closed in its place."""
    outline = Outline(page)
    assert not outline.faults
    assert not outline.stack


def test_nothing_acts_and_nothing_leads_outside(page):
    """No script but the page's own, no handler, no address but those within the page."""
    script = re.search(r"<script>(.*)</script>", page, flags=re.DOTALL)[1]
    mark = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    assert page.count("<script") == 1
    assert f"script-src 'sha256-{mark}'" in page
    assert not re.search(r"\son\w+=", page)
    assert not re.search(r'(?:src|href)="(?!data:image/webp|#)', page)
    assert "default-src 'none'" in page


def test_contents_lead_to_each_question(page):
    """The table of contents and links between notebooks point at sections that exist."""
    tags = Outline(page).tags
    ids = [attrs["id"] for _, attrs in tags if "id" in attrs]
    assert len(ids) == len(set(ids))
    targets = [attrs["href"][1:] for tag, attrs in tags if tag == "a"]
    assert set(targets) <= set(ids)
    assert targets.count("n-02-paths") == 2
    assert "When was 6 m open &amp; how?" in page or "&lt;i&gt;6 m&lt;/i&gt;" in page


def test_headings_are_in_order(page):
    """One first-level heading, and no level left out on the way down."""
    levels = [int(tag[1]) for tag, _ in Outline(page).tags if re.fullmatch(r"h[1-6]", tag)]
    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))


def test_figures_have_alt_text(page):
    """A picture's own words are its alt text; one without words is named after its question."""
    alts = [attrs.get("alt") for tag, attrs in Outline(page).tags if tag == "img"]
    assert alts[0] == 'Peak at "11:00" <solar>'
    assert alts[1].startswith("Figure: When was")


def test_line_printed_after_a_figure_is_its_caption(page):
    """What a notebook prints under its picture belongs to the picture."""
    assert "<figcaption>Peaks &amp; range.</figcaption></figure>" in page


def test_tables_have_scopes(page):
    """Header cells say whether they head a column or a row."""
    scopes = [attrs.get("scope") for tag, attrs in Outline(page).tags if tag == "th"]
    assert scopes == ["col", "row", "col", "col"]


def test_language_landmarks_and_skip_link(page):
    """A screen reader finds its way: language, one main, contents named, a way past them."""
    tags = Outline(page).tags
    assert ("html", {"lang": "en"}) in tags
    assert [tag for tag, _ in tags if tag in ("header", "nav", "main", "footer")] == [
        "header",
        "nav",
        "main",
        "footer",
    ]
    assert next(attrs["href"] for tag, attrs in tags if tag == "a") == "#main"


def test_output_is_shown_and_noise_is_not(page):
    """Printed text stands there escaped; warnings and dead controls do not."""
    assert "true &lt;b&gt;" in page
    for noise in ("UserWarning", "VBox", "\x1b"):
        assert noise not in page
    assert page.count('<details class="code">') == 1


@pytest.mark.parametrize(
    ("html", "safe"),
    [
        ("<p>a<b>c</p>d", "<p>a<b>c</b></p>d"),
        ("<img src=x onerror=alert(1)>", ""),
        ("<td colspan=2 rowspan=x>1 &lt; 2", '<td colspan="2">1 &lt; 2</td>'),
        ("a<script>b<script>c</script>d", "ad"),
        ("</p><br/>e", "<br>e"),
        ("<tbody>\n </tbody>", "<tbody><tr><td>no rows</td></tr></tbody>"),
    ],
)
def test_foreign_html_is_made_safe(html, safe):
    """Tags that could act are dropped with what they hold; the rest is closed and kept."""
    assert clean(html) == safe


@pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed")
@pytest.mark.parametrize("width", [1280, 800, 500])
def test_browser_finds_no_fault_and_nothing_overflows(page, tmp_path, width):
    """A real browser logs nothing, and the page is no wider than its window."""
    plain, measured = tmp_path / "page.html", tmp_path / "measured.html"
    plain.write_text(page, encoding="utf-8")
    script = (
        "<script>document.title = innerWidth + ' ' + document.documentElement.scrollWidth</script></body>"
    )
    measured.write_text(
        re.sub("<meta http-equiv[^>]*>", "", page).replace("</body>", script), encoding="utf-8"
    )
    command = [CHROMIUM, "--headless", "--no-sandbox", "--disable-gpu", f"--window-size={width},900"]
    command += [f"--user-data-dir={tmp_path}/profile", "--enable-logging=stderr", "--dump-dom"]
    seen = [
        subprocess.run([*command, path.as_uri()], check=True, capture_output=True, text=True, timeout=120)
        for path in (plain, measured)
    ]
    assert "CONSOLE" not in seen[0].stderr
    window, wide = map(int, re.search(r"<title>(\d+) (\d+)</title>", seen[1].stdout).groups())
    assert window == width
    assert wide <= window


def test_a_page_without_notebooks_is_refused(tmp_path):
    """Nothing to show is said in one line, and no file is left."""
    with pytest.raises(InputError, match="no notebook to show"):
        write_page([], out=tmp_path / "review.html", title="t")
    assert not list(tmp_path.iterdir())


def test_a_narrow_screen_has_its_own_picture(tmp_path):
    """A picture with a narrow drawing carries both; one without stays as it is."""
    notebook = new_notebook(cells=[new_markdown_cell("# One")])
    for alt in ("Hours of the day", "Weeks"):
        data = {"image/png": picture(), "text/plain": alt}
        shown = new_output("display_data", data=data)
        notebook.cells.append(new_code_cell("", outputs=[shown]))
    path = tmp_path / "01_one.ipynb"
    nbformat.write(notebook, path)
    narrow = {"Hours of the day": b"\x89PNG narrow", "Elsewhere": b"none"}
    page = write_page([path], out=tmp_path / "page.html", title="T", narrow=narrow).read_text(
        encoding="utf-8"
    )
    assert page.count("<picture>") == 1
    (both,) = re.findall(r"<picture>.*?</picture>", page)
    assert base64.b64encode(b"\x89PNG narrow").decode() in both
    assert 'alt="Hours of the day"' in both
    assert "max-width: 40rem" in both

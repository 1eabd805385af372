"""What the products of a review say: every paragraph of every kind of file, and the place where it stands."""

import json
import re
import shutil
import subprocess
import zipfile
from dataclasses import dataclass
from html.parser import HTMLParser
from xml.etree import ElementTree

W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
DRAWING = "{http://schemas.openxmlformats.org/drawingml/2006/wordprocessingDrawing}"
TEXT = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"
SVG = "{urn:oasis:names:tc:opendocument:xmlns:svg-compatible:1.0}"
BLOCKS = frozenset(
    [
        "p",
        "li",
        "h1",
        "h2",
        "h3",
        "h4",
        "h5",
        "h6",
        "td",
        "th",
        "figcaption",
        "caption",
        "pre",
        "summary",
        "title",
        "blockquote",
        "div",
        "section",
        "option",
        "label",
        "output",
        "button",
        "header",
        "main",
        "nav",
        "footer",
        "figure",
        "details",
        "table",
        "tr",
    ]
)
UNREAD = ("script", "style")
PDFTOTEXT = shutil.which("pdftotext")


@dataclass(frozen=True)
class Said:
    """One paragraph, heading, cell or alt text: the file, the kind of place in it, and its words."""

    product: str
    place: str
    text: str


def plain(text):
    """Words on one line: no-break spaces as spaces, no marks of Markdown."""
    text = re.sub(r"[\u00a0\u202f]", " ", text)
    return re.sub(r"\s+", " ", re.sub(r"\\(?=\W)|\\(?=_)|\*\*|(?<!\w)\*|\*(?!\w)", "", text)).strip()


def said_by(folder):
    """Everything that the files of a review, an article or a plan say.

    Cells of tables are left out: a table that is shown is the table that it shows.
    """
    found = []
    for path in sorted(folder.rglob("*")):
        read = READERS.get(path.name) or READERS.get(path.suffix)
        if read and "notebooks" not in path.parts and "tables" not in path.parts:
            name = str(path.relative_to(folder))
            found += [Said(name, place, plain(text)) for place, text in read(path) if plain(text)]
    return [one for one in found if one.place != "cell"]


class _Page(HTMLParser):
    def __init__(self):
        super().__init__()
        self.found, self.open, self.words = [], [], []

    def handle_starttag(self, tag, attrs):
        attrs = dict(attrs)
        self.found += [(name, attrs[name]) for name in ("alt", "aria-label", "data-now") if attrs.get(name)]
        if tag in BLOCKS:
            self._flush()
        if tag not in ("img", "br", "input", "meta", "link", "hr", "circle", "path", "ellipse", "line"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        if tag in BLOCKS:
            self._flush()
        if tag in self.open:
            while self.open.pop() != tag:
                pass

    def handle_data(self, data):
        listing = "pre" in self.open and "code" in self.open  # the code of a notebook
        if not listing and not any(tag in self.open for tag in UNREAD):
            self.words.append(data)

    def _flush(self):
        text = "".join(self.words)
        inner = [tag for tag in self.open if tag in BLOCKS]
        place = "cell" if {"td", "th"} & set(inner) else (inner or ["text"])[-1]
        self.found += [(place, text)] * bool(text.strip())
        self.words = []


def _html(path):
    page = _Page()
    page.feed(path.read_text(encoding="utf-8"))
    page.close()
    return page.found


def _docx(path):
    with zipfile.ZipFile(path) as parts:
        body = ElementTree.fromstring(parts.read("word/document.xml"))
    yield from (("alt", one.get("descr") or "") for one in body.iter(f"{DRAWING}docPr"))
    for paragraph in body.iter(f"{W}p"):
        yield "p", "".join(one.text or "" for one in paragraph.iter(f"{W}t"))


def _odt(path):
    with zipfile.ZipFile(path) as parts:
        body = ElementTree.fromstring(parts.read("content.xml"))
    for tag in (f"{SVG}desc", f"{SVG}title"):
        yield from (("alt", one.text or "") for one in body.iter(tag))
    for tag in (f"{TEXT}p", f"{TEXT}h"):
        for paragraph in body.iter(tag):
            yield "p", _text_of(paragraph)


def _text_of(element):
    """Text of an ODT paragraph without the descriptions of the pictures in it."""
    if element.tag.startswith(SVG):
        return element.tail or ""
    gap = " " * (element.tag in (f"{TEXT}s", f"{TEXT}line-break"))
    return (element.text or "") + gap + "".join(map(_text_of, element)) + (element.tail or "")


def _markdown(path):
    text = path.read_text(encoding="utf-8")
    text = re.sub(r"^> ?", "", text, flags=re.MULTILINE)
    for block in re.split(r"\n\s*\n|\n(?=- |\d+\. )", text):
        alt = re.match(r"!\[(.*?)\]\([^)]*\)\s*(.*)", block, flags=re.DOTALL)
        yield from [("alt", alt[1]), ("figcaption", alt[2])] if alt else [("p", block.lstrip("#- "))]


def _ics(path):
    text = path.read_bytes().decode("utf-8").replace("\r\n ", "")
    for name, value in re.findall(r"^(SUMMARY|DESCRIPTION):(.*?)\r?$", text, flags=re.MULTILINE):
        for line in value.split("\\n"):
            yield name.lower(), re.sub(r"\\([,;\\])", r"\1", line)


def _pdf(path):
    if PDFTOTEXT is None:
        return []
    done = subprocess.run([PDFTOTEXT, "-raw", path, "-"], capture_output=True, text=True, check=True)
    return [("p", part) for part in re.split(r"•", done.stdout)]


def _captions(path):
    for name, words in json.loads(path.read_text(encoding="utf-8")).items():
        yield from ((f"{kind} of {name}", words[kind]) for kind in ("title", "caption", "alt"))


def _console(path):
    lines = path.read_text(encoding="utf-8").splitlines()
    return [("line", line) for line in lines]


READERS = {
    ".html": _html,
    ".docx": _docx,
    ".odt": _odt,
    ".md": _markdown,
    ".ics": _ics,
    ".pdf": _pdf,
    ".txt": _console,
    "captions.json": _captions,
}

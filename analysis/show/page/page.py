"""Executed notebooks as one self-contained page: no outside link, nothing to download, whole without a script."""

from __future__ import annotations

import base64
import hashlib
import io
import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from html import escape, unescape
from pathlib import Path

import mistune
import nbformat
from jinja2 import Environment, FileSystemLoader
from markupsafe import Markup
from PIL import Image

from analysis.gather.problems import InputError
from analysis.show.page import controls, searchable
from analysis.show.page.safe_html import clean, figure

TEMPLATES = Path(__file__).parent / "templates"
CHOICES = (TEMPLATES / "choices.js").read_text(encoding="utf-8")
DEEPEST = 6
SMALL = {
    "lossless": True,
    "method": 1,
    "quality": 30,
}  # more effort takes longer for the same size, less doubles it
PNG = re.compile(r"data:image/png;base64,([A-Za-z0-9+/=]+)")


@dataclass(frozen=True)
class Section:
    """One notebook of the page: its anchor, its title, the answer with its picture, and what folds away."""

    anchor: str
    title: str
    answer: str
    chapter: str


def write_page(
    notebooks: Iterable[Path | str],
    *,
    out: Path | str,
    title: str,
    first: str = "",
    narrow: Mapping[str, bytes] | None = None,
) -> Path:
    """Write the executed notebooks as one page: each an answer with its picture, the rest folded below it.

    Parameters
    ----------
    notebooks : sequence of Path
        Executed .ipynb files in reading order; the first heading of each becomes its title.
    out : Path
        The HTML file to write.
    title : str
        Printed as it is, whatever characters it holds.
    first : str
        Markdown that stands before everything.
    narrow : dict, optional
        Alt text of a picture to the same picture (PNG) drawn for a narrow screen, which then shows it instead.

    Returns
    -------
    Path
        `out`. What a notebook wrote to stderr, warnings among it, is never shown.

    Raises
    ------
    InputError
        If there is no notebook: a page that shows nothing is not written.
    """
    paths = [Path(path) for path in notebooks]
    if not paths:
        raise InputError(f"{out}: there is no notebook to show, so no page is written; install it anew")
    sections = [_section(path) for path in paths]
    engine = Environment(
        loader=FileSystemLoader(TEMPLATES), autoescape=True, trim_blocks=True, lstrip_blocks=True
    )
    script = CHOICES + searchable.SCRIPT
    page = engine.get_template("page.html.j2").render(
        title=title,
        first=Markup(_markdown(first, _Headings(anchor=""))),
        sections=[replace(one, answer=_with_narrow(one.answer, narrow or {})) for one in sections],
        script=Markup(script),
        script_hash=_hash(script),
    )
    out = Path(out)
    page = PNG.sub(_smaller, page)
    out.write_text(page + "\n", encoding="utf-8", newline="\n")
    return out


def _with_narrow(html: str, narrow: Mapping[str, bytes]) -> str:
    """Pictures of which there is a narrow drawing, with it beside them for small screens."""

    def both(found: re.Match[str]) -> str:
        png = narrow.get(unescape(found[1]).replace("\u00a0", " "))
        if png is None:
            return found[0]
        source = "data:image/png;base64," + base64.b64encode(png).decode("ascii")
        return f'<picture><source media="(max-width: 40rem)" srcset="{source}">{found[0]}</picture>'

    narrow = {alt.replace("\u00a0", " "): png for alt, png in narrow.items()}
    return re.sub(r'<img src="[^"]*" alt="([^"]*)"[^>]*>', both, html)


def _smaller(found: re.Match[str]) -> str:
    """A picture of the page as lossless WebP: the same pixels in three quarters of the bytes."""
    small = io.BytesIO()
    try:
        with Image.open(io.BytesIO(base64.b64decode(found[1]))) as image:
            image.convert("RGBA" if "A" in image.getbands() else "RGB").save(small, "WEBP", **SMALL)
    except (OSError, ValueError):  # no picture that we drew: it stays as it was
        return found[0]
    return "data:image/webp;base64," + base64.b64encode(small.getvalue()).decode("ascii")


def _hash(script: str) -> str:
    """Mark by which the page allows its own script and no other."""
    return "sha256-" + base64.b64encode(hashlib.sha256(script.encode()).digest()).decode("ascii")


def anchor_of(path: Path) -> str:
    """Anchor of a notebook within the page."""
    return "n-" + re.sub(r"[^a-z0-9]+", "-", path.stem.lower()).strip("-")


def _section(path: Path) -> Section:
    notebook = nbformat.read(path, as_version=4)
    state = notebook.metadata.get("widgets", {}).get(controls.STATE, {}).get("state", {})
    renderer = _Headings(anchor=anchor_of(path))
    parts: list[str] = []
    for cell in notebook.cells:
        if cell.cell_type == "markdown":
            parts.append(_markdown(cell.source, renderer))
        elif cell.cell_type == "code":
            for output in cell.outputs:
                _add(parts, output, renderer, state)
    parts.append(_code(notebook))
    parts = [part for part in parts if part]
    shown = next((place for place, part in enumerate(parts, 1) if "<figure" in part or "<img" in part), 1)
    return Section(
        anchor_of(path), renderer.title or path.stem, "\n".join(parts[:shown]), "\n".join(parts[shown:])
    )


class _Headings(mistune.HTMLRenderer):
    """Markdown as HTML one level down, with headings in order and no link that leaves the page."""

    def __init__(self, *, anchor: str) -> None:
        super().__init__(escape=True)
        self.anchor, self.title, self.level, self.latest = anchor, "", 2, ""

    def heading(self, text: str, level: int, **attrs) -> str:
        self.latest = unescape(re.sub(r"<[^>]*>", "", text))
        if not self.title:  # the section's own heading carries it
            self.title = self.latest
            return ""
        # A level that is left out would leave a hole in what a screen reader announces.
        self.level = min(level + 1, self.level + 1, DEEPEST) if level > 1 else 3
        return f"<h{self.level}>{text}</h{self.level}>\n"

    def link(self, text: str, url: str, title: str | None = None) -> str:
        name = url.split("#")[0]
        return f'<a href="#{anchor_of(Path(name))}">{text}</a>' if name.endswith(".ipynb") else text

    def image(self, text: str, url: str, title: str | None = None) -> str:
        return f"<em>{text}</em>"


def _markdown(source: str, renderer: _Headings) -> str:
    html = mistune.create_markdown(renderer=renderer, plugins=["table", "strikethrough"])(source)
    html = re.sub(r"<th\b(?![^>]*scope)", '<th scope="col"', str(html))
    frame = '<div class="scroll" tabindex="0" role="group" aria-label="Table"><table>'
    return html.replace("<table>", frame).replace("</table>", "</table></div>")


def _code(notebook) -> str:
    """All code of a notebook, folded: it is there to be checked, not in the way of reading."""
    sources = [cell.source for cell in notebook.cells if cell.cell_type == "code" and cell.source.strip()]
    if not sources:
        return ""
    text = escape("\n\n".join(sources))
    return (
        '<details class="code"><summary>The code behind this</summary>'
        f'<pre tabindex="0"><code>{text}</code></pre></details>'
    )


def _add(parts: list[str], output, renderer: _Headings, state: Mapping) -> None:
    """Add one output; a single printed line right after a figure is its caption."""
    shown = _output(output, renderer, state)
    printed = output.output_type == "stream" and output.name == "stdout"
    if printed and parts and parts[-1].endswith("</figure>") and "\n" not in output.text.strip():
        caption = f"<figcaption>{escape(_plain(output.text))}</figcaption></figure>"
        parts[-1] = parts[-1].removesuffix("</figure>") + caption
    elif shown:
        parts.append(shown)


def _output(output, renderer: _Headings, state: Mapping) -> str:
    """One output of a cell; stderr and controls that need a kernel leave nothing."""
    if output.output_type == "stream":
        return _printed(output.text) if output.name == "stdout" else ""
    data = output.get("data", {})
    model = data.get(controls.VIEW, {}).get("model_id", "")
    if model in state:
        return _choice(*controls.stored(state, model))
    if "image/png" in data:
        alt = _text(data.get("text/plain", "")).strip()
        alt = f"Figure: {renderer.title}" if not alt or alt.startswith("<") else alt
        return clean(figure(base64.b64decode(_text(data["image/png"])), alt=alt))
    if "text/html" in data:
        return clean(_text(data["text/html"]), name=f"Table: {renderer.latest}")
    if "text/markdown" in data:
        return _markdown(_text(data["text/markdown"]), renderer)
    return "" if controls.VIEW in data else _printed(_text(data.get("text/plain", "")))


def _choice(menus: tuple[str, ...], pictures: Mapping[tuple[str, ...], str]) -> str:
    """Pictures to choose among; without a script, and on paper, all of them under their labels."""
    options = "\n".join(
        f'<div class="option" data-labels="{escape(json.dumps(labels))}">'
        f'<p class="picked">{escape(" · ".join(labels))}</p>{clean(html)}</div>'
        for labels, html in pictures.items()
    )
    return f'<div class="choice" data-menus="{escape(json.dumps(menus))}">\n{options}\n</div>'


def _printed(text) -> str:
    text = _plain(text)
    return f'<pre class="printed" tabindex="0">{escape(text)}</pre>' if text else ""


def _plain(text) -> str:
    """Text without the marks by which a terminal colours it."""
    return re.sub(r"\x1b\[[0-9;]*m", "", _text(text)).rstrip()


def _text(value) -> str:
    return value if isinstance(value, str) else "".join(value)

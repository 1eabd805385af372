"""Blocks written as Markdown, HTML, DOCX and ODT: figures in place, the same bytes every time."""

from __future__ import annotations

import base64
import os
from datetime import datetime
from pathlib import Path

from jinja2 import Environment, FileSystemLoader

from analysis.show.papers.blocks import Block, Bullets, Figure, Heading, Paragraph, Run, escape, kept_together
from analysis.show.papers.docx_file import write_docx
from analysis.show.papers.odt_file import write_odt
from analysis.show.papers.office import dated, title_of

TEMPLATES = Path(__file__).parent / "templates"
__all__ = ["markdown_text", "write_docx", "write_html", "write_markdown", "write_odt"]
MARKS = {"": "", "strong": "**", "emphasis": "*"}


def write_markdown(blocks: list[Block], path: Path | str, *, figures: Path | str) -> Path:
    """Write Markdown; figures are linked relative to the file.

    Parameters
    ----------
    blocks : list of Block
        From `article.article`.
    figures : Path
        Folder that holds `<name>.png` for every figure.
    """
    path = Path(path)
    folder = os.path.relpath(figures, path.parent).replace(os.sep, "/")
    path.write_text(markdown_text(blocks, folder=folder), encoding="utf-8", newline="\n")
    return path


def markdown_text(blocks: list[Block], *, folder: str | None = None) -> str:
    """Blocks as Markdown; figures come from `folder`, or are left out without one."""
    shown = [block for block in blocks if folder is not None or not isinstance(block, Figure)]
    return "\n\n".join(_markdown(block, folder or "") for block in shown) + "\n"


def write_html(
    blocks: list[Block], path: Path | str, *, figures: Path | str, when: datetime | None = None
) -> Path:
    """Write one self-contained HTML page with the figures inside it; parameters as `write_markdown`."""
    engine = Environment(
        loader=FileSystemLoader(TEMPLATES), autoescape=True, trim_blocks=True, lstrip_blocks=True
    )
    page = engine.get_template("article.html.j2").render(
        title=title_of(blocks),
        blocks=[(type(block).__name__, kept_together(block)) for block in blocks],
        kind=lambda block: type(block).__name__,
        image=lambda name: data_uri(Path(figures) / f"{name}.png"),
        when=carried.date().isoformat() if (carried := dated(when)) else "",
    )
    path = Path(path)
    path.write_text(page + "\n", encoding="utf-8", newline="\n")
    return path


def data_uri(png: Path) -> str:
    """A PNG file as an address that holds the picture itself."""
    return "data:image/png;base64," + base64.b64encode(png.read_bytes()).decode("ascii")


def _markdown(block: Block, folder: str) -> str:
    if isinstance(block, Heading):
        return f"{'#' * block.level} {escape(block.text)}"
    if isinstance(block, Paragraph):
        return _marked(block.runs)
    if isinstance(block, Bullets):
        return "\n".join(f"- {_marked(item)}" for item in block.items)
    if isinstance(block, Figure):
        image = f"![{escape(block.alt)}]({folder}/{block.name}.png)"
        return f"{image}\n*{escape(block.caption)}*" if block.caption else image
    inner = "\n\n".join(_markdown(one, folder) for one in block.blocks)
    return "\n".join(f"> {line}".rstrip() for line in inner.splitlines())


def _marked(runs: tuple[Run, ...]) -> str:
    """Runs with their marks, which Markdown wants tight around the words."""
    text = ""
    for run in runs:
        inner = run.text.strip()
        before, after = run.text[: len(run.text) - len(run.text.lstrip())], run.text[len(run.text.rstrip()) :]
        mark = MARKS[run.style] if inner else ""
        text += (
            (before if inner else "")
            + mark
            + (escape(inner) if inner else run.text)
            + mark
            + after * bool(inner)
        )
    return text

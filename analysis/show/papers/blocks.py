"""The pieces a document is made of, and how they are read from Markdown."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

import mistune

from analysis.show.wording import words


@dataclass(frozen=True)
class Run:
    """A stretch of text in one style: plain "", "strong" or "emphasis"."""

    text: str
    style: str = ""


@dataclass(frozen=True)
class Heading:
    """A heading; level 1 is the document's title."""

    level: int
    text: str


@dataclass(frozen=True)
class Paragraph:
    """One paragraph."""

    runs: tuple[Run, ...]


@dataclass(frozen=True)
class Bullets:
    """A list, one tuple of runs per item."""

    items: tuple[tuple[Run, ...], ...]


@dataclass(frozen=True)
class Figure:
    """A picture by its name in the figures folder, with caption and alt text."""

    name: str
    caption: str
    alt: str


@dataclass(frozen=True)
class Box:
    """A box set apart from the text; it holds paragraphs and lists."""

    blocks: tuple[Paragraph | Bullets, ...]


Block = Heading | Paragraph | Bullets | Figure | Box


def from_markdown(text: str) -> list[Block]:
    """Blocks of a Markdown text.

    Headings, paragraphs, lists, bold and italics are kept. A paragraph that begins with a picture,
    `![alt](name)`, becomes a figure whose caption is the rest of the paragraph; a quotation becomes
    a box. HTML is not interpreted: it stays the text it is.
    """
    tokens = mistune.create_markdown(renderer=None)(text)
    return [block for token in tokens for block in _blocks(token)]  # type: ignore[union-attr]


def escape(text) -> str:
    """Text as Markdown that shows exactly this text: nobody's call sign or club turns into markup."""
    one_line = re.sub(r"\s+", " ", str(text))
    marked = re.sub(r"([\\`*_\[\]<>&|#~!])", r"\\\1", one_line)
    return re.sub(r"^(\d+)([.)])|^([-+=])", r"\1\\\2\3", marked)


def plain(blocks) -> str:
    """The text of blocks without any markup, one block a line."""
    return "\n".join(line for block in blocks for line in _lines(block))


def kept_together(block: Block) -> Block:
    """The block with its numbers kept beside their units, for pages on which lines are broken."""
    if isinstance(block, Heading):
        return replace(block, text=words.kept_together(block.text))
    if isinstance(block, Paragraph):
        return Paragraph(_kept(block.runs))
    if isinstance(block, Bullets):
        return Bullets(tuple(map(_kept, block.items)))
    if isinstance(block, Figure):
        return replace(block, caption=words.kept_together(block.caption))
    return Box(tuple(map(kept_together, block.blocks)))  # type: ignore[arg-type]


def _kept(runs: tuple[Run, ...]) -> tuple[Run, ...]:
    return tuple(replace(run, text=words.kept_together(run.text)) for run in runs)


def _blocks(token) -> list[Block]:
    kind, children = token["type"], token.get("children", [])
    if kind == "heading":
        return [Heading(token["attrs"]["level"], _text(children))]
    if kind in ("paragraph", "block_text"):
        if children and children[0]["type"] == "image":
            image = children[0]
            return [Figure(image["attrs"]["url"], _text(children[1:]).strip(), _text(image["children"]))]
        return [Paragraph(_runs(children))]
    if kind == "list":
        return [Bullets(tuple(_item(item) for item in children))]
    if kind == "block_quote":
        inner = [block for child in children for block in _blocks(child)]
        return [Box(tuple(block for block in inner if isinstance(block, Paragraph | Bullets)))]
    return [Paragraph((Run(token["raw"].strip()),))] if token.get("raw", "").strip() else []


def _item(item) -> tuple[Run, ...]:
    return tuple(run for child in item["children"] for run in _runs(child.get("children", [])))


def _runs(tokens, style: str = "") -> tuple[Run, ...]:
    """Inline tokens as runs, neighbours of one style joined."""
    runs: list[Run] = []
    for token in tokens:
        kind = token["type"]
        if "children" in token:
            inner = kind if kind in ("strong", "emphasis") else style
            parts = _runs(token["children"], inner)
        else:
            parts = (Run(" " if kind in ("softbreak", "linebreak") else token.get("raw", ""), style),)
        for part in parts:
            if runs and runs[-1].style == part.style:
                part = Run(runs.pop().text + part.text, part.style)
            runs.append(part)
    return tuple(runs)


def _text(tokens) -> str:
    return "".join(run.text for run in _runs(tokens))


def _lines(block: Block) -> list[str]:
    if isinstance(block, Heading):
        return [block.text]
    if isinstance(block, Paragraph):
        return ["".join(run.text for run in block.runs)]
    if isinstance(block, Bullets):
        return ["".join(run.text for run in item) for item in block.items]
    if isinstance(block, Figure):
        return [block.caption]
    return [line for inner in block.blocks for line in _lines(inner)]

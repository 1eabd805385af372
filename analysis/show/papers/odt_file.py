"""Blocks written as ODT."""

from __future__ import annotations

from datetime import datetime
from io import BytesIO
from pathlib import Path

from odf import dc, draw, meta, style, svg, text
from odf.element import Element
from odf.namespaces import nsdict
from odf.opendocument import OpenDocumentText

from analysis.show.papers import office
from analysis.show.papers.blocks import Block, Box, Bullets, Figure, Heading, Run, kept_together

FONT = "Liberation Sans"
HEADS_PT = {1: 22, 2: 14, 3: 12}
BOX = {
    "backgroundcolor": f"#{office.BOX_FILL}",
    "borderleft": f"3pt solid #{office.BOX_EDGE}",
    "padding": "6pt",
}
PARAGRAPHS = {
    "Body": ({"marginbottom": "7pt"}, 10.5, office.INK),
    "Item": ({"marginbottom": "3pt"}, 10.5, office.INK),
    "Box": ({"marginbottom": "5pt", **BOX}, 10.5, office.INK),
    "Picture": ({"keepwithnext": "always", "marginbottom": "2pt"}, 10.5, office.INK),
    "Caption": ({"keeptogether": "always", "marginbottom": "10pt"}, 9, office.GREY),
}
"""Paragraph styles: layout, size in points, colour."""


def write_odt(
    blocks: list[Block], path: Path | str, *, figures: Path | str, when: datetime | None = None
) -> Path:
    """Write an ODT file; parameters as for `write_docx`."""
    # The library declares the namespaces that any earlier document of the process used; declaring
    # all it knows keeps the bytes the same.
    Element.namespaces.clear()
    Element.namespaces.update(nsdict)
    document = OpenDocumentText()
    _facts(document, blocks, office.file_date(when))
    _look(document)
    for block in map(kept_together, blocks):
        _add(document, block, Path(figures))
    raw = BytesIO()
    document.write(raw)
    return office.pack(raw, Path(path), office.file_date(when))


def _facts(document, blocks: list[Block], when: datetime) -> None:
    date = when.strftime("%Y-%m-%dT%H:%M:%S")
    for element, content in (
        (dc.Title, office.title_of(blocks)),
        (dc.Language, "-".join(office.LANGUAGE)),
        (dc.Date, date),
        (meta.CreationDate, date),
    ):
        document.meta.addElement(element(text=content))


def _look(document) -> None:
    """Page, paragraph styles and the two styles of words."""
    page = style.PageLayout(name="Page")
    page.addElement(
        style.PageLayoutProperties(
            pagewidth="21cm", pageheight="29.7cm", margintop="2.2cm", marginbottom="2.2cm",
            marginleft="2.5cm", marginright="2.5cm",
        )
    )  # fmt: skip
    document.automaticstyles.addElement(page)
    document.masterstyles.addElement(style.MasterPage(name="Standard", pagelayoutname=page))
    document.fontfacedecls.addElement(style.FontFace(name=FONT, fontfamily=f"'{FONT}'"))
    for name, (layout, size, colour) in PARAGRAPHS.items():
        _style(document, name, layout, size=size, colour=colour)
    for level, size in HEADS_PT.items():
        layout = {"keepwithnext": "always", "margintop": "12pt", "marginbottom": "6pt"}
        _style(document, f"Head{level}", layout, size=size, colour=office.INK, bold=True)
    for name, look in (("strong", {"fontweight": "bold"}), ("emphasis", {"fontstyle": "italic"})):
        words = style.Style(name=name, family="text")
        words.addElement(style.TextProperties(**look))
        document.automaticstyles.addElement(words)


def _style(document, name: str, layout: dict, *, size: float, colour: str, bold: bool = False) -> None:
    one = style.Style(name=name, family="paragraph")
    one.addElement(style.ParagraphProperties(**layout))
    country = dict(zip(("language", "country"), office.LANGUAGE, strict=True))
    weight = {"fontweight": "bold"} if bold else {}
    one.addElement(
        style.TextProperties(fontname=FONT, fontsize=f"{size}pt", color=f"#{colour}", **country, **weight)
    )
    document.styles.addElement(one)


def _add(document, block: Block, figures: Path, name: str = "Body") -> None:
    if isinstance(block, Heading):
        level = min(block.level, max(HEADS_PT))
        document.text.addElement(text.H(outlinelevel=level, stylename=f"Head{level}", text=block.text))
    elif isinstance(block, Bullets) and name == "Box":
        for item in block.items:
            document.text.addElement(_paragraph((Run("• "), *item), name))
    elif isinstance(block, Bullets):
        items = text.List()
        for item in block.items:
            entry = text.ListItem()
            entry.addElement(_paragraph(item, "Item"))
            items.addElement(entry)
        document.text.addElement(items)
    elif isinstance(block, Figure):
        _figure(document, block, figures)
    elif isinstance(block, Box):
        for inner in block.blocks:
            _add(document, inner, figures, name="Box")
    else:
        document.text.addElement(_paragraph(block.runs, name))


def _paragraph(runs: tuple[Run, ...], name: str):
    paragraph = text.P(stylename=name)
    for run in runs:
        if run.style:
            paragraph.addElement(text.Span(stylename=run.style, text=run.text))
        else:
            paragraph.addText(run.text)
    return paragraph


def _figure(document, block: Figure, figures: Path) -> None:
    png = figures / f"{block.name}.png"
    width, height = office.size_cm(png)
    frame = draw.Frame(
        name=block.name, width=f"{width:.2f}cm", height=f"{height:.2f}cm", anchortype="as-char"
    )
    # A name of our own: the library would draw one by lot.
    address = document.addPicture(f"Pictures/{block.name}.png", "image/png", png.read_bytes())
    frame.addElement(draw.Image(href=address, type="simple", show="embed", actuate="onLoad"))
    frame.addElement(svg.Title(text=block.name))
    frame.addElement(svg.Desc(text=block.alt))
    paragraph = text.P(stylename="Picture")
    paragraph.addElement(frame)
    document.text.addElement(paragraph)
    if block.caption:
        document.text.addElement(text.P(stylename="Caption", text=block.caption))

"""Blocks written as DOCX."""

from __future__ import annotations

from datetime import datetime
from io import BytesIO
from pathlib import Path

from docx import Document
from docx.enum.style import WD_STYLE_TYPE
from docx.oxml import parse_xml
from docx.oxml.ns import nsdecls, qn
from docx.shared import Cm, Pt, RGBColor

from analysis.show.papers import office
from analysis.show.papers.blocks import Block, Box, Bullets, Figure, Heading, Run, kept_together

FONT = "Calibri"  # every editor has it or something of the same widths
SIZES_PT = {"Normal": 10.5, "Title": 22, "Heading 2": 14, "Heading 3": 12, "Caption": 9}


def write_docx(
    blocks: list[Block], path: Path | str, *, figures: Path | str, when: datetime | None = None
) -> Path:
    """Write a DOCX file.

    Parameters
    ----------
    blocks : list of Block
        From `article.article`.
    figures : Path
        Folder that holds `<name>.png` for every figure.
    when : datetime, optional
        Date inside the file; else SOURCE_DATE_EPOCH, else a fixed one, so that bytes do not change.
    """
    document = Document()
    facts = document.core_properties
    facts.title, facts.author, facts.last_modified_by, facts.comments = (
        office.title_of(blocks),
        "Seasonbook",
        "",
        "",
    )
    facts.created = facts.modified = office.file_date(when).replace(tzinfo=None)
    facts.language = "-".join(office.LANGUAGE)
    _look(document)
    for block in map(kept_together, blocks):
        _add(document, block, Path(figures))
    raw = BytesIO()
    document.save(raw)
    return office.pack(raw, Path(path), office.file_date(when))


def _look(document) -> None:
    """Page, fonts and the style of a box."""
    section = document.sections[0]
    section.page_width, section.page_height = Cm(21.0), Cm(29.7)
    section.left_margin = section.right_margin = Cm(2.5)
    section.top_margin = section.bottom_margin = Cm(2.2)
    for name, size in SIZES_PT.items():
        style = document.styles[name]
        style.font.name = FONT
        style.font.size, style.font.bold = Pt(size), name not in ("Normal", "Caption")
        style.font.color.rgb = RGBColor.from_string(office.GREY if name == "Caption" else office.INK)
        # The theme's fonts would win over the ones named here.
        fonts = style.element.get_or_add_rPr().get_or_add_rFonts()
        for kind in ("asciiTheme", "hAnsiTheme", "eastAsiaTheme", "cstheme"):
            fonts.attrib.pop(qn(f"w:{kind}"), None)
    _box_style(document)


def _box_style(document) -> None:
    document.styles["Normal"].paragraph_format.space_after = Pt(7)
    box = document.styles.add_style("Box", WD_STYLE_TYPE.PARAGRAPH)
    box.base_style = document.styles["Normal"]
    edge = f'<w:left w:val="single" w:sz="24" w:space="8" w:color="{office.BOX_EDGE}"/>'
    properties = box.element.get_or_add_pPr()
    properties.append(parse_xml(f"<w:pBdr {nsdecls('w')}>{edge}</w:pBdr>"))
    properties.append(
        parse_xml(f'<w:shd {nsdecls("w")} w:val="clear" w:color="auto" w:fill="{office.BOX_FILL}"/>')
    )


def _add(document, block: Block, figures: Path, style: str = "Normal") -> None:
    if isinstance(block, Heading):
        document.add_heading(block.text, level=0 if block.level == 1 else block.level)
    elif isinstance(block, Bullets):
        for item in block.items:
            boxed = style == "Box"
            paragraph = document.add_paragraph(style=style if boxed else "List Bullet")
            _runs(paragraph, (Run("• "), *item) if boxed else item)
    elif isinstance(block, Figure):
        _figure(document, block, figures)
    elif isinstance(block, Box):
        for inner in block.blocks:
            _add(document, inner, figures, style="Box")
    else:
        _runs(document.add_paragraph(style=style), block.runs)


def _runs(paragraph, runs: tuple[Run, ...]) -> None:
    for run in runs:
        added = paragraph.add_run(run.text)
        added.bold, added.italic = run.style == "strong" or None, run.style == "emphasis" or None


def _figure(document, block: Figure, figures: Path) -> None:
    png = figures / f"{block.name}.png"
    paragraph = document.add_paragraph()
    paragraph.paragraph_format.keep_with_next = bool(block.caption)
    picture = paragraph.add_run().add_picture(str(png), width=Cm(office.size_cm(png)[0]))
    facts = picture._inline.docPr
    facts.set("descr", block.alt)
    facts.set("name", block.name)
    if block.caption:
        document.add_paragraph(block.caption, style="Caption")

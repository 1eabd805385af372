"""A finished picture: the figure with its name, title, caption and alt text."""

from __future__ import annotations

import io
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from matplotlib.figure import Figure
from PIL import Image

from analysis.show.charts import style

SCREEN_DPI = 192  # twice what a page shows, so that fine screens and paper have it sharp
PRINT_DPI = 300


@dataclass(frozen=True)
class Picture:
    """One figure and the words that go with it; a notebook shows it as its last expression.

    Parameters
    ----------
    name : str
        File name without ending, unique within a review.
    figure : Figure
        Drawn, and not known to pyplot: nothing needs closing.
    title : str
        The finding, as on the figure.
    caption : str
        What is drawn, how to read it, interval, n and evidence tier.
    alt : str
        The figure's message and its numbers for a reader who cannot see it. Stored notebooks compare
        this text, since they do not compare images.
    width : str
        "full", "column" or "slide", the room it was drawn for.
    """

    name: str
    figure: Figure
    title: str
    caption: str
    alt: str
    width: str = "full"

    def __post_init__(self) -> None:
        # The panels are placed once; every later drawing, on screen or in print, has the same layout.
        layout = self.figure.get_layout_engine()
        if layout is not None and self.figure.axes:
            with style.look(self.width):
                layout.execute(self.figure)
            self.figure.set_layout_engine("none")

    def _repr_mimebundle_(self, include=None, exclude=None) -> tuple[dict[str, object], dict[str, object]]:
        png = self.png()
        wide, tall = (int.from_bytes(png[place : place + 4]) // 2 for place in (16, 20))  # from its header
        size = {"width": wide, "height": tall}
        return {"image/png": png, "text/plain": self.alt}, {"image/png": size}

    def png(self, *, dpi: int = SCREEN_DPI, colours: int = 160) -> bytes:
        """The figure as PNG with a palette of `colours`, a third of the size."""
        raw, small = io.BytesIO(), io.BytesIO()
        with style.look(self.width):
            self.figure.savefig(
                raw, format="png", dpi=dpi, metadata={"Software": None}, pil_kwargs={"compress_level": 1}
            )
        with Image.open(raw) as image:
            # The other ways give a rare colour, such as one path over sea, away to a common one.
            way, plain = Image.Quantize.MAXCOVERAGE, Image.Dither.NONE
            image.convert("RGB").quantize(colours, method=way, dither=plain).save(small, "PNG")
        return small.getvalue()

    def save(self, folder: Path | str) -> list[Path]:
        """Write `name`.png (300 dpi) and `name`.svg, the same bytes every time.

        Returns
        -------
        list of Path
            The PNG, then the SVG.
        """
        place = Path(folder)
        place.mkdir(parents=True, exist_ok=True)
        paths = [place / f"{self.name}.png", place / f"{self.name}.svg"]
        facts = {"Title": self.title, "Description": self.alt, "Date": None, "Creator": None}
        with style.look(self.width):
            self.figure.savefig(paths[0], dpi=PRINT_DPI, metadata={"Software": None})
            self.figure.savefig(paths[1], metadata=facts)
        return paths


def finished(name: str, figure: Figure, heading: dict[str, str], told: str, *, width: str) -> Picture:
    """A picture from the words on its sheet (`title subtitle foot`) and what its numbers say."""
    caption = f"{heading['subtitle']}. {heading['foot']}"
    return Picture(name, figure, heading["title"], caption, f"{heading['title']}. {told}", width)


def words_only(name: str, reason: str, *, title: str, width: str = "full") -> Picture:
    """Small figure that says in words why there is nothing to draw, without any number of its own.

    Parameters
    ----------
    name, title : str
        As in `Picture`; the title says what cannot be shown.
    reason : str
        Why, and what would help; several reasons on lines of their own.
    """
    with style.look(width):
        figure = style.sheet(title=title, subtitle=reason, foot="", body_mm=1, width=width)
    return Picture(name, figure, title, reason, f"{title}. {reason}", width)


def captions(pictures: Iterable[Picture]) -> dict[str, dict[str, str]]:
    """Name → title, caption, alt and the two file names, ready for captions.json."""
    return {
        picture.name: {
            "title": picture.title,
            "caption": picture.caption,
            "alt": picture.alt,
            "png": f"{picture.name}.png",
            "svg": f"{picture.name}.svg",
        }
        for picture in pictures
    }

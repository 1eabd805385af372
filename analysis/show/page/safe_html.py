"""HTML made safe: tables and plain text keep their shape, everything that could act is dropped."""

from __future__ import annotations

import base64
import re
from html import escape
from html.parser import HTMLParser

KEPT = (
    {"table", "caption", "thead", "tbody", "tfoot", "tr", "th", "td", "p", "ul", "ol", "li", "div", "span"}
    | {"strong", "b", "em", "i", "br", "h3", "h4", "code", "pre", "sub", "sup"}
    | {"figure", "figcaption", "img"}
)
SILENT = {"script", "style", "template", "iframe", "object", "noscript", "title", "textarea", "svg", "math"}
EMPTY = {"br", "img"}
PNG = re.compile(r"data:image/png;base64,[A-Za-z0-9+/=]+")
NUMBERS = {"th": ("colspan", "rowspan"), "td": ("colspan", "rowspan"), "img": ("width", "height")}
DENSITY = 2  # pixels of a picture for each of the page's, so that it is sharp on a fine screen and in print
CLASSES = {"searchable", "number", "time"}  # what the page's style and script know of a table


def figure(png: bytes, *, alt: str, caption: str = "") -> str:
    """A picture with its words as HTML that leans on nothing else."""
    source = "data:image/png;base64," + base64.b64encode(png).decode("ascii")
    width, height = (int.from_bytes(png[place : place + 4]) for place in (16, 20))  # from the PNG's header
    size = f'width="{width // DENSITY}" height="{height // DENSITY}" style="max-width: 100%; height: auto"'
    look = ' style="font-size: .9em; line-height: 1.4; max-width: 46em"'
    below = f"<figcaption{look}>{escape(caption)}</figcaption>" if caption else ""
    return f'<figure style="margin: 0"><img src="{source}" alt="{escape(alt)}" {size}>{below}</figure>'


def clean(html: str, *, name: str = "Table") -> str:
    """Tags of `KEPT` without what could act, their text escaped; header cells get a scope, tables a frame.

    What stands inside a script, style or frame is dropped with it, and so is a picture that is no PNG of
    the page's own. Unclosed tags are closed. `name` is what a screen reader calls the frames.
    """
    cleaner = _Cleaner(name)
    cleaner.feed(html)
    cleaner.close()
    return cleaner.result()


class _Cleaner(HTMLParser):
    """The standard library's parser is used by subclassing; there is no other way to it."""

    def __init__(self, name: str) -> None:
        super().__init__(convert_charrefs=True)
        self.name = escape(name)
        self.parts: list[str] = []
        self.open: list[str] = []
        self.silent: list[str] = []
        self.heads: list[str] = []  # of the table at hand, for screens too narrow for columns
        self.column = 0

    def handle_starttag(self, tag: str, attrs) -> None:
        if tag in SILENT:
            self.silent.append(tag)
        if self.silent or tag not in KEPT:
            return
        given = {name: value or "" for name, value in attrs}
        if tag == "img":
            self._picture(given)
            return
        scope = f' scope="{"col" if "thead" in self.open else "row"}"' if tag == "th" else ""
        scope += self._place(tag)
        kind = f' class="{given["class"]}"' if given.get("class") in CLASSES else ""
        frame = (
            f'<div class="scroll" tabindex="0" role="group" aria-label="{self.name}">'
            if tag == "table"
            else ""
        )
        self.parts.append(f"{frame}<{tag}{kind}{scope}{_numbers(tag, given)}>")
        if tag not in EMPTY:
            self.open.append(tag)

    def _place(self, tag: str) -> str:
        """Keep count of columns; a cell of the body carries the head of its own."""
        if tag in ("table", "tr"):
            self.column = 0
            self.heads = [] if tag == "table" else self.heads
        if tag not in ("th", "td"):
            return ""
        self.column += 1
        if "thead" in self.open:
            self.heads = [*self.heads[: self.column - 1], ""]
            return ""
        head = self.heads[self.column - 1] if self.column <= len(self.heads) else ""
        return f' data-head="{escape(head)}"' if head else ""

    def _picture(self, given: dict[str, str]) -> None:
        if PNG.fullmatch(given.get("src", "")):
            alt = escape(given.get("alt") or "Figure")
            # On a telephone the picture keeps a size that can be read and is moved sideways.
            frame = '<div class="wide" tabindex="0" role="group" aria-label="Figure">'
            self.parts.append(f'{frame}<img src="{given["src"]}" alt="{alt}"{_numbers("img", given)}></div>')

    def handle_startendtag(self, tag: str, attrs) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in EMPTY:
            self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        if self.silent:
            if tag == self.silent[-1]:
                self.silent.pop()
            return
        while tag in self.open:
            last = self.open.pop()
            self.parts.append(f"</{last}>" + ("</div>" if last == "table" else ""))
            if last == tag:
                break

    def handle_data(self, data: str) -> None:
        if data.isspace() and self.open and self.open[-1] in ("table", "thead", "tbody", "tr"):
            return
        if not self.silent:
            self.parts.append(escape(data, quote=False))
            if "thead" in self.open and self.heads:
                self.heads[-1] += data

    def result(self) -> str:
        for tag in reversed(list(self.open)):
            self.handle_endtag(tag)
        html = "".join(self.parts).replace("<tbody></tbody>", "<tbody><tr><td>no rows</td></tr></tbody>")
        # The corner over row numbers heads nothing.
        return html.replace('<th scope="col"></th>', "<td></td>")


def _numbers(tag: str, given: dict[str, str]) -> str:
    """Attributes of a tag whose values are whole numbers."""
    return "".join(
        f' {name}="{given[name]}"' for name in NUMBERS.get(tag, ()) if given.get(name, "").isdigit()
    )

"""HTML made safe: tables and plain text keep their shape, everything that could act is dropped."""

from __future__ import annotations

from html import escape
from html.parser import HTMLParser

KEPT = {"table", "caption", "thead", "tbody", "tfoot", "tr", "th", "td", "p", "ul", "ol", "li"} | {
    "strong",
    "b",
    "em",
    "i",
    "br",
    "div",
    "span",
    "h3",
    "h4",
    "code",
    "pre",
    "sub",
    "sup",
}
SILENT = {"script", "style", "template", "iframe", "object", "noscript", "title", "textarea", "svg", "math"}
EMPTY = {"br"}
SPANS = ("colspan", "rowspan")


def clean(html: str) -> str:
    """Tags of `KEPT` without attributes, their text escaped; header cells get a scope, tables a frame.

    What stands inside a script, style or frame is dropped with it. Unclosed tags are closed.
    """
    cleaner = _Cleaner()
    cleaner.feed(html)
    cleaner.close()
    return cleaner.result()


class _Cleaner(HTMLParser):
    """The standard library's parser is used by subclassing; there is no other way to it."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.parts: list[str] = []
        self.open: list[str] = []
        self.silent: list[str] = []

    def handle_starttag(self, tag: str, attrs) -> None:
        if tag in SILENT:
            self.silent.append(tag)
        if self.silent or tag not in KEPT:
            return
        spans = "".join(
            f' {name}="{value}"' for name, value in attrs if name in SPANS and (value or "").isdigit()
        )
        scope = f' scope="{"col" if "thead" in self.open else "row"}"' if tag == "th" else ""
        frame = '<div class="scroll" tabindex="0" role="group" aria-label="Table">' if tag == "table" else ""
        self.parts.append(f"{frame}<{tag}{scope}{spans}>")
        if tag not in EMPTY:
            self.open.append(tag)

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

    def result(self) -> str:
        for tag in reversed(list(self.open)):
            self.handle_endtag(tag)
        html = "".join(self.parts).replace("<tbody></tbody>", "<tbody><tr><td>no rows</td></tr></tbody>")
        # The corner over row numbers heads nothing.
        return html.replace('<th scope="col"></th>', "<td></td>")

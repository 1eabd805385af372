"""The newsletter draft: key numbers poured into a template that the club's editor may rewrite."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from analysis.show.papers import blocks
from analysis.show.papers.templating import TEMPLATES, context, render
from analysis.show.wording import words
from analysis.show.wording.number import stated_series

ARTICLE = TEMPLATES / "article.md.j2"
CAUGHT = TEMPLATES / "caught.md.j2"  # where no chance may be stated
MAILING = TEMPLATES / "mailing.md.j2"


def article(
    numbers: dict[str, dict[str, Any]],
    captions: dict[str, dict[str, str]],
    *,
    club: str,
    agreed_calls=(),
    template: Path | str | None = None,
) -> list[blocks.Block]:
    """Newsletter draft of 700 to 1,000 words.

    Parameters
    ----------
    numbers : dict
        From `key_numbers`; every number in the text is one of these.
    captions : dict
        Name of each figure in the figures folder (keys); a figure that is not there falls away.
    club : str
        Printed as it is, whatever characters it holds.
    agreed_calls : sequence of str
        Call signs whose holders agreed to be named; nobody else is.
    template : Path
        Markdown with jinja2 marks; by default ours, which is another one where no chance may be stated.

    Returns
    -------
    list of Block
        Ready for the writers in `documents`.

    Raises
    ------
    InputError
        If the template cannot be read or asks for something that does not exist.
    """
    said = context(numbers, captions) | {"club": club, "agreed": words.listed(agreed_calls)}
    usual = ARTICLE if stated_series(numbers) else CAUGHT
    return blocks.from_markdown(render(template or usual, said))


def mailing(
    numbers: dict[str, dict[str, Any]], *, club: str, template: Path | str = MAILING
) -> list[blocks.Block]:
    """The same review in about 120 words for a mailing list; parameters as for `article`."""
    return blocks.from_markdown(render(template, context(numbers) | {"club": club}))

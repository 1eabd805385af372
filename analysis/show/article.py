"""The newsletter draft: key numbers poured into a template that the club's editor may rewrite."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from jinja2 import StrictUndefined, TemplateError, TemplateSyntaxError
from jinja2.sandbox import SandboxedEnvironment

from analysis.gather.problems import InputError
from analysis.show import blocks, words
from analysis.show.number import NO_CHANCE

TEMPLATES = Path(__file__).parent / "templates"
ARTICLE = TEMPLATES / "article.md.j2"
MAILING = TEMPLATES / "mailing.md.j2"


def article(
    numbers: dict[str, dict[str, Any]],
    captions: dict[str, dict[str, str]],
    *,
    club: str,
    agreed_calls=(),
    template: Path | str = ARTICLE,
) -> list[blocks.Block]:
    """Newsletter draft of 700 to 1,200 words.

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
        Markdown with jinja2 marks, by default the one in `analysis/show/templates`.

    Returns
    -------
    list of Block
        Ready for the writers in `documents`.

    Raises
    ------
    InputError
        If the template cannot be read or asks for something that does not exist.
    """
    context = _context(numbers, captions) | {"club": club, "agreed": words.listed(agreed_calls)}
    return blocks.from_markdown(_render(Path(template), context))


def mailing(
    numbers: dict[str, dict[str, Any]], *, club: str, template: Path | str = MAILING
) -> list[blocks.Block]:
    """The same review in about 120 words for a mailing list; parameters as for `article`."""
    return blocks.from_markdown(_render(Path(template), _context(numbers, {}) | {"club": club}))


def _context(numbers: dict[str, dict[str, Any]], captions: dict[str, dict[str, str]]) -> dict[str, Any]:
    """What a template may say: text, reason and tier of a number, and which numbers there are."""

    def text(name: str) -> str:
        return numbers.get(name, {}).get("text", "")

    def known(name: str) -> bool:
        return bool(text(name))

    def figure(*parts: str) -> str:
        """Name of the first figure that has all these words in its name, else empty."""
        wanted = {piece.lower() for part in parts for piece in re.split("[-_]", part) if piece}
        return next((name for name in captions if wanted <= set(re.split("[-_]", name.lower()))), "")

    def of(mechanism: str, among) -> list[str]:
        """The series of one mechanism."""
        return [key for key in among if key.split("_")[1] == mechanism]

    series = [
        name.removesuffix("_name")
        for name, one in numbers.items()
        if one["unit"] == "series" and name[0].isdigit()
    ]
    stated = [key for key in series if numbers[f"{key}_name"]["verdict"] != "refuse"]
    return {
        "text": text,
        "Text": lambda name: text(name)[:1].upper() + text(name)[1:],
        "value": lambda name: numbers.get(name, {}).get("value"),
        "why": lambda name: numbers.get(name, {}).get("reason", ""),
        "tier": lambda name: numbers.get(name, {}).get("tier", ""),
        "verdict": lambda name: numbers.get(name, {}).get("verdict", ""),
        "known": known,
        "figure": figure,
        "of": of,
        "bands": [name.removesuffix("_band") for name in numbers if name.endswith("_band")],
        "series": series,
        "stated": stated,
        "refused": [key for key in series if key not in stated],
        "places": range(1, 1 + (numbers.get("best", {}).get("value") or 0)),
        "signs": [
            name.removesuffix("_lead")
            for name, one in numbers.items()
            if name.endswith("_lead") and one["text"]
        ],
        "no_window": next(
            (one["reason"] for name, one in numbers.items() if name.endswith("_window") and one["reason"]),
            NO_CHANCE,
        ),
        "windows": [name.removesuffix("_near") for name in numbers if name.endswith("_window_near")],
    }


def _render(template: Path, context: dict[str, Any]) -> str:
    # Whatever a template inserts is data: it is escaped so that it can never become markup.
    engine = SandboxedEnvironment(
        finalize=blocks.escape, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    try:
        return engine.from_string(template.read_text(encoding="utf-8")).render(context)
    except TemplateSyntaxError as error:
        raise InputError(f"{template}, line {error.lineno}: {error.message}; mend this line") from error
    except TemplateError as error:
        raise InputError(
            f"{template}: {error}; names that exist are listed at its top, mend or delete the line"
        ) from error
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"{template}: cannot be read as UTF-8 text; name another template") from error

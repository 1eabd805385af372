"""Templates filled with key numbers: what they may say, and Markdown out of them."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from jinja2 import StrictUndefined, TemplateError, TemplateSyntaxError
from jinja2.sandbox import SandboxedEnvironment

from analysis.gather.problems import InputError
from analysis.show.papers import blocks
from analysis.show.wording import words
from analysis.show.wording.number import (
    all_series,
    caught_pairs,
    chance_signs,
    leading_signs,
    main_refusal,
    main_series,
    refusals,
    stated_series,
)

TEMPLATES = Path(__file__).parent / "templates"


def context(
    numbers: dict[str, dict[str, Any]], captions: dict[str, dict[str, str]] | None = None
) -> dict[str, Any]:
    """What a template may say: text, reason and tier of a number, and which numbers there are.

    Parameters
    ----------
    numbers : dict
        From `key_numbers`.
    captions : dict, optional
        Name of each figure in the figures folder (keys).
    """

    def text(name: str) -> str:
        return numbers.get(name, {}).get("text", "")

    def known(name: str) -> bool:
        return bool(text(name))

    def figure(*parts: str) -> str:
        """Name of the first figure that has all these words in its name, else empty."""
        wanted = {piece.lower() for part in parts for piece in re.split("[-_]", part) if piece}
        return next((name for name in captions or {} if wanted <= set(re.split("[-_]", name.lower()))), "")

    def of(mechanism: str, among) -> list[str]:
        """The series of one mechanism."""
        return [key for key in among if key.split("_")[1] == mechanism]

    series, stated = all_series(numbers), stated_series(numbers)
    main = main_series(numbers)
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
        "main": main,
        "stated": stated,
        "provisional": [key for key in main if numbers[f"{key}_name"]["verdict"] == "provisional"],
        "names": lambda keys: words.listed(text(f"{key}_name") for key in keys),
        "refused": [key for key in series if key not in stated],
        "refusals": refusals(numbers),
        "caught": caught_pairs(numbers),
        "dated": [name.removesuffix("_dates") for name in numbers if name.endswith("_dates")],
        "places": range(1, 1 + (numbers.get("best", {}).get("value") or 0)),
        "listen": range(1, 1 + int(numbers.get("listen", {}).get("value") or 0)),
        "signs": leading_signs(numbers),
        "chance_signs": chance_signs(numbers),
        "no_window": main_refusal(numbers),
        # Days may be foretold where hours may not: what any series promises stands before nothing at all.
        "windows": [f"{key}_window" for key in main if known(f"{key}_window_near")]
        or [f"{key}_window" for key in series if known(f"{key}_window_near") and not key.endswith("_mixed")],
    }


def render(template: Path | str, context: dict[str, Any]) -> str:
    """Markdown of a jinja2 template; whatever it inserts is escaped.

    Raises
    ------
    InputError
        If the template cannot be read or asks for something that does not exist.
    """
    template = Path(template)
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

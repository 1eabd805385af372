"""ADIF logs in the .adx form (XML), into the same records as the .adi form."""

from __future__ import annotations

import io
from xml.etree import ElementTree

from analysis.gather.problems import InputError


def looks_like_adx(text: str) -> bool:
    """Whether the text is XML with the standard's root element."""
    return text[:1000].lstrip()[:1] == "<" and "<adx" in text[:5000].lower()


def parse(text: str, *, source: str) -> tuple[list[dict[str, str]], int]:
    """Split a log into records.

    Returns
    -------
    records : list of dict
        Upper-case field name to value; a field of an application or a user bears the name it declares.
    cut : int
        1 if the file ends inside a record, otherwise 0.

    Raises
    ------
    InputError
        If there is not one whole record, or the file declares entities, which a log never needs.
    """
    if "<!entity" in text.lower():
        raise InputError(f"{source}: declares XML entities, which no log needs; export it again")
    records: list[dict[str, str]] = []
    fields: dict[str, str] = {}
    inside = False
    declared = text.lstrip()
    start = declared.find("?>") + 2 if declared.startswith("<?xml") else 0  # the text is decoded already
    try:
        for event, element in ElementTree.iterparse(io.StringIO(declared[start:]), events=("start", "end")):
            tag = _bare(element.tag)
            if event == "start" and tag == "RECORD":
                inside, fields = True, {}
            elif event == "end" and tag == "RECORD":
                records.append(fields)
                inside, fields = False, {}
                element.clear()
            elif event == "end" and inside:
                fields[_bare(element.attrib.get("FIELDNAME", tag))] = (element.text or "").strip()
    except ElementTree.ParseError as fault:
        if not records:
            reason = " ".join(str(fault).split())[:80]
            raise InputError(
                f"{source}: no whole record was found ({reason}); export the log again"
            ) from None
    return [record for record in records if record], int(inside)


def _bare(tag: str) -> str:
    return tag.rsplit("}", 1)[-1].upper()

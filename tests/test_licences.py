"""What is locked may be used and passed on together with a package under the MIT licence.

`pytest tests/test_licences.py -v` lists each library with the licence that its own metadata state.
"""

import re
from importlib import metadata
from pathlib import Path

import pytest

LOCK = Path(__file__).parents[1] / "requirements.lock"
LOCKED = sorted(set(re.findall(r"^([\w.-]+)==", LOCK.read_text(encoding="utf-8"), flags=re.MULTILINE)))
# Permissive, or binding only for changes to the library's own files (MPL) or for the library (LGPL).
# Open Source Initiative, list of approved licences (from memory); CC0 is a waiver.
FREE = r"\b(?:MIT(?:-0|-CMU)?|0?BSD|Apache|ISCL?|PSFL?|Python Software Foundation|MPL|Mozilla|Zlib|CC0|LGPL|Lesser)\b"
BINDING = r"\b(?:A?GPL|GNU General Public|Affero|SSPL|BUSL|Commons Clause|NonCommercial|Proprietary)\b"


def stated(name):
    """The licence that an installed library states: in short, by class, at length or in its own file."""
    try:
        about = metadata.distribution(name)
    except metadata.PackageNotFoundError:
        return None
    facts = about.metadata
    if facts.get("License-Expression"):
        return facts["License-Expression"]
    classes = [one for one in facts.get_all("Classifier") or [] if one.startswith("License ::")]
    if classes:
        return " OR ".join(one.rsplit(" :: ", 1)[-1] for one in classes)
    said = (facts.get("License") or "").strip()
    if said and said != "UNKNOWN":
        return said.splitlines()[0]
    files = [file for file in about.files or [] if re.search(r"licen[cs]e", file.name, re.IGNORECASE)]
    return " ".join(files[0].read_text().split())[:60] if files else ""


def compatible(licence):
    """One of the alternatives is free, and each of its parts is."""
    alternatives = re.split(r"\bOR\b", licence)
    return any(
        all(re.search(FREE, part) and not re.search(BINDING, part) for part in re.split(r"\bAND\b", one))
        for one in alternatives
    )


@pytest.mark.parametrize("name", LOCKED, ids=lambda name: f"{name}: {stated(name) or 'not for this system'}")
def test_every_locked_library_is_compatible(name):
    """Its own metadata say so."""
    licence = stated(name)
    if licence is None:
        pytest.skip("is locked for another system and not installed here")
    assert licence, f"{name} states no licence"
    assert compatible(licence), f"{name}: {licence}"


def test_a_binding_licence_would_be_seen():
    """A choice among licences is ours; parts that bind together all count."""
    assert compatible("GNU General Public License (GPL) OR Apache Software License")
    assert not compatible("GPL-3.0-only")
    assert not compatible("MIT AND AGPL-3.0-or-later")
    assert not compatible("")

"""Rows of a series: what carries a number, what a panel's head and a foot say of it."""

import numpy as np
import pandas as pd

from analysis.show.charts import rows, style
from tests.show import examples

WHY = "only {} opening days, so the curve is kept smooth. What would help: add seasons."


def part(kind, *, verdict="ok", reason="", tier="A"):
    """Two rows of a path type, the second blank."""
    table = pd.DataFrame({"chance": [0.1, np.nan], "seasons": 4, "path_type": kind})
    return table.assign(verdict=verdict, reason=reason, tier=tier)


def test_kinds_come_in_one_order():
    """Land, mixed and sea as in every picture, whatever the order of the table."""
    table = examples.daily().iloc[::-1]
    assert list(rows.by_kind(table, band="2m", mechanism="TR")) == ["land", "mixed", "sea"]
    assert not rows.by_kind(table, band="70cm", mechanism="TR")


def test_refused_and_blank_parts_are_not_stated():
    """A number under the verdict refuse is not drawn, and stated parts keep no blank row."""
    parts = {"land": part("land"), "sea": part("sea", verdict="refuse")}
    parts["mixed"] = part("mixed").assign(chance=np.nan)
    assert {kind: len(found) for kind, found in rows.stated(parts).items()} == {"land": 1}


def test_a_shared_sentence_is_said_once():
    """Each kind keeps its own count of days; what would help stands once, at the end."""
    parts = {
        kind: part(kind, verdict="provisional", reason=WHY.format(n))
        for kind, n in (("land", 31), ("sea", 34))
    }
    told = rows.reserves(parts)
    assert told.startswith(" Provisional: over land: only 31")
    assert "over sea: only 34" in told
    assert told.count("What would help") == 1
    assert rows.reserves({"all": part("all", verdict="provisional", reason=WHY.format(9))}) == (
        f" Provisional: {WHY.format(9)}"
    )
    assert rows.reserves({"all": part("all")}) == ""


def test_a_head_breaks_before_it_runs_into_the_next_panel():
    """A narrow panel has its head on more lines, none wider than the panel."""
    with style.look():
        text = rows.head("land", part("land", verdict="provisional"), room_mm=40)
        widths = [style.width_mm(line, 8, True) for line in text.split("\n")]
    assert len(widths) > 1
    assert max(widths) <= 40
    assert " ".join(text.split()).replace("\u00a0", " ") == "over land (4 seasons): provisional"


def test_the_weakest_evidence_speaks_for_the_picture():
    """One part from listeners that came and went makes the whole indicative."""
    parts = {"land": part("land"), "sea": part("sea", tier="B")}
    assert rows.worst_tier(parts) == "B"
    assert not rows.sure(parts)
    assert rows.sure({"land": part("land")})

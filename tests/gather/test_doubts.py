"""What is marked as doubtful, and what is not."""

import numpy as np
import pandas as pd

from analysis.gather import spots
from analysis.gather.joining import doubts

START = pd.Timestamp("2024-06-09 14:00Z")


def table(rows, **same):
    """Spot rows from (minute, call, square) triples heard by Q1OWN in IN93 on 6 m."""
    raw = pd.DataFrame(rows, columns=pd.Index(["minute", "tx_call", "tx_locator"]))
    raw["time"] = START + pd.to_timedelta(raw.pop("minute"), unit="min")
    usual = {"band": "6m", "rx_call": "Q1OWN", "rx_locator": "IN93", "kind": "heard", "doubt": ""} | same
    return spots.as_spots(raw.assign(**usual))


def said(rows, **same):
    return doubts.doubts(table(rows, **same)).tolist()


def test_wrong_locator():
    """A square far from the one in nearly all reports of a call is doubted; a neighbour square and a portable call are not."""
    usual = [(i, "Q2AB", "JO22") for i in range(12)]
    found = said([*usual, (20, "Q2AB", "FN31"), (21, "Q2AB", "JO32")])
    assert found[:12] == [""] * 12
    assert found[12] == "locator FN31 for Q2AB, which has JO22 in 12 other reports"
    assert found[13] == ""
    portable = [(i, "Q2AB/P", "JO22") for i in range(12)] + [(20, "Q2AB/P", "FN31")]
    assert said(portable) == [""] * 13


def test_one_character_off():
    """Heard once, a character from a call then on the band: busted; an hour away or on another band it stands."""
    usual = [(i, "Q2ABC", "JO22") for i in range(6)]
    assert "one character from Q2ABC" in said([*usual, (7, "Q2ABD", "JO22")])[6]
    assert "one character from Q2ABC" in said([*usual, (7, "Q2AB", "JO22")])[6]
    assert said([*usual, (120, "Q2ABD", "JO22")])[6] == ""
    assert said([*usual, (7, "Q2XYZ", "JO22")])[6] == ""
    assert said([*usual, (7, "Q2ABD", "JO22"), (8, "Q2ABD", "JO22")])[6:] == ["", ""]


def test_lonely_and_far():
    """Heard once and absurdly far with nothing near it: doubted; worked, or with company there, it stands."""
    usual = [(i, "Q2AB", "JO22") for i in range(6)]
    assert "bears it out" in said([*usual, (7, "Q9XY", "RE78")])[6]
    assert said([*usual, (7, "Q9XY", "RE78")], kind="worked")[6] == ""
    assert said([*usual, (7, "Q9XY", "RE78"), (9, "Q8XY", "RE68"), (9, "Q8XY", "RE68")])[6] == ""
    assert said([*usual, (7, "Q9XY", "JO33")])[6] == ""


def test_nobody_else_from_there_within_a_month():
    """Far, once, and on a busy band nobody else from that field: doubted; one other within a month bears it out."""
    usual = [(i, "Q2AB", "JO22") for i in range(120)]
    lone = (60, "Q9XY", "KO02")
    assert said([*usual, lone])[120] == "heard once, and nobody else from KO within a month of it"
    assert said([*usual, lone, (30 * 1440, "Q8XY", "KO13")])[120] == ""
    assert "from KO" in said([*usual, lone, (32 * 1440, "Q8XY", "KO13")])[120]
    assert said([*usual[:90], lone])[90] == ""


def test_nothing_is_removed_and_old_doubts_stay():
    """Every row stays, and what its reader doubted is kept before the new doubt."""
    rows = [*((i, "Q2AB", "JO22") for i in range(6)), (9, "Q2AB", "FN31")]
    assert said(rows, doubt="x")[6].startswith("x; locator FN31")
    assert said(rows, doubt="x")[0] == "x"
    assert doubts.doubts(spots.as_spots(pd.DataFrame())).empty


def one_slip(one, other):
    """Whether two calls differ in one character, or in one that is left out."""
    if len(one) == len(other):
        return sum(a != b for a, b in zip(one, other, strict=True)) == 1
    short, long = sorted((one, other), key=len)
    return len(long) - len(short) == 1 and any(long[:i] + long[i + 1 :] == short for i in range(len(long)))


def test_near_misses_are_one_slip_apart():
    """Calls of one to seven characters from a small alphabet, against the definition."""
    rng = np.random.default_rng(1)
    for _ in range(40):
        once, often = (
            {"".join(rng.choice(list("AB1"), rng.integers(1, 8))) for _ in range(n)} for n in (25, 12)
        )
        once -= often
        wanted = sorted((a, b) for a in once for b in often if one_slip(a, b))
        found = doubts._near_misses(sorted(once), sorted(often))
        assert list(found.itertuples(index=False, name=None)) == wanted
    assert doubts._near_misses([], ["Q1A"]).empty


def test_many_lonely_reports_are_judged_as_each_alone():
    """Hundreds of far calls heard once: those with company in place and time stand, whatever else is there."""
    far = [(i % 50, f"Q9X{i:03}", "RE78") for i in range(300)]
    lone = [(500, "Q8XY", "RE78")]
    found = said([*far, *lone])
    assert found[:300] == [""] * 300
    assert "bears it out" in found[300]

"""What two logs of one contact say: joined, or shown with both readings."""

import pytest

from analysis.gather.files import gather_files

HEAD = "START-OF-LOG: 3.0\nCALLSIGN: {call}\nGRID-LOCATOR: {place}\n"


def gathered(tmp_path, **logs):
    """Contest logs of Q1OWN in IN93EK and Q2ABC in JO22XX, a list of (minute, call, square) each."""
    owners = {"own": ("Q1OWN", "IN93EK"), "other": ("Q2ABC", "JO22XX")}
    for name, contacts in logs.items():
        call, place = owners[name]
        lines = [
            f"QSO: 50 CW 2024-06-08 {18 + minute // 60:02d}{minute % 60:02d} {call} {place[:4]} {other} {square}"
            for minute, other, square in contacts
        ]
        (tmp_path / f"{name}.log").write_text(
            HEAD.format(call=call, place=place) + "\n".join(lines) + "\nEND-OF-LOG:\n"
        )
    return gather_files(sorted(tmp_path.glob("*.log")))


def test_a_headers_place_stands_where_it_begins_with_the_square(tmp_path):
    """The own place has six characters, and so has the partner's, told by his own log."""
    got = gathered(tmp_path, own=[(1, "Q2ABC", "JO22"), (9, "Q3AB", "JN18")], other=[(30, "Q4AB", "JO33")])
    rows = got.spots.set_index("tx_call")
    assert rows["rx_locator"].tolist() == ["IN93EK", "IN93EK", "JO22XX"]
    assert rows["tx_locator"].to_dict() == {"Q2ABC": "JO22XX", "Q3AB": "JN18", "Q4AB": "JO33"}


@pytest.mark.parametrize(
    ("minute", "square", "contacts"), [(5, "IN93", 1), (6, "IN93", 2), (4, "IN83", 2), (1, "IN83", 1)]
)
def test_both_partners_clocks(tmp_path, minute, square, contacts):
    """Within five minutes and with equal squares one contact; with another square only within two."""
    got = gathered(tmp_path, own=[(0, "Q2ABC", "JO22")], other=[(minute, "Q1OWN", square)])
    assert len(got.spots) == contacts
    if (minute, square) == (1, "IN83"):
        assert "locator" in got.spots["doubt"].iloc[0]
        assert "IN83" in got.spots["doubt"].iloc[0] or "IN93" in got.spots["doubt"].iloc[0]


def test_a_call_read_otherwise_is_shown_with_both_readings(tmp_path):
    """The log that misread gets the doubt, whoever sent a log gets none."""
    got = gathered(tmp_path, own=[(0, "Q2ABD", "JO22"), (9, "Q3AB", "JN18")], other=[(2, "Q1OWN", "IN93")])
    doubt = got.spots.set_index("tx_call")["doubt"]
    assert doubt["Q2ABD"] == "call Q2ABD here; the log of Q2ABC has this contact as its own"
    assert doubt["Q1OWN"] == doubt["Q3AB"] == ""


def test_whoever_sends_a_log_is_on_the_air(tmp_path):
    """A call one character from a busy one is no misread one when it has a log of its own."""
    usual = [(i, "Q2ABD", "JO22") for i in range(6)]
    got = gathered(tmp_path, own=[*usual, (7, "Q2ABC", "JO22")], other=[(40, "Q5AB", "JO33")])
    assert (got.spots["doubt"] == "").all()


def test_a_misread_call_with_the_right_square_is_seen(tmp_path):
    """One character from a call of the same square that the log does not have: doubted; had it both, both were there."""
    known = [(30, "Q3XYZ", "JN18"), (50, "Q3XYZ", "JN18")]
    got = gathered(tmp_path, own=[(0, "Q3XYA", "JN18")], other=known)
    assert (
        got.spots.set_index("tx_call")
        .loc["Q3XYA", "doubt"]
        .startswith("worked once, one character from Q3XYZ")
    )
    both = gathered(tmp_path, own=[(0, "Q3XYA", "JN18"), (3, "Q3XYZ", "JN18")], other=known)
    assert (both.spots["doubt"] == "").all()
    elsewhere = gathered(tmp_path, own=[(0, "Q3XYA", "JN38")], other=known)
    assert (elsewhere.spots["doubt"] == "").all()


def test_rovers_and_wrong_squares(tmp_path):
    """A square 900 km away between two others minutes apart is an error; one after the other is a rover, noted."""
    there = [(0, "Q7AB", "JN18"), (20, "Q7AB", "JN18"), (12, "Q7AB", "JO52")]
    got = gathered(tmp_path, own=there)
    doubt = got.spots.set_index("tx_locator")["doubt"]
    assert doubt["JO52"] == "locator JO52 for Q7AB, which was in JN18 12 min before and 8 min after"
    assert (doubt["JN18"] == "").all()
    assert got.notes.empty
    onward = [(0, "Q7AB", "JN18"), (70, "Q7AB", "JN28"), (150, "Q7AB", "JN29")]
    got = gathered(tmp_path, own=onward)
    assert (got.spots["doubt"] == "").all()
    assert got.notes["note"].tolist() == [
        "worked in several squares one after the other, taken for rovers: Q7AB (JN18, JN28, JN29)"
    ]
    assert got.notes["source"].tolist() == ["own.log"]

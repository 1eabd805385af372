"""The card for the shack wall: one page, nothing cut, nothing stated that may not be."""

import re
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from analysis.show.papers.card import CAUTIONS, card_figure, write_card
from tests.show import example_tables

HEADINGS = [
    "Best hours",
    "Windows in 2025, by first day",
    "Beam headings",
    "First signs",
    "Bands to watch",
    "How sure this is",
]


def finished(tables, *, data_until="2024-10-01"):
    """The finished review that a card is drawn from."""
    fitted = {name: tables[name] for name in ("daily", "season", "windows", "estimates", "hours")}
    about = SimpleNamespace(home="IN93kd", data_until=data_until, zone=tables["zone"])
    return SimpleNamespace(key_numbers=example_tables.numbers(tables), about=about, **fitted)


@pytest.fixture(scope="module")
def invented():
    """A review of the invented seasons."""
    return finished(example_tables.tables())


def texts(figure):
    """Every piece of writing on the page."""
    return [text.get_text() for text in figure.texts]


def test_one_page_same_bytes(invented, tmp_path):
    """Two writings give one file of one page, without the present date in it."""
    first, second = (write_card(tmp_path / f"{n}.pdf", invented) for n in "ab")
    pdf = first.read_bytes()
    assert pdf == second.read_bytes()
    assert pdf.startswith(b"%PDF")
    assert len(re.findall(rb"/Type /Page\b", pdf)) == 1
    assert b"CreationDate" not in pdf


@pytest.mark.parametrize("portable", [False, True])
def test_everything_fits_on_the_page(invented, portable):
    """No section is left out, nothing runs off the page, no two pieces of writing overlap."""
    figure = card_figure(invented, portable=portable)
    told = texts(figure)
    for heading in [*HEADINGS, "Before you go" if portable else "To remember"]:
        assert heading in told
    figure.draw_without_rendering()
    page = figure.bbox
    boxes = [text.get_window_extent() for text in figure.texts]
    boxes += [axes.get_tightbbox() for axes in figure.axes]
    for number, box in enumerate(boxes):
        assert page.contains(box.x0, box.y0)
        assert page.contains(box.x1, box.y1)
        for other in boxes[:number]:
            assert not box.overlaps(other)


def test_card_says_how_old_and_how_sure_it_is(invented):
    """The date of the data and the evidence tier stand on the card; home has four characters."""
    told = " ".join(texts(card_figure(invented)))
    assert "data up to 1 October 2024" in told
    assert "A, monitored" in told
    assert "Shack card for IN93" in told
    assert "IN93kd" not in told


def test_every_number_in_the_words_is_a_key_number(invented):
    """Besides the date of the data no number on the card is its own; the hours panels show theirs."""
    known = " ".join(one["text"] for one in invented.key_numbers.values()) + " 1 October 2024"
    told = " ".join(texts(card_figure(invented)))
    assert set(re.findall(r"[\d.,:]*\d", told)) <= set(re.findall(r"[\d.,:]*\d", known))


def test_portable_card_carries_every_caution(invented):
    """All cautions are there, and only on the portable card."""
    at_home, away = (
        " ".join(" ".join(texts(card_figure(invented, portable=portable))).split())
        for portable in (False, True)
    )
    for caution in CAUTIONS:
        assert caution in away.replace("\u00a0", " ")
        assert caution not in at_home


def test_contacts_only_card_states_no_chance():
    """Without listeners: words, no percentage and no map of hours."""
    tables = example_tables.contacts_only()
    figure = card_figure(finished(tables))
    told = " ".join(texts(figure))
    assert "%" not in told
    assert "No chance of an opening can be stated" in told
    assert "C, contacts only" in told
    assert not figure.axes
    # Words stand in both columns, and none runs into another.
    figure.draw_without_rendering()
    boxes = [text.get_window_extent() for text in figure.texts]
    below = [box.x0 / figure.bbox.width for box in boxes if box.y1 < 0.8 * figure.bbox.height]
    assert min(below) < 0.2
    assert max(below) > 0.4
    assert not any(box.overlaps(other) for k, box in enumerate(boxes) for other in boxes[:k])


def test_civil_hours_are_drawn_where_they_are_known(invented):
    """A table in local civil time is drawn as it is, under the name of its zone."""
    grid = pd.DataFrame({"month": np.repeat(np.arange(1, 13), 24), "hour": np.tile(np.arange(24), 12)})
    hours = grid.assign(band="6m", mechanism="ES", path_type="all", chance=0.01)
    hours.loc[(hours["month"] == 6) & (hours["hour"] == 13), "chance"] = 0.4
    figure = card_figure(invented, hours=hours, zone="Europe/Paris")
    panel = figure.axes[0]
    assert "by the clock (Europe/Paris)" in " ".join(texts(figure))
    drawn = panel.get_images()[0].get_array()
    assert drawn.shape == (24, 12)
    assert drawn[13, 5] == 0.4
    assert "40 %" in [text.get_text() for text in panel.texts]
    assert len(figure.axes[1].get_images()) == 0  # nothing is known of the others


def test_empty_tables_are_no_fault():
    """A log without one usable row still has a card in words."""
    tables = example_tables.tables()
    empty = {
        name: table.iloc[:0]
        for name, table in tables.items()
        if isinstance(table, pd.DataFrame) and name != "account"
    }
    told = " ".join(texts(card_figure(finished(tables | empty, data_until=""))))
    assert "No VHF band" in told
    assert "no dated report" in told


def test_what_a_season_did_not_bring_is_not_watched_for(invented):
    """A mechanism of earlier seasons without one day in the latest is left out, not told as `0 days`."""
    none = {"value": 0, "text": "0 days", "unit": "days"}
    earlier = {"6m_aur_openings_latest": none, "6m_aur_opening_days_latest": none}
    review = SimpleNamespace(**vars(invented) | {"key_numbers": invented.key_numbers | earlier})
    said = " ".join(texts(card_figure(review)))
    assert "sporadic E on" in said
    assert "aurora" not in said
    earlier["6m_aur_opening_days_latest"] = none | {"value": 2, "text": "2 days"}
    review = SimpleNamespace(**vars(invented) | {"key_numbers": invented.key_numbers | earlier})
    assert "aurora on 2 days" in " ".join(texts(card_figure(review))).replace("\n   ", " ").replace(
        "\u00a0", " "
    )


def test_openings_of_a_mechanism_without_a_series(invented):
    """A confirmed opening by F2 is counted in the region but has no opening days: the card leaves it out."""
    numbers = invented.key_numbers | {"6m_f2_openings_latest": invented.key_numbers["6m_es_openings_latest"]}
    with_f2 = SimpleNamespace(**vars(invented) | {"key_numbers": numbers})
    assert texts(card_figure(with_f2)) == texts(card_figure(invented))


def test_the_portable_card_is_for_the_place_and_keeps_its_cautions(invented):
    """Its title and its own section name the place; every caution is printed, whatever else is left out."""
    line = {"value": None, "text": "a long line about the place and what it is like " * 3, "unit": "place"}
    place = {"place": {"value": None, "text": "JN01", "unit": "locator"}} | {
        f"place_{k}": line for k in range(1, 9)
    }
    review = SimpleNamespace(**vars(invented) | {"key_numbers": invented.key_numbers | place})
    said = " ".join(texts(card_figure(review, portable=True))).replace("\n   ", " ").replace("\u00a0", " ")
    assert said.startswith("Portable card for JN01")
    assert all(caution in said for caution in CAUTIONS)
    assert "JN01" not in " ".join(texts(card_figure(review)))

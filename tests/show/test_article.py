"""The newsletter draft: honest words, no number of its own, nobody named without consent."""

import json
import re

import pandas as pd
import pytest

from analysis.gather.problems import InputError
from analysis.show.papers import blocks
from analysis.show.papers.article import article, mailing
from analysis.show.papers.blocks import Box, Bullets, Figure, Heading, Paragraph
from tests.show import example_tables, examples

CLUB = "Invented Radio Club"
PICTURES = ("seasons-6m-ES", "daily-6m-ES", "daily-2m-TR")
CAPTIONS = {name: {"caption": "", "alt": ""} for name in PICTURES}


@pytest.fixture(scope="module")
def numbers():
    """Key numbers of the invented seasons, as they come back from their file."""
    return json.loads(json.dumps(example_tables.numbers(example_tables.tables())))


@pytest.fixture(scope="module")
def contacts():
    """Key numbers of a log of contacts alone."""
    return example_tables.numbers(example_tables.contacts_only())


def full_text(draft):
    """Text, captions and alt texts of a draft."""
    return blocks.plain(draft) + "\n" + "\n".join(one.alt for one in draft if isinstance(one, Figure))


def without_numbers(numbers):
    """The same numbers with words where their digits were."""
    blind = {"text": "so many", "reason": "the reason why"}
    return {
        name: one | {field: word for field, word in blind.items() if one[field]}
        for name, one in numbers.items()
    }


@pytest.mark.parametrize(
    "write", [lambda found: article(found, CAPTIONS, club=CLUB), lambda found: mailing(found, club=CLUB)]
)
def test_no_number_is_typed_in_a_template(numbers, contacts, write):
    """With every key number blinded no digit is left: all digits come from key numbers."""
    for found in (numbers, contacts):
        assert re.search(r"\d", full_text(write(found)))
        assert not re.search(r"\d", full_text(write(without_numbers(found))))


def test_every_number_in_the_text_is_a_key_number(numbers):
    """Each number in the draft stands in the text or the reason of a key number."""
    known = " ".join(one["text"] + " " + one["reason"] for one in numbers.values())
    known = set(re.findall(r"[\d.,:]*\d", known))
    for draft in (article(numbers, CAPTIONS, club=CLUB), mailing(numbers, club=CLUB)):
        assert set(re.findall(r"[\d.,:]*\d", full_text(draft))) <= known


def test_length_and_shape(numbers):
    """A page of a newsletter with its figures and a box, and a short version for the mailing list."""
    draft = article(numbers, CAPTIONS, club=CLUB)
    assert 700 <= len(blocks.plain(draft).split()) <= 1000
    assert [one.name for one in draft if isinstance(one, Figure)] == list(PICTURES)
    assert sum(isinstance(one, Box) for one in draft) == 1
    assert 95 <= len(blocks.plain(mailing(numbers, club=CLUB)).split()) <= 145


def test_text_reads_well_where_pieces_meet(numbers, contacts):
    """No doubled space, space before a stop, empty list or empty pair of brackets."""
    for found in (numbers, contacts):
        for draft in (article(found, CAPTIONS, club=CLUB), mailing(found, club=CLUB)):
            text = full_text(draft)
            assert not re.search(r"  |\(\)| [.,;:]|\.\.|,,|None|nan\b", text), text
            assert all(block.items for block in draft if isinstance(block, Bullets))


def test_contacts_only_states_no_probability(contacts):
    """Tier C: not one percentage, and in words why there is none."""
    for draft in (article(contacts, CAPTIONS, club=CLUB), mailing(contacts, club=CLUB)):
        text = full_text(draft)
        assert "%" not in text
        assert "likeliest" not in text
        assert "When to listen" not in text
        assert "chance" in text
    assert "band was shut" in full_text(article(contacts, CAPTIONS, club=CLUB))


def test_tier_b_is_marked_as_indicative():
    """Without monitors the draft says so where it gives a chance."""
    tables = example_tables.tables()
    fitted = {name: tables[name].assign(tier="B") for name in ("daily", "season", "windows", "seasons")}
    text = full_text(article(example_tables.numbers(tables | fitted), {}, club=CLUB))
    assert "indicative" in text
    assert "around the clock, so take these as indications" in text


def test_figures_that_are_not_there_fall_away(numbers):
    """Without pictures the text still stands, without an empty place."""
    draft = article(numbers, {}, club=CLUB)
    assert not [one for one in draft if isinstance(one, Figure)]
    assert len(blocks.plain(draft).split()) > 600


def test_nothing_usable_still_reads():
    """Empty tables give a short, plain draft that says so."""
    tables = {
        name: value
        for name, value in example_tables.tables().items()
        if name not in ("home", "zone", "account")
    }
    empty = {name: table.iloc[:0] for name, table in tables.items()}
    found = example_tables.numbers(empty | {"account": examples.account(), "home": "IN93", "zone": "UTC"})
    text = full_text(article(found, {}, club=CLUB))
    assert "0 reports" in text
    assert "next year" not in text
    assert not re.search(r"between\s+and|  |None", text)


def test_log_without_vhf_says_so():
    """A log of short waves alone is told plainly that there is nothing to review."""
    tables = example_tables.contacts_only()
    refused = {
        name: tables[name].iloc[:0] for name in ("openings", "daily", "season", "windows", "estimates")
    }
    spots = tables["spots"].assign(band=pd.Categorical(["20m"] * len(tables["spots"])), doubt="")
    text = full_text(article(example_tables.numbers(tables | refused | {"spots": spots}), {}, club=CLUB))
    assert "None of them are on VHF or above, so there is nothing here to review." in text


def test_refusals_with_one_reason_are_told_once(contacts):
    """Twenty series refused for one reason do not make twenty sentences."""
    text = full_text(article(contacts, CAPTIONS, club=CLUB))
    assert text.count("band was shut") == 1


def test_nobody_is_named_without_consent(numbers):
    """Only call signs that agreed stand in the draft; squares stop at four characters."""
    text = full_text(article(numbers, CAPTIONS, club=CLUB, agreed_calls=("Q07AA",)))
    assert re.findall(r"\bQ\d\d[A-Z]{2}\b", text) == ["Q07AA"]
    assert not re.search(r"\b[A-R]{2}\d\d[a-xA-X]{2}\b", text)


def test_untrusted_names_stay_text(numbers):
    """A club or call sign full of marks is printed, not obeyed."""
    nasty = "*Q* [club](http://x) <script>alert(1)</script> {{ 7*7 }} # `x`"
    draft = article(numbers, {}, club=nasty, agreed_calls=("<b>Q1</b>",))
    assert draft[0].text.startswith(nasty)
    assert "<b>Q1</b>" in blocks.plain(draft)


def test_own_template(numbers, tmp_path):
    """An editor's template is used as it is."""
    own = tmp_path / "own.md.j2"
    own.write_text("# {{ club }}\n\nWe had {{ text('reports') }}.\n", encoding="utf-8")
    draft = article(numbers, {}, club=CLUB, template=own)
    assert isinstance(draft[0], Heading)
    assert isinstance(draft[1], Paragraph)
    assert blocks.plain(draft) == f"{CLUB}\nWe had {numbers['reports']['text']}."


@pytest.mark.parametrize(
    ("template", "said"),
    [("# x\n{% if %}", "line 2"), ("{{ nowhere }}", "nowhere"), ("{{ ''.__class__.__mro__ }}", "own.md.j2")],
)
def test_faulty_template_gets_one_clear_line(numbers, tmp_path, template, said):
    """A template that cannot be used is an input error that names the file and the place."""
    own = tmp_path / "own.md.j2"
    own.write_text(template, encoding="utf-8")
    with pytest.raises(InputError, match=said) as error:
        article(numbers, {}, club=CLUB, template=own)
    assert "\n" not in str(error.value)


def test_template_that_is_not_there(numbers, tmp_path):
    """A missing or binary template is named."""
    for path in (tmp_path / "gone.md", tmp_path / "binary.md"):
        (tmp_path / "binary.md").write_bytes(b"\xff\xfe\x00")
        with pytest.raises(InputError, match=path.name):
            article(numbers, {}, club=CLUB, template=path)


def test_the_news_stands_first(numbers, contacts):
    """The first paragraph says how the season was and when next year's best days begin, or claims neither."""
    lead = blocks.plain(article(numbers, CAPTIONS, club=CLUB)[1:3])
    for name in ("6m_es_name", "6m_es_latest_days_listened", "6m_es_window_near", "reports"):
        assert numbers[name]["text"].lower() in lead.replace("\u00a0", " ").lower()
    lead = blocks.plain([article(contacts, CAPTIONS, club=CLUB)[1]])
    assert "best" not in lead


def test_one_verdict_for_all_is_said_once(numbers):
    """Where every series compares alike the words stand once, else with each."""
    usual = numbers["6m_es_latest_compared"]
    keys = [name for name in numbers if name.endswith("_latest_compared")]
    alike = numbers | dict.fromkeys(keys, usual)
    assert blocks.plain(article(alike, {}, club=CLUB)).count(usual["text"]) == 1


def test_contacts_get_an_article_of_their_own(contacts):
    """Days, squares, modes, longest credible paths and dates of openings; no chance and no promise of one."""
    text = full_text(article(contacts, CAPTIONS, club=CLUB))
    for name in ("6m_worked", "6m_worked_days", "6m_squares", "6m_far_1", "6m_es_dates"):
        assert contacts[name]["text"] in text, name
    assert "What was on the air" in text
    assert "%" not in text
    assert 400 <= len(text.split()) <= 1000


def test_a_doubtful_locator_is_no_feat():
    """The farthest paths are those that nothing speaks against, and that a mechanism explains."""
    tables = example_tables.contacts_only()
    spots = tables["spots"]
    far = spots.iloc[:1].assign(distance_km=8314.0, doubt="one character from another call", band="6m")
    odd = spots.iloc[:1].assign(distance_km=7000.0, mechanism="undetermined", doubt="", band="6m")
    found = example_tables.numbers(tables | {"spots": pd.concat([spots, far, odd], ignore_index=True)})
    told = " ".join(one["text"] for name, one in found.items() if "_far_" in name or "_longest" in name)
    assert "km" in told
    assert "8,314" not in told
    assert "7,000" not in told

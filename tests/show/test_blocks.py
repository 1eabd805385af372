"""Blocks from Markdown, and text that stays text."""

from hypothesis import example, given, settings
from hypothesis import strategies as st

from analysis.show.papers import blocks
from analysis.show.papers.blocks import Box, Bullets, Figure, Heading, Paragraph, Run

LINES = st.text(st.characters(blacklist_categories=("Cs", "Cc")), min_size=1, max_size=60)


@settings(max_examples=150, deadline=None)
@given(LINES)
@example("Q1 &amp; Q2 &lt;6 m&gt;")
@example(r"a \* b ~~c~~ ![d](e) `f` <g> _h_")
def test_escaped_text_is_text_again(text):
    """Whatever a user's file holds, Markdown shows exactly that."""
    shown = " ".join(text.split())
    found = blocks.plain(blocks.from_markdown(f"begin {blocks.escape(text)} end\n"))
    assert " ".join(found.split()) == " ".join(f"begin {shown} end".split())


@settings(max_examples=150, deadline=None)
@given(LINES)
@example("1. first")
@example("12) twelfth")
@example("- item")
@example("+ item")
@example("# title")
@example("> said")
def test_escaped_text_starts_no_markup(text):
    """A line that begins with untrusted text is a paragraph, never a list, heading or rule."""
    found = blocks.from_markdown(blocks.escape(text.strip()) + "\n")
    assert all(isinstance(block, Paragraph) for block in found)


def test_every_piece_is_recognised():
    """Heading, paragraph with styles, list, figure with caption, box."""
    found = blocks.from_markdown(
        "# Title\n\nSome **bold** and *soft*\nwords.\n\n- one\n- two\n\n![alt](name)\nCaption.\n\n> **Box.** Text\n"
    )
    assert found[0] == Heading(1, "Title")
    assert found[1] == Paragraph(
        (Run("Some "), Run("bold", "strong"), Run(" and "), Run("soft", "emphasis"), Run(" words."))
    )
    assert found[2] == Bullets(((Run("one"),), (Run("two"),)))
    assert found[3] == Figure("name", "Caption.", "alt")
    assert found[4] == Box((Paragraph((Run("Box.", "strong"), Run(" Text"))),))


def test_html_is_not_interpreted():
    """A tag in the text stays the text it is."""
    assert blocks.plain(blocks.from_markdown("<script>alert(1)</script>\n")) == "<script>alert(1)</script>"


def test_entities_are_escaped_for_other_readers():
    """`&lt;` typed by a user stays these four letters in whatever program reads our Markdown."""
    assert blocks.escape("&lt;") == r"\&lt;"

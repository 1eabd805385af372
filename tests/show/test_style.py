"""The sheet: words fit the width, hostile text stays text, nothing leaks into other people's figures."""

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.backends.backend_agg import RendererAgg

from analysis.show.charts import style
from analysis.show.charts.picture import words_only


@pytest.mark.parametrize("width", ["full", "column", "slide"])
def test_lines_fit_the_sheet(width):
    """No line of title, subtitle or foot is wider than the paper, measured as drawn."""
    text = "Sporadic E on 6 m is likeliest around 10:30 and 18:00 local solar time, " * 4
    with style.look(width):
        figure = style.sheet(title=text, subtitle=text, foot=text, tier="A", body_mm=20, width=width)
        right = [words.get_window_extent(RendererAgg(800, 800, figure.dpi)).x1 for words in figure.texts]
    assert max(right) <= figure.bbox.width


@pytest.mark.parametrize("body_mm", [10, 74, 250])
def test_a_slide_keeps_its_shape(body_mm):
    """However much must be drawn, a slide is 16:9, and its type is larger than on a full sheet."""
    figure = style.sheet(title="A finding", subtitle="What", foot="How", body_mm=body_mm, width="slide")
    wide, tall = figure.get_size_inches()
    assert wide / tall == pytest.approx(16 / 9)
    full = style.sheet(title="A finding", subtitle="What", foot="How", body_mm=body_mm)
    assert (
        min(new.get_size() / old.get_size() for new, old in zip(figure.texts, full.texts, strict=True)) > 1.2
    )


def test_numbers_keep_their_units():
    """A line never ends between a number and its unit."""
    lines = style._lines("one two 6 m three 34 % four 1,200 km five", points=8, room_mm=12)
    assert not any(line.split()[-1].replace(",", "").isdigit() for line in lines)
    assert any("6\u00a0m" in line for line in lines)


def test_hostile_text_is_drawn_as_it_is():
    """Dollar signs, markup, control characters and scripts we have no letters for neither fail nor warn."""
    text = "$\\frac{1}$ <script>alert(1)</script> \x00\x1b 日本 \U0001f4e1 _{x}^2"
    picture = words_only("hostile", style.plain(text), title=style.plain(text))
    assert picture.png().startswith(b"\x89PNG")
    assert "<script>" in style.plain(text)  # the page escapes it; a picture has nothing to escape
    assert "\x00" not in style.plain(text)


def test_look_is_handed_back():
    """Drawing leaves matplotlib as it was."""
    before = dict(mpl.rcParams)
    with style.look("column"):
        assert mpl.rcParams["font.size"] == pytest.approx(8 * 0.86)
    assert dict(mpl.rcParams) == before


def test_colours_can_be_told_apart_in_grey():
    """Land, mixed and sea differ in grey print, and in their dashes as well."""
    red, green, blue = (0.2126, 0.7152, 0.0722)  # Rec. ITU-R BT.709
    grey = {}
    for kind in ("land", "mixed", "sea"):
        r, g, b = mpl.colors.to_rgb(style.PATHS[kind][1])
        grey[kind] = red * r + green * g + blue * b
    steps = np.diff(sorted(grey.values()))
    assert steps.min() > 0.08
    assert len({str(style.PATHS[kind][2]) for kind in ("land", "mixed", "sea")}) == 3


@pytest.mark.parametrize(
    ("number", "text"), [(1, "1\u00a0opening"), (0, "0\u00a0openings"), (12345, "12,345\u00a0openings")]
)
def test_counted(number, text):
    """One opening, two openings."""
    assert style.counted(number, "opening") == text


def test_sentences_end_once():
    """A reason from a table gets its capital and one full stop."""
    assert style.sentence("only 3 days.") == style.sentence("Only 3 days") == "Only 3 days."
    assert style.sentence("") == ""

"""Pictures of the plan: when to sit down, where to go, and when neither can be said."""

import numpy as np
import pytest

from analysis.show import charts
from tests.show import examples

MADRID = {"zone": "Europe/Madrid"}


@pytest.mark.parametrize("width", ["full", "column"])
def test_best_hour_is_named_and_drawn(width):
    """June, 13 to 14 h, is the darkest cell, and stands in title and alt text with its interval."""
    picture = charts.hours_chart(examples.hours(), band="6m", mechanism="ES", **MADRID, width=width)
    assert picture.title == "Sporadic E on 6 m: best in June around 13:30"
    assert "20 % (12 % to 32 %) in June between 13 and 14 h" in picture.alt
    mesh = picture.figure.axes[0].collections[0].get_array()
    months = [label.get_text() for label in picture.figure.axes[0].get_yticklabels()]
    line, column = np.unravel_index(np.argmax(mesh), mesh.shape)
    assert (months[line], column) == ("Jun", 13)
    for axes in picture.figure.axes:
        assert axes.get_tightbbox().x1 <= picture.figure.bbox.width + 1


def test_months_without_listening_are_not_drawn():
    """January has no number, hence no row."""
    picture = charts.hours_chart(examples.hours(), band="6m", mechanism="ES", **MADRID)
    months = [label.get_text() for label in picture.figure.axes[0].get_yticklabels()]
    assert months == ["Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct"]


def test_refused_hours_are_words():
    """2 m sporadic E: a reason, no percentage."""
    picture = charts.hours_chart(examples.hours(), band="2m", mechanism="ES", **MADRID)
    assert not picture.figure.axes
    assert "%" not in picture.alt


def test_wide_intervals_are_an_indication():
    """A best hour between 0.1 and 100 % is not stated as a finding."""
    wide = examples.hours()
    wide["low"], wide["high"] = wide["chance"] / 20, wide["chance"] * 5
    assert charts.hours_chart(wide, band="6m", mechanism="ES", **MADRID).title.startswith(
        "An indication only"
    )


@pytest.mark.parametrize("width", ["full", "column"])
def test_only_places_that_differ_are_ranked(width):
    """IN93 is named for tropo over sea; for sporadic E the intervals overlap and no place is."""
    picture = charts.places_chart(examples.places(), width=width)
    assert picture.title == "Best served: IN93 for tropo over sea on 2 m"
    assert "IM67 48 % (37 % to 58 %)" in picture.alt
    assert len(picture.figure.axes) == 2
    for axes in picture.figure.axes:
        assert axes.get_tightbbox().x0 >= -1


def test_places_that_cannot_be_compared_are_words():
    """Refused everywhere: the reason."""
    places = examples.places().assign(verdict="refuse", open_share=np.nan, reason="only contacts are known")
    assert charts.places_chart(places).alt.endswith("Only contacts are known.")

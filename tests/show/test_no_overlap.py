"""No two pieces of writing on a picture run into each other, at any width."""

import pytest
from matplotlib.backends.backend_agg import RendererAgg

from analysis.show import charts
from analysis.show.charts import style
from tests.show import examples, test_calendar, test_charts, test_charts_checks

EVERY = (
    test_charts.EVERY
    | test_charts_checks.EVERY
    | {
        "provisional": lambda width: charts.daily_chart(
            examples.daily().assign(verdict="provisional", reason="only 9 opening days. Help: add seasons."),
            band="2m",
            mechanism="TR",
            width=width,
        ),
        "roses": lambda width: charts.headings_chart(
            examples.spots(), band="6m", mechanism="ES", home="IN93", width=width
        ),
        "hours": lambda width: charts.hours_chart(
            examples.hours(), band="6m", mechanism="ES", zone="Europe/Paris", width=width
        ),
        "places": lambda width: charts.places_chart(examples.places(), width=width),
        "calendar": lambda width: charts.calendar_chart(
            test_calendar.half_hours(200), test_calendar.days(), band="6m", mechanism="ES", width=width
        ),
    }
)
TOUCH_PX = 5  # letters have some air of their own within their box


def writing(figure):
    """Every visible text with something in it; a tick's label only where its axis shows it."""
    found = [text for text in figure.texts if text is not figure._supylabel] + [figure._supylabel]
    for axes in filter(lambda one: one.get_visible(), figure.axes):
        found += [
            axes.title,
            axes._left_title,
            axes._right_title,
            axes.xaxis.label,
            axes.yaxis.label,
            *axes.texts,
        ]
        found += axes.get_legend().get_texts() if axes.get_legend() else []
        for one in (axes.xaxis, axes.yaxis):
            low, high = sorted(one.get_view_interval())
            ticks = [*one.get_major_ticks(), *one.get_minor_ticks()] if one.get_visible() else []
            found += [tick.label1 for tick in ticks if low <= tick.get_loc() <= high]
    return [text for text in found if text and text.get_visible() and text.get_text().strip()]


@pytest.mark.parametrize("width", ["full", "column", "slide"])
@pytest.mark.parametrize("name", EVERY)
def test_no_two_words_overlap(name, width):
    """Boxes of any two texts share no more than their air, and none leaves the paper."""
    figure = EVERY[name](width).figure
    with style.look(width):
        figure.draw_without_rendering()
        pen = RendererAgg(1, 1, figure.dpi)
        boxes = [(text.get_text(), text.get_window_extent(pen)) for text in writing(figure)]
    for k, (text, box) in enumerate(boxes):
        assert min(box.x0, box.y0) >= -1, text
        assert box.x1 <= figure.bbox.width + 1, text
        for other, there in boxes[:k]:
            wide = min(box.x1, there.x1) - max(box.x0, there.x0)
            tall = min(box.y1, there.y1) - max(box.y0, there.y0)
            assert min(wide, tall) <= TOUCH_PX, (text, other)

"""The key pictures against stored images (compared with `pytest --mpl`; the data are asserted elsewhere)."""

import pytest

from analysis.show import charts
from analysis.show.charts import style
from analysis.show.maps import density
from tests.show import example_tables, examples

# Type and drawing come with the pinned matplotlib, so this is pytest-mpl's own default.
TOLERANCE = 2
DRAWN = {
    "account": lambda: charts.account_chart(examples.account(), examples.set_aside()),
    "effort": lambda: charts.effort_chart(examples.listening(), band="6m"),
    "openings": lambda: charts.openings_chart(examples.openings(), band="2m", mechanism="TR"),
    "daily": lambda: charts.daily_chart(
        examples.daily(), example_tables.estimates(), band="2m", mechanism="TR"
    ),
    "season": lambda: charts.season_chart(
        examples.season(), example_tables.estimates(), band="6m", mechanism="ES"
    ),
    "seasons": lambda: charts.seasons_chart(examples.seasons(), band="6m", mechanism="ES"),
    "windows": lambda: charts.windows_chart(examples.windows(), band="6m", mechanism="ES"),
    "reliability": lambda: charts.reliability_chart(example_tables.reliability(), band="6m", mechanism="ES"),
    "two-seasons": lambda: charts.two_seasons_chart(example_tables.two_seasons(), band="6m", mechanism="ES"),
    "slide": lambda: charts.daily_chart(examples.daily(), band="2m", mechanism="TR", width="slide"),
    "density": lambda: density.density_maps(
        examples.spots(), examples.listening(), band="6m", mechanism="ES", home="IN93"
    ),
    "headings": lambda: charts.headings_chart(examples.spots(), band="6m", mechanism="ES", home="IN93"),
    "refused": lambda: charts.daily_chart(examples.daily(), band="2m", mechanism="ES"),
}


@pytest.mark.mpl_image_compare(
    baseline_dir="baseline", tolerance=TOLERANCE, savefig_kwargs={"dpi": 80}, style=style.STYLE_FILE
)
@pytest.mark.parametrize("name", DRAWN)
def test_picture(name):
    """Looks as it did when somebody last looked at it."""
    return DRAWN[name]().figure

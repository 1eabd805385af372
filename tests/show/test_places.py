"""The map of candidate places says what their shares carry, and no more."""

import numpy as np
import pandas as pd

from analysis.show.maps import places as places_map

SERIES = {"band": "2m", "mechanism": "TR", "path_type": "sea"}


def places(*shares, low=0.7, high=1.3):
    """Places along a coast with these shares of midsummer days; NaN is a place without a number."""
    n = len(shares)
    share = np.array(shares, float)
    table = pd.DataFrame({"open_share": share, "low": share * low, "high": share * high})
    table["locator"] = [f"IN{70 + 10 * k}" for k in range(n)]
    table["lon"], table["lat"] = -5.0 + 2 * np.arange(n), 43.5
    verdict = np.where(np.isnan(share), "refuse", "ok")
    return table.assign(
        **SERIES,
        best_heading="north",
        ground="coastal",
        tier="A",
        verdict=verdict,
        reason="too few opening days",
    )


def test_the_best_place_is_named_only_where_it_can_be_told():
    """The interval of the best must lie above the poorest place's."""
    sure = places_map.places_map(places(0.3, 0.1), **SERIES, home="IN93")
    assert "IN70 was served most (30\u00a0% of midsummer days), IN80 least (10\u00a0%)".replace(
        "\u00a0", " "
    ) in (sure.title.replace("\u00a0", " "))
    unsure = places_map.places_map(places(0.3, 0.2), **SERIES)
    assert "cannot be told apart" in unsure.title
    assert "IN70" in unsure.alt


def test_a_place_without_a_number_is_drawn_hollow_and_told():
    """It stands on the map, in the alt text and in the foot, without a share."""
    picture = places_map.places_map(places(0.3, 0.1, np.nan), **SERIES)
    assert "IN90 without a number" in picture.alt
    assert "too few openings served them" in picture.caption
    labels = [text.get_text() for text in picture.figure.axes[0].texts]
    assert "IN90" in labels


def test_nothing_known_is_said_in_words():
    """No map where no place has a number, and no series to draw one of."""
    none = places(np.nan, np.nan)
    assert not places_map.places_map(none, **SERIES).figure.axes
    assert places_map.stated_series(none) == []
    assert places_map.stated_series(places(0.3, 0.1)) == [SERIES]
    assert places_map.stated_series(places(0.3, np.nan)) == []

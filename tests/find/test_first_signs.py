"""What came first, and what chance alone would have brought."""

from itertools import permutations

import numpy as np
import pandas as pd
import pytest

from analysis.find.openings import find_openings
from analysis.find.signs.first import OPERATORS, REPORTS, first_at, first_signs
from tests.find.make import at, tagged


def opening(minutes, *, day="2024-06-10", **columns):
    """A confirmed opening with reports at these minutes, each by another receiver unless named."""
    columns = {"rx_call": [f"Q{n}RX" for n in range(len(minutes))], "season": 2024} | columns
    return at(minutes, day=day, **columns)


def signs_of(rows, *, beacons=None):
    """First signs of a table of rows."""
    spots, openings = find_openings(tagged(rows), gap_min=200)
    return first_signs(spots.assign(season=2024), openings, beacons=beacons)


def test_leads_by_hand():
    """Beacon 25 min before voice, weak signal 20, FT8 10; the beacon came first."""
    rows = opening([0, 5, 15, 25], tx_call=["Q1A/B", "Q1B", "Q1C", "Q1D"], mode=["CW", "WSPR", "FT8", "SSB"])
    signs = signs_of(rows).query("against == @REPORTS").set_index("sign")
    assert signs["lead_min"].dropna().to_dict() == {"beacon": 25, "weak signal": 20, "FT8": 10}
    assert signs["first"].to_dict() == {"beacon": 1, "weak signal": 0, "FT8": 0, "voice or CW": 0}
    assert signs["expected_first"].tolist() == [0.25] * 4


def test_one_of_each_is_a_coin():
    """One FT8 and one voice report: whichever is first, chance expects no lead."""
    signs = signs_of(opening([0, 10, 20], mode=["FT8", "MSK144", "SSB"])).query("sign == 'FT8'")
    assert signs["lead_min"].tolist() == [20, 20]
    assert signs["expected_min"].tolist() == pytest.approx([0, 0])


def test_expected_lead_is_the_mean_over_all_orders():
    """Every order of three FT8 reports and two of voice, counted out."""
    minutes, modes = [0, 7, 11, 30, 52], ["FT8", "SSB", "FT8", "FT8", "SSB"]

    def lead(order):
        first = {
            mode: min(m for m, other in zip(minutes, order, strict=True) if other == mode) for mode in modes
        }
        return first["SSB"] - first["FT8"]

    expected = np.mean([lead(order) for order in permutations(modes)])
    found = signs_of(opening(minutes, mode=modes)).query("sign == 'FT8' and against == @REPORTS").iloc[0]
    assert found["expected_min"] == pytest.approx(expected)
    assert found["lead_min"] == 7


def test_an_operator_counts_once():
    """Twenty reports by one receiver are one ticket among operators, so its lead is no wonder."""
    minutes = list(range(0, 100, 5))
    rows = opening([*minutes, 60], mode=["FT8"] * 20 + ["SSB"], rx_call=["Q1RX"] * 20 + ["Q2RX"])
    by = signs_of(rows).query("sign == 'FT8'").set_index("against")
    assert by.loc[OPERATORS, "n"] == 1
    assert by.loc[OPERATORS, "expected_min"] == pytest.approx(0)
    assert by.loc[REPORTS, "expected_min"] > 30


def test_reports_of_the_same_minute_share_the_first_place():
    """FT8 and voice in the first minute: half a first place each."""
    signs = signs_of(opening([0, 0, 15], mode=["FT8", "SSB", "FT8"])).query("against == @REPORTS")
    assert signs.set_index("sign")["first"].to_dict() == {"FT8": 0.5, "voice or CW": 0.5}


def test_listed_beacon_is_a_beacon():
    """A call from the beacon list counts without a suffix."""
    rows = opening([0, 5, 15], tx_call=["Q1A", "Q1B", "Q1D"], mode=["CW", "SSB", "SSB"])
    assert set(signs_of(rows)["sign"]) == {"voice or CW"}
    assert "beacon" in set(signs_of(rows, beacons=pd.DataFrame({"call": ["Q1A"]}))["sign"])


def test_no_voice_no_lead():
    """An opening that was FT8 only has a sign and no lead."""
    signs = signs_of(opening([0, 5, 15]))
    assert signs["sign"].unique().tolist() == ["FT8"]
    assert signs["lead_min"].isna().all()


def test_unconfirmed_openings_have_no_signs():
    """Two stations and two reports are too little to time."""
    assert signs_of(opening([0, 5], mode=["FT8", "SSB"])).empty


@pytest.mark.parametrize(("n", "of"), [(1, 5), (3, 8), (8, 8)])
def test_chances_of_the_first_place_add_to_one(n, of):
    """The first of n items among so many stands somewhere; a million is no overflow."""
    place = np.arange(of)
    assert first_at(place, n=np.full(of, n), of=np.full(of, of)).sum() == pytest.approx(1)
    assert first_at(np.array([0]), n=np.array([10**5]), of=np.array([10**6]))[0] == pytest.approx(0.1)

"""First signs: what came before the first voice, and how long before."""

import numpy as np
import pytest
from scipy.stats import binom

from analysis.find.openings import find_openings
from analysis.find.signs import first_signs, median_interval, signs_summary
from tests.find.make import at, tagged, together


def opening(minutes, *, day="2024-06-10", **columns):
    """A confirmed opening with reports at these minutes."""
    return at(minutes, day=day, rx_call=[f"Q{n}RX" for n in range(len(minutes))], **columns)


def test_leads_by_hand():
    """Beacon 25 min before voice, weak signal 20, FT8 10; the beacon came first."""
    rows = opening([0, 5, 15, 25], tx_call=["Q1A/B", "Q1B", "Q1C", "Q1D"], mode=["CW", "WSPR", "FT8", "SSB"])
    signs = first_signs(*find_openings(tagged(rows))).iloc[0]
    assert signs["first_sign"] == "beacon"
    assert signs[["lead_min", "beacon_min", "weak_signal_min", "ft8_min"]].tolist() == [25, 25, 20, 10]
    assert np.isnan(signs["lower_band_min"])


def test_listed_beacon_is_a_beacon():
    """A call from the beacon list counts without a suffix."""
    rows = tagged(opening([0, 5, 15], tx_call=["Q1A", "Q1B", "Q1D"], mode=["CW", "SSB", "SSB"]))
    found = find_openings(rows)
    assert first_signs(*found)["first_sign"].tolist() == ["voice or CW"]
    listed = tagged(at([0])).assign(call="Q1A")[["call"]]
    assert first_signs(*found, beacons=listed)["first_sign"].tolist() == ["beacon"]


def test_no_voice_no_lead():
    """An opening that was FT8 only has a first sign and no lead."""
    signs = first_signs(*find_openings(tagged(opening([0, 5, 15])))).iloc[0]
    assert signs["first_sign"] == "FT8"
    assert np.isnan(signs["lead_min"])


@pytest.mark.parametrize(
    ("change", "lead"),
    [({}, 70.0), ({"mid_lon": 30.0}, np.nan), ({"mechanism": "TR", "path_type": "sea"}, np.nan)],
    ids=["near", "far away", "other mechanism"],
)
def test_lower_band_leads(change, lead):
    """6 m opens an hour before 2 m does: a lead, unless it is elsewhere or something else."""
    six = opening([0, 20, 40], band="6m", **change)
    two = opening([60, 65, 70], band="2m", mode=["FT8", "FT8", "SSB"])
    signs = first_signs(*find_openings(together(six, two), gap_min=30))
    upper = signs[signs["band"] == "2m"].iloc[0]
    assert upper["lower_band_min"] == pytest.approx(lead, nan_ok=True)
    assert upper["first_sign"] == ("FT8" if np.isnan(lead) else "lower band")


def test_summary_refuses_few():
    """Five openings give no median and a reason in words, six give both ends of an interval."""
    parts = [
        opening([0, n + 1, 30], day=f"2024-06-{n + 1:02d}", mode=["FT8", "FT8", "SSB"]) for n in range(6)
    ]
    for n, blank in ((5, True), (6, False)):
        signs = first_signs(*find_openings(together(*parts[:n]), gap_min=60))
        ft8 = signs_summary(signs).set_index("sign").loc["FT8"]
        assert ft8["n_first"] == ft8["n_both"] == n
        assert np.isnan(ft8[["median_min", "low_min", "high_min"]].astype(float)).all() == blank
        assert bool(ft8["reason"]) == blank


@pytest.mark.parametrize("n", [6, 10, 25, 60])
def test_median_interval_covers(n):
    """Exact coverage of the order statistics is at least 90 %, and the next narrower pair would miss it."""
    _, low, high = median_interval(np.arange(1, n + 1, dtype=float))
    k = int(low)
    assert high == n + 1 - k
    assert 1 - 2 * binom.cdf(k - 1, n, 0.5) >= 0.9
    assert 1 - 2 * binom.cdf(k, n, 0.5) < 0.9

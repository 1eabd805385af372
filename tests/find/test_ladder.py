"""From a rung of the ladder to voice: spells in which somebody was there to hear it."""

import numpy as np
import pytest

from analysis.find.openings import find_openings
from analysis.find.signs.ladder import CUT, LED, OVER, ladder, spells
from analysis.find.signs.levels import levels
from tests.find.make import at, together

NEVER = np.nan


@pytest.mark.parametrize(
    ("on", "voice", "expected"),
    [
        ([(-20, 200)], 40.0, [(0, 40, LED)]),
        ([(-20, 200)], NEVER, [(0, 100, OVER)]),
        ([(-20, 60)], NEVER, [(0, 60, CUT)]),
        ([(30, 200)], 75.0, [(30, 75, LED)]),
        ([(30, 200)], 35.0, []),
        ([(-20, 20), (50, 200)], 80.0, [(0, 20, CUT), (50, 80, LED)]),
        ([(-90, -10), (120, 150)], NEVER, []),
        ([(-20, 3)], 3.0, [(0, 3, LED)]),
    ],
    ids=["seen", "over", "left", "came later", "possible before", "two spells", "nobody", "at once"],
)
def test_spells(on, voice, expected):
    """What each presence of a voice operator says of a rung at 0 in an opening of 100 minutes."""
    assert spells(rung=0.0, end=100.0, voice=voice, on=np.array(on, dtype=float)) == expected


def climb(*rows):
    """Ladder of reports by sporadic E, beside local ones that prove who was on."""
    spots, openings = find_openings(together(*rows), gap_min=200)
    return spots.assign(season=2024), openings


def test_ladder_by_hand():
    """FT8 at minute 0, strong at 10, voice at 30; a voice operator was on since ten minutes before."""
    ft8 = at([0, 10, 20], mode="FT8", rx_call=["Q1RX", "Q2RX", "Q3RX"])
    ft8["snr_db"] = [-15.0, -5.0, -12.0]
    voice = at([30], mode="SSB", rx_call="Q4RX")
    local = {"mechanism": "LOS", "distance_km": 40.0, "tx_call": "Q0LOC"}
    on = at([-10, 15], mode="SSB", rx_call="Q4RX", **local)
    watch = at([-30], mode="FT8", rx_call="Q1RX", **local)
    table = ladder(*climb(ft8, voice, on, watch)).set_index("rung")
    weak, fair = table.loc["FT8"], table.loc["FT8 at -10 dB or more"]
    assert (weak["entry_min"], weak["exit_min"], weak["ended"]) == (0, 30, LED)
    assert (fair["rung_min"], fair["exit_min"], fair["ended"]) == (10, 20, LED)
    assert table["start_heard"].all()
    assert "FT8 at 0 dB or more" not in table.index


def test_voice_proves_nobody_before_itself():
    """Without an earlier sign of a voice operator, voice at minute 30 tells no lead."""
    rows = (at([0, 10], mode="FT8", rx_call=["Q1RX", "Q2RX"]), at([30], mode="SSB", rx_call="Q4RX"))
    found = ladder(*climb(*rows))
    assert (found["ended"] == "").all()
    assert not found["start_heard"].any()


def test_quarters_with_somebody_on_voice():
    """The strongest report of a quarter of an hour, and voice in the next."""
    ft8 = at([1, 5, 16, 31], mode="FT8", rx_call=["Q1RX", "Q2RX", "Q3RX", "Q1RX"])
    ft8["snr_db"] = [-15.0, -5.0, 3.0, 8.0]
    voice = at([3, 20], mode="SSB", rx_call="Q4RX")
    found = levels(*climb(ft8, voice))
    assert found["best_db"].tolist() == [-5, 3, 8]
    assert found["voice_next"].tolist() == [True, False, False]

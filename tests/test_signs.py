"""What a review says of signs as a whole."""

import pandas as pd

from analysis.signs import with_field_note

NOTES = pd.DataFrame({"source": ["log.adi"], "note": ["a rover"]})
INDEX = pd.DataFrame({"time": pd.to_datetime(["2024-05-10"], utc=True), "index": [8.0]})


def test_aurora_without_an_index_is_told_once():
    """Nothing is said where nothing was called aurora, or where the index was given."""
    spots = pd.DataFrame({"mechanism": ["AUR", "ES", "AUR"]})
    told = with_field_note(NOTES, spots, INDEX.iloc[:0])
    assert list(told["source"]) == ["log.adi", "all files"]
    assert told["note"].iloc[1].startswith("2 reports were called aurora without a planetary index")
    assert with_field_note(NOTES, spots, INDEX) is NOTES
    assert with_field_note(NOTES, spots.iloc[1:2], INDEX.iloc[:0]) is NOTES

"""What is asked several times within one review is worked out once, and not a moment longer."""

import pandas as pd

from analysis.find.once import once, remembering

calls = []


@once
def doubled(table, *, times=2):
    calls.append(times)
    return table * times


def test_the_very_same_table_is_worked_once():
    """Another table, another word beside it, or a moment outside: worked anew."""
    calls.clear()
    table = pd.DataFrame({"x": [1, 2]})
    doubled(table), doubled(table)
    assert len(calls) == 2
    with remembering():
        first, again = doubled(table), doubled(table)
        assert len(calls) == 3
        doubled(table, times=3)
        doubled(table.copy())
        assert len(calls) == 5
        first.loc[0, "x"] = 9  # what one asker does with it is nobody else's
        pd.testing.assert_frame_equal(again, table * 2)
        pd.testing.assert_frame_equal(doubled(table), table * 2)
    doubled(table)
    assert len(calls) == 6

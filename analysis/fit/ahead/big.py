"""Big opening days: where an ordinary one is all but certain, the great ones still tell weeks apart."""

from __future__ import annotations

import pandas as pd

TOP_SHARE = 0.1  # of the opening days, by reach times length


def big_days(days: pd.DataFrame) -> pd.DataFrame:
    """The days with `open` only where reach times length is among the top tenth of all opening days.

    Parameters
    ----------
    days : DataFrame
        As `days.model_days` returns them; without `max_km` no day is big.
    """
    if "max_km" not in days:
        return days.assign(open=False)
    size = (days["max_km"] * days["open_hours"]).where(days["open"] & days["monitored"])
    return days.assign(open=size >= size.quantile(1 - TOP_SHARE))

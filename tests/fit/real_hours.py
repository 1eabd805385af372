"""Half-hour cells out of a published hourly ionosonde series, as if one receiver had always listened."""

import numpy as np
import pandas as pd

from analysis.fit.estimate import Series
from analysis.tag.sun import season_of

OPEN_MHZ = 9.5  # about what one-hop sporadic E needs on 50 MHz
LAT, LON = 35.7, 139.5


def ionosonde_series(folder, *, seasons=None, open_mhz=OPEN_MHZ):
    """Series of the hourly foEs in `folder`: an hour is one half-hour's look, others are unmonitored."""
    hours = pd.read_csv(folder / "foes_kokubunji_hourly.csv.gz")
    local = pd.to_datetime(hours["date_jst"], utc=True) + pd.to_timedelta(hours["hour_jst"], unit="h")
    start = (local - pd.Timedelta(hours=9)).dt.as_unit("us")
    cells = season_of(start, lat=LAT).astype("int64").assign(start=start, n_listening=3)
    cells["block"] = (cells["season_day"] + 183) // 5
    cells["hour"] = (hours["hour_jst"] + (LON - 135) / 15) % 24
    cells["n_detected"] = np.where(hours["foes_mhz"] >= open_mhz, 3, 0)
    if seasons is not None:
        cells = cells[cells["season"].isin(seasons)]
    return Series("6m", "ES", "all", "solar", "A", cells)

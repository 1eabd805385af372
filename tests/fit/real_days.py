"""Opening days out of a published ionosonde series: hours with foEs high enough for one hop on 50 MHz."""

import pandas as pd

from analysis.tag.sun import season_of

OPEN_MHZ = 9.5  # about what one-hop 50 MHz needs


def ionosonde_days(folder, *, open_mhz=OPEN_MHZ, monitored_hours=6, blanks="unmeasured"):
    """Days of the hourly foEs series in `folder`, in the form of `model_days`.

    Blank hours were not measured, or hold no sporadic E where `blanks` is "shut": nobody says which.
    """
    hours = pd.read_csv(folder / "foes_kokubunji_hourly.csv.gz", parse_dates=["date_jst"])
    by_day = hours.assign(high=hours["foes_mhz"] >= open_mhz).groupby("date_jst")["high"].agg(["size", "sum"])
    by_day = by_day.reindex(pd.date_range(by_day.index[0], by_day.index[-1]), fill_value=0)
    table = season_of(pd.Series(by_day.index.tz_localize("UTC")), lat=35.7).astype("int64")
    table.insert(0, "date", by_day.index)
    table["monitored"] = (by_day["size"].to_numpy() >= monitored_hours) | (blanks == "shut")
    table["open"] = (by_day["sum"].to_numpy() > 0) & table["monitored"]
    return table.assign(n_openings=table["open"].astype("int64"), open_hours=by_day["sum"].to_numpy() * 1.0)

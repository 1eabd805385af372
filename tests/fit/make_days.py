"""Seeded day tables with known truth: a chain of opening days with a season's curve, memory and year effects."""

import numpy as np
import pandas as pd

from analysis.tag.sun import season_of


def day_table(
    *, seasons=5, first=2018, lat=50.0, base=-3.0, swing=3.0, memory=0.8, year_sd=0.4, monitored=1.0, seed=1
):
    """Days of `seasons` seasons: logit = base + swing * shape(season day) + memory * open yesterday + year."""
    rng = np.random.default_rng(seed)
    days = pd.date_range(f"{first - 1}-12-01", f"{first + seasons}-12-31", freq="D", tz="UTC")
    table = season_of(pd.Series(days), lat=lat).astype("int64")
    table.insert(0, "date", days.tz_localize(None))
    table = table[table["season"].between(first, first + seasons - 1)].reset_index(drop=True)
    logit = base + swing * np.exp(-0.5 * (table["season_day"].to_numpy() / 35) ** 2)
    logit = logit + rng.normal(0, year_sd, seasons)[table["season"].to_numpy() - first]
    opened, lots = np.zeros(len(table), bool), rng.random(len(table))
    for day in range(len(table)):
        chance = 1 / (1 + np.exp(-logit[day] - memory * (day > 0 and opened[day - 1])))
        opened[day] = lots[day] < chance
    table["monitored"] = rng.random(len(table)) < monitored
    table["open"] = opened & table["monitored"]
    table["n_openings"] = table["open"].astype("int64")
    table["open_hours"] = table["open"] * 2.0
    return table

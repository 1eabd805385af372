"""Who could have noticed an opening of a scope: stations by where they are, and when any of them listened."""

from __future__ import annotations

import pandas as pd

from analysis.find import intervals, reach
from analysis.find.listening import outages, series_listening
from analysis.find.once import once
from analysis.find.reach import HERE, REGION
from analysis.gather import locators
from analysis.physics import earth

# Of home, for a listener to have noticed what home could have used: for sporadic E those under the same
# part of the sky, half a hop around (judgement), for others those who hear what home hears.
LISTENER_KM = {"ES": reach.LONGEST_HOP_KM / 2}


def listeners(
    spots: pd.DataFrame, listening: pd.DataFrame, *, band: str, mechanism: str, lon: float, lat: float
) -> dict[str, pd.DataFrame]:
    """Spans in which somebody listened who could have noticed an opening, by scope.

    Parameters
    ----------
    spots, listening : DataFrame
        Tagged spots; `station band start end basis`.
    band, mechanism : str
    lon, lat : float
        Home [degrees east, north].

    Returns
    -------
    dict of DataFrame
        For each of `reach.SCOPES` `start end`, sorted, disjoint, without outages of the whole feed.
    """
    known = ears(spots, listening, band=band, mechanism=mechanism)
    return {
        scope: heard_at(known, scope=scope, mechanism=mechanism, lon=lon, lat=lat) for scope in reach.SCOPES
    }


def ears(spots: pd.DataFrame, listening: pd.DataFrame, *, band: str, mechanism: str) -> pd.DataFrame:
    """Who listened for a series, when and where: `square start end`, without outages of the whole feed.

    Parameters as for `listeners`; the spans of a square are sorted and disjoint.
    """
    known = series_listening(spots, listening, band=band, mechanism=mechanism)
    squares = station_squares(spots).reindex(known["station"].astype("str")).astype("str").fillna("")
    by_square = intervals.union(known.assign(station=squares.to_numpy(), band=""))
    silent = outages(listening).assign(band="")
    silent = pd.concat(
        [silent.assign(station=square) for square in by_square["station"].unique()]
        or [silent.assign(station="")]
    )
    spans = intervals.overlay(on=by_square, silent=silent[intervals.COLUMNS])
    kept = spans[spans["on"] & ~spans["silent"]]
    return kept[["station", "start", "end"]].rename(columns={"station": "square"}).reset_index(drop=True)


def heard_at(known: pd.DataFrame, *, scope: str, mechanism: str, lon: float, lat: float) -> pd.DataFrame:
    """Spans in which somebody listened who could have noticed an opening of a scope at a place.

    Parameters
    ----------
    known : DataFrame
        As `ears` returns it.
    scope, mechanism, lon, lat
        As for `near_stations`.

    Returns
    -------
    DataFrame
        `start end`, sorted and disjoint.
    """
    squares = known["square"].drop_duplicates()
    near = near_stations(squares, scope=scope, mechanism=mechanism, lon=lon, lat=lat)
    on = known[known["square"].isin(squares[near])] if scope != REGION else known
    return intervals.union(on.assign(station="", band="")[intervals.COLUMNS])[["start", "end"]]


def near_stations(squares: pd.Series, *, scope: str, mechanism: str, lon: float, lat: float) -> pd.Index:
    """Calls of the receiving stations that could have noticed an opening of a scope.

    Parameters
    ----------
    squares : Series
        As `station_squares` returns them.
    scope, mechanism : str
        Of sporadic E here, stations within half a hop of home count (1 150 km); of everything else here,
        and of neighbours, those within 100 km; of the region, all.
    lon, lat : float
        Home [degrees east, north].
    """
    if scope == REGION:
        return squares.index
    places = locators.centre(squares)
    home = earth.directions(lon=lon, lat=lat)[0]
    away = earth.apart_km(earth.directions(lon=places["lon"], lat=places["lat"]), home)
    far = LISTENER_KM.get(mechanism, reach.HOME_KM) if scope == HERE else reach.HOME_KM
    return squares.index[away <= far]


@once
def station_squares(spots: pd.DataFrame) -> pd.Series:
    """Square in which each receiving station was most often; index its call, the first of equals."""
    seen = spots.loc[spots["rx_locator"] != "", ["rx_call", "rx_locator"]].astype("str")
    seen["rx_locator"] = seen["rx_locator"].str[:4]
    counts = seen.value_counts().rename("n").reset_index()
    counts = counts.sort_values(["n", "rx_locator"], ascending=[False, True])
    return counts.drop_duplicates("rx_call").set_index("rx_call")["rx_locator"]

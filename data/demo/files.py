"""Write the set as people have it: a log, two spot tables of different shape, lists; and the truth beside them."""

from __future__ import annotations

import gzip
import json
from pathlib import Path

import broken
import fm
import numpy as np
import pandas as pd
import people
import sky

# How many of every thousand rows
FLAWS = {"wrong locator": 0.4, "busted call": 0.5, "false decode": 0.6}
REPEATED = {"club": 1.5, "region": 1.9, "both": 1.1, "log": 14}
FIELD_LETTERS = "ABCDEFGHIJKLMNOPQR"  # of a locator
ROVER_STOPS = ("IN93TH", "IN92WW", "JN03CJ")


def write_all(folder: Path, table: pd.DataFrame, whole: dict, curves: pd.DataFrame, *, rng) -> None:
    """Write every file of the set into `folder` and its `truth` folder."""
    (folder / "truth").mkdir(parents=True, exist_ok=True)
    rows = _named(whole["received"], table)
    contacts = _contacts(rows[rows["rx"] == people.CLUB_CALL])
    spots = rows[(rows["rx"] != people.CLUB_CALL) & ~rows["lost"]].drop(columns="lost").reset_index(drop=True)
    spots = _flawed(spots, rng)
    club, region = _split(spots, table, rng)
    _text(folder / "club_log.adi", _adif(contacts, rng))
    _table(folder / "club_spots.csv.gz", broken.with_broken(_club_shape(club), name="club"))
    _table(folder / "region_spots.csv.gz", broken.with_broken(_region_shape(region), name="region"), sep=";")
    _table(folder / "beacons.csv", _beacon_list(table))
    _table(
        folder / "listening_hours.csv",
        _stamped(whole["declared"].sort_values(["start", "station"]), form="%Y-%m-%d %H:%M"),
    )
    _table(folder / "fm_notes.csv", _stamped(whole["fm_notes"][fm.COLUMNS], form="%Y-%m-%d %H:%M"))
    _table(folder / "fm_places.csv", fm.places())
    _table(folder / "fm_hours.csv", _stamped(whole["fm_hours"], form="%Y-%m-%d %H:%M"))
    truth = folder / "truth"
    _table(truth / "labels_fm_notes.csv", whole["fm_notes"][["mechanism"]])
    _table(truth / "fm_openings.csv", _stamped(whole["fm_open"]))
    _table(truth / "labels_club_spots.csv.gz", broken.labels(club[["mechanism", "path", "flaw"]]))
    _table(truth / "labels_region_spots.csv.gz", broken.labels(region[["mechanism", "path", "flaw"]]))
    _table(truth / "half_hours.csv.gz", _stamped(whole["half_hours"]))
    _table(truth / "openings.csv", _stamped(whole["openings"]))
    _table(truth / "curves.csv", curves)
    answers = _answers(whole, curves, club, region, contacts)
    _text(truth / "answers.json", json.dumps(answers, indent=2) + "\n")


def _named(received: pd.DataFrame, table: pd.DataFrame) -> pd.DataFrame:
    """Replace row numbers of sites by calls and locators; the rover changes its square every two hours."""
    rows = received.copy()
    for end in ("tx", "rx"):
        site = table.iloc[rows[end]]
        rows[f"{end}_locator"] = site["locator"].to_numpy()
        rover = (site["role"] == "rover").to_numpy()
        stop = (rows["time"].dt.hour // 2 % 3).to_numpy()
        rows.loc[rover, f"{end}_locator"] = np.array(ROVER_STOPS)[stop[rover]]
        rows[f"{end}_role"] = site["role"].to_numpy()
        if end == "tx":
            rows["power_w"] = site["power_w"].to_numpy()
        rows[end] = site["call"].to_numpy()
    rows["band"] = np.array(people.BANDS)[rows["band"]]
    rows["flaw"] = ""
    return rows


def _flawed(spots: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """Put in what goes wrong: locators with a wrong letter, calls with one, and decodes of noise."""
    spots = spots.copy()
    ordinary = np.flatnonzero((spots["tx_role"] == "operator") & (spots["km"] > 150))
    n = {flaw: _of_thousand(rate, spots) for flaw, rate in FLAWS.items()}
    chosen = rng.choice(ordinary, n["wrong locator"] + n["busted call"], replace=False)
    misplaced, misread = np.split(chosen, [n["wrong locator"]])
    for column, which, places in (("tx_locator", misplaced, (0, 1)), ("tx", misread, (3, 4, 5))):
        text = [_one_letter_off(old, rng.choice(places), rng) for old in spots[column].iloc[which]]
        spots.iloc[which, spots.columns.get_loc(column)] = text
    spots.iloc[misplaced, spots.columns.get_loc("flaw")] = "wrong locator"
    spots.iloc[misread, spots.columns.get_loc("flaw")] = "busted call"
    ghosts = _ghosts(spots[spots["mode"] == "FT8"].sample(n["false decode"], random_state=rng), rng)
    return pd.concat([spots, ghosts]).sort_values("time", kind="stable", ignore_index=True)


def _ghosts(rows: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """Decodes of noise in the place of real rows: a call and a square from nowhere, at the edge of hearing."""
    n = len(rows)
    letters = list(people.LETTERS)
    calls = [
        f"Q{rng.choice(list('ABEFIKLOPRTUVXYZ'), 1)[0]}{rng.integers(10)}{''.join(rng.choice(letters, 3))}"
        for _ in range(n)
    ]
    squares = [f"{''.join(rng.choice(list(FIELD_LETTERS), 2))}{rng.integers(100):02d}" for _ in range(n)]
    return rows.assign(
        tx=calls,
        tx_locator=squares,
        snr_db=-rng.integers(19, 25, n).astype(float),
        time=rows["time"] + pd.to_timedelta(15 * rng.integers(1, 40, n), unit="s"),
        power_w=np.nan,
        mechanism="",
        path="",
        flaw="false decode",
    )


def _of_thousand(rate: float, rows: pd.DataFrame) -> int:
    return max(1, round(rate * len(rows) / 1000))


def _one_letter_off(text: str, place: int, rng: np.random.Generator) -> str:
    other = rng.choice([letter for letter in FIELD_LETTERS if letter != text[place]])
    return text[:place] + str(other) + text[place + 1 :]


def _split(spots: pd.DataFrame, table: pd.DataFrame, rng) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Club members' receptions and everybody else's, each with some rows that came twice."""
    members = table.loc[table["call"].str.match("QF[56]"), "call"]
    is_club = spots["rx"].isin(members)
    club, region = spots[is_club], spots[~is_club].copy()
    region["power_w"] = region["power_w"].where(rng.random(len(region)) < 0.6)
    sound = club[club["flaw"] == ""]
    both = sound.sample(_of_thousand(REPEATED["both"], club), random_state=rng).assign(
        power_w=np.nan, flaw="also in the club's file"
    )
    region = pd.concat([region, both]).sort_values("time", kind="stable", ignore_index=True)
    return _repeated(club, REPEATED["club"], rng), _repeated(region, REPEATED["region"], rng)


def _repeated(rows: pd.DataFrame, rate: float, rng: np.random.Generator) -> pd.DataFrame:
    """Half of the copies are one block exported twice, half are scattered; they follow at the file's end."""
    n = _of_thousand(rate, rows)
    start = int(rng.integers(0, len(rows) - n))
    block = rows.iloc[start : start + n // 2]
    rest = rows.drop(block.index)
    copies = pd.concat([block, rest[rest["flaw"] == ""].sample(n - len(block), random_state=rng)])
    return pd.concat([rows, copies.assign(flaw="duplicate")], ignore_index=True)


def _club_shape(rows: pd.DataFrame) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "utc": rows["time"].dt.strftime("%Y-%m-%dT%H:%M:%SZ"),
            "call heard": rows["tx"],
            "square heard": rows["tx_locator"],
            "MHz": rows["mhz"].map("{:.3f}".format),
            "mode": rows["mode"],
            "SNR dB": rows["snr_db"].astype(int),
            "heard by": rows["rx"],
            "listener square": rows["rx_locator"],
        }
    )


def _region_shape(rows: pd.DataFrame) -> pd.DataFrame:
    comma = rows["mhz"].mul(1000).map("{:.1f}".format).str.replace(".", ",")
    return pd.DataFrame(
        {
            "date": rows["time"].dt.strftime("%d.%m.%Y"),
            "time utc": rows["time"].dt.strftime("%H:%M:%S"),
            "frequency kHz": comma,
            "mode": rows["mode"],
            "receiver": rows["rx"],
            "receiver locator": rows["rx_locator"],
            "report dB": rows["snr_db"].astype(int),
            "transmitter": rows["tx"],
            "transmitter locator": rows["tx_locator"],
            "power W": rows["power_w"].map(lambda watt: "" if np.isnan(watt) else f"{watt:.0f}"),
        }
    )


def _beacon_list(table: pd.DataFrame) -> pd.DataFrame:
    bands = [table.assign(mhz=people.beacon_mhz(table, band=band)) for band in (0, 1)]
    rows = pd.concat(bands).dropna(subset="mhz").sort_values(["call", "mhz"])
    return pd.DataFrame(
        {"call": rows["call"], "locator": rows["locator"], "frequency MHz": rows["mhz"].map("{:.3f}".format)}
    )


def _contacts(heard: pd.DataFrame) -> pd.DataFrame:
    """The club station works a station once a day on each band and mode; the rover once in each square."""
    worked = heard[heard["tx_role"] != "beacon"]
    day = worked["time"].dt.date
    return worked[
        ~worked.assign(day=day).duplicated(["day", "tx", "band", "mode", "tx_locator"])
    ].reset_index(drop=True)


def _adif(contacts: pd.DataFrame, rng: np.random.Generator) -> str:
    lines = [f"Log of {people.CLUB_CALL}, {people.CLUB}", _field("ADIF_VER", "3.1.4") + " <EOH>"]
    known = rng.random(len(contacts)) < 0.2
    for row, sure in zip(contacts.itertuples(), known, strict=True):
        lines.append(_record(row, sure=sure))
    copies = [
        lines[2 + int(i)]
        for i in rng.choice(len(contacts), _of_thousand(REPEATED["log"], contacts), replace=False)
    ]
    return "\n".join(lines + copies + broken.log_records(lines[2:])) + "\n"


def _record(row, *, sure: bool) -> str:
    report = {"FT8": f"{int(row.snr_db):+03d}", "MSK144": f"{int(row.snr_db):+03d}", "CW": "559"}.get(
        row.mode, "57"
    )
    code = {"ES": "ES", "TR": "TR", "MS": "MS"}.get(row.mechanism, "")
    fields = [
        ("CALL", row.tx), ("QSO_DATE", f"{row.time:%Y%m%d}"), ("TIME_ON", f"{row.time:%H%M}"), ("BAND", row.band.upper()),
        ("FREQ", f"{row.mhz:.3f}"), ("MODE", row.mode), ("RST_SENT", report), ("RST_RCVD", report),
        ("GRIDSQUARE", row.tx_locator), ("STATION_CALLSIGN", people.CLUB_CALL), ("MY_GRIDSQUARE", people.HOME),
        ("PROP_MODE", code if sure else ""),
    ]  # fmt: skip
    return " ".join(_field(name, text) for name, text in fields if text) + " <EOR>"


def _field(name: str, text: str) -> str:
    return f"<{name}:{len(text)}>{text}"


def _answers(whole, curves, club, region, contacts) -> dict:
    """The true answers that a right analysis finds, from the true curves and from what really was put in."""
    both = pd.concat([club, region])
    flaws = both["flaw"].value_counts()
    return {
        "season_peak_day": {s: _peak(curves, s, "season_day", -120, 100) for s in sky.SERIES},
        "winter_peak_day": {"es6": _peak(curves, "es6", "season_day", -183, -140)},
        "morning_peak_hour": {"es6": _peak(curves, "es6", "hour", 6, 15)},
        "evening_peak_hour": {"es6": _peak(curves, "es6", "hour", 15, 24)},
        "strongest_sun_phase_hour": {s: _peak(curves, s, "hour", 0, 24) for s in ("land2", "sea2")},
        "land_sunrise_over_afternoon": _contrast(curves, "land2"),
        "sea_sunrise_over_afternoon": _contrast(curves, "sea2"),
        "trend_per_year": 0.0,
        "openings": len(whole["openings"]),
        "spot_rows": {"club_spots.csv.gz": len(club), "region_spots.csv.gz": len(region)},
        "log_rows": len(contacts) + _of_thousand(REPEATED["log"], contacts),
        "duplicates": {
            "club_spots.csv.gz": int((club["flaw"] == "duplicate").sum()),
            "region_spots.csv.gz": int((region["flaw"] == "duplicate").sum()),
            "region_spots.csv.gz and club_spots.csv.gz": int(flaws["also in the club's file"]),
            "club_log.adi": _of_thousand(REPEATED["log"], contacts),
        },
        "set_aside": broken.counts(),
        "wrong_locators": int(flaws["wrong locator"]),
        "false_decodes": int(flaws["false decode"]),
        "busted_calls": int(flaws["busted call"]),
    }


def _peak(curves: pd.DataFrame, series: str, by: str, low: float, high: float) -> float:
    """Where the true curve is highest between two bounds, smoothed over two hours or a month."""
    part = curves[(curves["series"] == series) & (curves["by"] == by) & curves["x"].between(low, high)]
    width, sd = (5, 1) if by == "hour" else (31, 8)
    smooth = part["chance"].rolling(width, center=True, win_type="gaussian", min_periods=1).mean(std=sd)
    return float(part["x"].loc[smooth.idxmax()])


def _contrast(curves: pd.DataFrame, series: str) -> float:
    """True chance around sunrise (half an hour before to two hours after) over that of 13:30 to 16."""
    part = curves[(curves["series"] == series) & (curves["by"] == "hour")]
    return round(
        float(
            part[part["x"].between(5.5, 8)]["chance"].mean()
            / part[part["x"].between(13.5, 16)]["chance"].mean()
        ),
        2,
    )


def _stamped(rows: pd.DataFrame, *, form: str = "%Y-%m-%dT%H:%M:%SZ") -> pd.DataFrame:
    times = [name for name in rows if getattr(rows[name].dtype, "tz", None) is not None]
    return rows.assign(**{name: rows[name].dt.strftime(form) for name in times})


def _table(path: Path, rows: pd.DataFrame, *, sep: str = ",") -> None:
    _text(path, rows.to_csv(index=False, sep=sep, lineterminator="\n"))


def _text(path: Path, text: str) -> None:
    data = text.encode()
    # No name and no time of making inside, so that remaking gives the same bytes.
    path.write_bytes(gzip.compress(data, 9, mtime=0) if path.suffix == ".gz" else data)

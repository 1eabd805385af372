"""What a user's own evidence says, in sentences: forecasts, weather, soundings, neighbours, land and sea."""

from __future__ import annotations

import pandas as pd

from analysis.fit.signs.forecast import SKILL
from analysis.fit.signs.nearby import ALL, DIFFER, HEADING
from analysis.fit.signs.weather import LINK, OPEN
from analysis.show.wording import words

LEAST_DAYS = 10  # with a duct, and without: fewer are anecdotes
MOST = 6  # sentences; the table has all
LIGHTNING = (
    "Thunder in a table is a count of days, not a warning: when thunder is about, unplug and leave antennas and hilltops; the weather "
    "service and local rules come first."
)


def forecasts(table: pd.DataFrame) -> list[str]:
    """One sentence for each noted forecast: up to how many days ahead it told anything."""
    refused = _refused(table)
    if refused:
        return refused
    said = []
    for (name, area, band, mechanism), own in table.groupby(["forecast", "area", "band", "mechanism"]):
        about = f"{name} {area}".strip()
        series = words.series(band_name=str(band), mechanism=str(mechanism))
        sure = own[own["verdict"] == SKILL]
        if sure.empty:
            told = own[own["verdict"] != "refuse"]
            reason = "no skill shown: the calendar and what was open on the day of issue tell as much"
            if told.empty:
                reason = f"not scored, {own['reason'].iloc[0]}"
            said.append(f"{about}, {series}: {reason} ({words.counted(own['n_days'].max(), 'day')}).")
            continue
        row = sure.sort_values("lead_days").iloc[-1]
        said.append(
            f"{about}, {series}: skill up to {words.counted(row['lead_days'], 'day')} ahead; there an index of {words.quantity(row['threshold'])} "
            f"or more caught {words.percent(row['hits'])} of open days and called {words.percent(row['false_alarms'])} of shut ones "
            f"({words.counted(row['n_days'], 'day')}, threshold chosen without them)."
        )
    return said[:MOST]


def weather(table: pd.DataFrame) -> list[str]:
    """What goes with openings or with the spread of SNR; that nothing else does; the caution beside thunder."""
    refused = _refused(table)
    if refused:
        return refused
    said = []
    for row in table[table["verdict"] == LINK].sort_values("p_holm").head(MOST).to_dict("records"):
        series = words.series(band_name=str(row["band"]), mechanism=str(row["mechanism"]))
        ends = f"{words.quantity(row['low'])} to {words.quantity(row['high'])}"
        factor = str(row["factor"]).replace("_", " ")
        if row["what"] == OPEN:
            said.append(f"{factor} ({row['step']}) goes with {series}: odds of an opening day times {words.quantity(row['value'])} ({ends}, "
                        f"{words.counted(row['n_days'], 'day')}).")  # fmt: skip
        else:
            said.append(f"{factor} ({row['step']}) goes with the spread of SNR within a path and hour, {series}: "
                        f"{row['value']:+.1f} dB ({ends}).")  # fmt: skip
    tested = table["p_holm"].notna()
    none = table[tested & (table["verdict"] != LINK)]
    said.append(
        f"No link shown in {len(none)} of {int(tested.sum())} tests; what goes with the days need not cause them."
    )
    return [*said, LIGHTNING]


def soundings(table: pd.DataFrame) -> list[str]:
    """How often a duct was found, and how often tropo opened with and without one."""
    refused = _refused(table)
    if refused:
        return refused
    n, with_duct = len(table), table["n_ducts"] > 0
    said = [
        f"A duct in {int(with_duct.sum())} of {words.counted(n, 'sounding')}; it held 144 MHz whole in {int((table['lowest_mhz'] <= 144).sum())}."
    ]
    known = table["open_2m"].notna()
    shares = [table.loc[known & mask, "open_2m"] for mask in (with_duct, ~with_duct)]
    if min(map(len, shares)) >= LEAST_DAYS:
        on, off = shares
        said.append(
            f"Tropo opened here on 2 m on {words.percent(on.mean())} of {len(on)} days with a duct and {words.percent(off.mean())} of {len(off)} "
            "without; whether that is more than the season brings stands in weather.csv."
        )
    return said


def neighbours(table: pd.DataFrame) -> list[str]:
    """How many dB one station has over its neighbour, and where most."""
    refused = _refused(table)
    if refused:
        return refused
    said = []
    whole = table[(table["by"] == ALL) & (table["verdict"] != "refuse")]
    for row in whole.sort_values("n_same", ascending=False).head(MOST).to_dict("records"):
        ends = f"{words.quantity(row['snr_low'])} to {words.quantity(row['snr_high'])}"
        about = (
            f"{row['station']} beside {row['other']} ({words.count(row['km'])} km), {words.band(row['band'])}"
        )
        if row["verdict"] != DIFFER:
            said.append(
                f"{about}: no difference shown, {row['snr_db']:+.1f} dB ({ends}, {words.counted(row['n_same'], 'signal')})."
            )
            continue
        said.append(
            f"{about}: {row['snr_db']:+.1f} dB ({ends}, {words.counted(row['n_same'], 'signal')}){_heading(table, row)}."
        )
    return said or [f"{len(table)} pairs, none with enough days."]


def _heading(table: pd.DataFrame, row: dict) -> str:
    """The heading on which the pair differs most from its mean, if there are two or more."""
    same = (
        (table["station"] == row["station"])
        & (table["other"] == row["other"])
        & (table["band"] == row["band"])
    )
    own = table[same & (table["by"] == HEADING) & (table["verdict"] != "refuse")]
    if len(own) < 2:
        return ""
    best, worst = own.loc[own["snr_db"].idxmax()], own.loc[own["snr_db"].idxmin()]
    return f"; {best['snr_db']:+.1f} dB toward {best['which']}, {worst['snr_db']:+.1f} dB toward {worst['which']}"


def land_sea(table: pd.DataFrame) -> list[str]:
    """Opening days over land and over sea beside what each band pays to enter a duct over sea."""
    said = []
    for row in table[table["days_listened"] > 0].to_dict("records"):
        said.append(
            f"{words.band(row['band'])}: {row['land_days']} opening days over land and {row['sea_days']} over sea, of "
            f"{words.count(row['days_listened'])} listened to; a duct over sea costs it {row['coupling_loss_db']:.1f} dB to enter."
        )
    if said:
        losses = table.set_index("band")["coupling_loss_db"]
        said.append(
            f"That loss (ITU-R P.2001) is one reason why the same sea duct that lifts 70 cm ({losses['70cm']:.1f} dB) may leave 6 m ({losses['6m']:.1f} dB) shut."
        )
    return said


def _refused(table: pd.DataFrame) -> list[str]:
    """Why nothing can be said of a whole table, in one sentence."""
    if len(table) and not (table["verdict"] == "refuse").all():
        return []
    reason = str(table["reason"].iloc[0]) if len(table) else "nothing was brought"
    reason = reason if "given" in reason or "no two" in reason else f"not told: {reason}"
    return [f"{reason[:1].upper()}{reason[1:]}."]

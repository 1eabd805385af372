"""Mechanisms on a mixed season with known truth, at the bounds, and on a real weekend."""

import numpy as np
import pandas as pd
import pytest

from analysis.gather import spots
from analysis.tag import bands, company, features, likelihoods, mechanism, paths, ranges, reasons, tags
from tests.tag import scores
from tests.tag.mixed_season import mixed_season


def spot_table(*rows, **common):
    """Spots from (time, band, mode, tx_locator, rx_locator)."""
    frame = pd.DataFrame(rows, columns=["time", "band", "mode", "tx_locator", "rx_locator"])
    frame["time"] = pd.to_datetime(frame["time"], utc=True, format="ISO8601")
    return spots.as_spots(frame.assign(kind="heard", tx_call="Q1ABC", rx_call="Q2ABC", **common))


@pytest.fixture(scope="module", params=[False, True], ids=["dense", "degraded"])
def judged(request):
    """Three seeded seasons judged, and whether they are of the poor kind."""
    return request.param, scores.judged(mixed_season, seeds=(1, 2, 3), degraded=request.param)


def test_balanced_accuracy(judged):
    """At least 0.95 where data is dense, 0.80 where it is poor."""
    degraded, rows = judged
    assert scores.recalls(rows).mean() >= (0.80 if degraded else 0.95)


def test_probabilities_are_calibrated(judged):
    """What is called 0.8 comes true eight times in ten: error at most 0.06."""
    assert scores.summary(judged[1])["calibration error"] <= 0.06


def test_calls_are_right(judged):
    """Of the calls that are made at least 0.90 are right, and most spots get one."""
    found = scores.summary(judged[1])
    assert found["calls right"] >= 0.90
    assert found["called"] >= 0.75


def test_calls_follow_the_posterior():
    """The table's label and probability are those of the posterior, undetermined below the bar."""
    tagged, _, posterior = scores.season(mixed_season, 1, True)
    best = posterior.max(axis=1)
    label = np.array(likelihoods.RIVALS)[posterior.argmax(axis=1)]
    expected = np.where((best >= mechanism.CALL_FROM) & (label != likelihoods.MISTAKE), label, "undetermined")
    sure = np.abs(best - mechanism.CALL_FROM) > 1e-4
    assert (tagged["mechanism"].astype("str").to_numpy() == expected)[sure].all()
    assert tagged["mechanism_p"].to_numpy() == pytest.approx(best, abs=1e-4)


def test_hard_rule_is_worse():
    """A rule by distance alone, which knows that no aircraft fly here, makes a third more errors; else the season
    would be too easy."""
    tagged, truth, posterior = scores.season(mixed_season, 1, False)
    km = tagged["distance_km"]
    rule = np.select([km < 150, (km > 500) & (tagged["band"] == "6m"), km < 1000], ["LOS", "ES", "TR"], "MS")
    label = np.array(likelihoods.RIVALS)[posterior.argmax(axis=1)]
    assert np.mean(rule != truth) >= 4 / 3 * np.mean(label != truth)


def test_real_weekend(real_inputs):
    """Openings on 6 m are sporadic E, 2 m and 1.25 m at 400 to 815 km are not, 3500 km is two hops."""
    from analysis.gather.files import gather_files

    gathered = gather_files([real_inputs / "contest_weekend.adi"], home="EM55")
    tagged = tags.tag_spots(gathered.spots)
    time, far = tagged["time"], tagged["distance_km"] >= 700
    first = time.between("2024-06-09 14:18Z", "2024-06-09 18:44Z")
    second = time.between("2024-06-09 22:31Z", "2024-06-10 00:22Z")
    openings = tagged[(tagged["band"] == "6m") & far & (first | second)]
    assert (openings["mechanism"] == "ES").mean() >= 0.95
    assert openings["mechanism"].isin(["ES", "undetermined"]).all()
    higher = tagged[tagged["band"].isin(["2m", "1.25m"]) & tagged["distance_km"].between(400, 815)]
    assert len(higher) >= 20
    assert (higher["mechanism"] != "ES").all()
    longest = tagged.loc[tagged["distance_km"].idxmax()]
    assert (longest["band"], longest["mechanism"], longest["hops"]) == ("6m", "ES", 2)


@pytest.mark.parametrize(
    ("name", "mhz", "km", "possible"),
    [
        ("ES", 144.3, 800, False),  # the secant law asks for 41 MHz
        ("ES", 144.3, 1700, True),
        ("ES", 222.1, 2000, False),  # 41 MHz again
        ("ES", 50.3, 300, False),
        ("ES", 50.3, 3500, True),
        ("TR", 144.3, 2000, False),  # over land
        ("MS", 144.3, 2600, False),
        ("MS", 144.3, 300, False),
        ("AS", 144.3, 1000, False),
        ("LOS", 144.3, 400, False),
        ("F2", 50.3, 2000, False),
    ],
)
def test_bounds(name, mhz, km, possible):
    """Hard bounds of distance."""
    low, high = ranges.reach(name, mhz=mhz, sea=1)
    assert (low <= km <= high) == possible


def test_bounds_give_way_by_the_locators_size():
    """A path 50 km beyond a bound is possible between 4-character squares, not between exact places."""
    far = int(np.searchsorted(features.DISTANCE_EDGES, 1760, side="right") - 1)
    rows = pd.DataFrame({"band": 6, "sea": 1, "distance": far, "error": [0, 2]})
    tropo = ranges.log_bounds(rows)[:, likelihoods.RIVALS.index("TR")]
    assert tropo.tolist() == [likelihoods.NEVER, 0.0]


def test_sums_of_the_fixed_evidence_agree():
    """The table used for millions of rows holds the sum of the parts that are shown."""
    rng = np.random.default_rng(1)
    shape = ranges._bounds().shape[:-1]
    names = ("band", "sea", "distance", "error")
    rows = pd.DataFrame({name: rng.integers(0, n, 500) for name, n in zip(names, shape, strict=True)})
    parts = ranges.log_band(rows) + ranges.log_distance(rows) + ranges.log_bounds(rows)
    possible = parts > likelihoods.NEVER / 2
    assert ranges.log_fixed(rows).T[possible] == pytest.approx(parts[possible], abs=1e-4)
    assert (ranges.log_fixed(rows).T[~possible] < likelihoods.NEVER / 2).all()


def test_longer_tropo_over_sea():
    """A duct over the ocean may reach twice as far as one over land."""
    assert ranges.reach("TR", mhz=144.3, sea=4)[1] > 2 * ranges.reach("TR", mhz=144.3, sea=1)[1]


def test_tables_have_every_class():
    """One row for each rival, one column for each class, chances positive."""
    for name, edges in (
        ("snr", features.SNR_EDGES),
        ("neighbours", company.NEIGHBOUR_EDGES),
        ("lasting", company.LASTING_EDGES),
        ("reach", company.REACH_EDGES),
        ("season", features.SEASON_EDGES),
        ("region", company.REGION_EDGES),
    ):
        rows, columns = likelihoods.log_table(name).shape
        more = {"snr": 1, "neighbours": 1, "reach": 1, "lasting": 2, "season": len(edges) + 1}.get(name, 0)
        assert (rows, columns) == (len(likelihoods.RIVALS), len(edges) + 1 + more), name
        assert columns == len(reasons.WORDS[name]), name
    assert all(np.isfinite(likelihoods.log_table(name)).all() for name in likelihoods.TABLES)


def test_a_lone_ping_in_a_busy_season_is_no_opening():
    """One meteor-mode report is meteor scatter; the same report amid company on FT8 is sporadic E."""
    opening = [
        (f"2024-06-10T10:{minute:02d}Z", "6m", "FT8", f"JO{a}{b}", "IN93")
        for minute, (a, b) in enumerate([(a, b) for a in range(3, 7) for b in range(9)])
    ]
    ping = ("2024-06-20T05:00Z", "6m", "MSK144", "JO51", "IN93")
    tagged = tags.tag_spots(spot_table(*opening, ping))
    assert (tagged["mechanism"].iloc[:-1] == "ES").mean() > 0.9
    assert tagged["mechanism"].iloc[-1] == "MS"


@pytest.mark.parametrize(
    ("feature", "more", "less", "name"),
    [
        ("mode", 2, 0, "MS"),  # a mode made for meteors against voice
        ("shower", 1, 0, "MS"),
        ("planetary", 3, 1, "AUR"),
        ("planetary", 0, 1, "AUR"),
        ("neighbours", 4, 1, "ES"),
        ("lasting", 4, 1, "ES"),
        ("lasting", 2, 4, "AS"),  # gone within minutes with company, at 700 km
        ("season", 7, 10, "F2"),  # winter against high season, at 6000 km
        ("hour", 4, 1, "TEP"),  # evening against morning, at 6000 km
        ("magnetic", 1, 0, "TEP"),
        ("magnetic", 2, 0, "AUR"),
        ("region", 2, 0, "ES"),
        ("season", 3, 0, "ES"),  # high season against winter
        ("reach", 1, 4, "TR"),
        ("snr", 1, 4, "TR"),  # very weak against strong, at 250 km
        ("hour", 1, 4, "MS"),  # morning against evening
        ("standing", 3, 1, "LOS"),  # heard on most days, at 150 km
        ("again", 2, 3, "AS"),  # again within minutes only, at 700 km
        ("again", 1, 4, "MS"),
    ],
)
def test_each_feature_pulls_its_way(feature, more, less, name):
    """All else equal, one feature moves the odds in the direction that physics says."""
    km = {"snr": 250, "reach": 700, "standing": 150}.get(feature, 1300)
    km = {"AS": 700, "F2": 6000, "TEP": 6000, "AUR": 900}.get(name, km)
    step = int(features.DISTANCE_CLASS[km // 50])
    base = {"distance": step, "error": 0, "band": 3, "sea": 1, "mode": 1, "snr": 0}
    base |= {
        "magnetic": {"TEP": 1, "AUR": 2}.get(name, 0),
        "neighbours": 2,
        "lasting": 3,
        "reach": 3,
        "region": 1,
        "hour": 2,
        "season": 2,
        "shower": 0,
        "planetary": 0,
    }
    base |= {"standing": 0, "again": 0}
    rows = pd.DataFrame([base | {"company": 0, feature: value} for value in (more, less)])
    chance = mechanism.posteriors(rows)[:, likelihoods.RIVALS.index(name)]
    odds = chance / (1 - chance)
    assert odds[0] > 1.3 * odds[1]


def test_two_hops():
    """Twice the reach of one hop, with the near end open, is two hops."""
    opening = [
        (f"2024-06-10T18:{m:02d}Z", "6m", "FT8", f"{field}{m % 10}{m % 7}", "IN93")
        for m, field in enumerate(["JO", "KO", "JP", "JO", "KO"] * 8)
    ]
    far = ("2024-06-10T18:20Z", "6m", "FT8", "LO67", "IN93")
    tagged = tags.tag_spots(spot_table(*opening, far))
    assert tagged["distance_km"].iloc[-1] > 3000
    assert tagged["hops"].iloc[-1] == 2
    assert tagged["mechanism"].iloc[-1] == "ES"


def test_the_files_own_code_is_not_believed():
    """Another propagation code in the file changes no call."""
    rows = [
        ("2024-06-10T10:00Z", "2m", "FT8", "IN94", "IN93"),
        ("2024-06-10T10:05Z", "6m", "CW", "JO51", "IN93"),
    ]
    plain = tags.tag_spots(spot_table(*rows))
    coded = tags.tag_spots(spot_table(*rows, prop_mode="EME"))
    assert plain["mechanism_p"].equals(coded["mechanism_p"])
    listed = mechanism.disagreements(coded.assign(mechanism=["LOS", "undetermined"]))
    assert listed["prop_mode"].tolist() == ["EME"]
    assert listed["mechanism"].tolist() == ["LOS"]
    assert mechanism.disagreements(plain).empty


def test_unknown_is_said_in_words():
    """No locator, no band of ours: no call, no number, a reason."""
    rows = [
        ("2024-06-10T10:00Z", "6m", "FT8", "", "IN93"),
        ("2024-06-10T10:00Z", "20m", "CW", "JO51", "IN93"),
    ]
    tagged = tags.tag_spots(spot_table(*rows))
    assert (tagged["mechanism"] == "undetermined").all()
    assert tagged["mechanism_p"].isna().all()
    assert "locator is missing" in tagged["mechanism_why"].iloc[0]
    assert "10 m to 23 cm" in tagged["mechanism_why"].iloc[1]
    assert (tagged["hops"] == 0).all()


def test_doubtful_reports_get_no_call():
    """Where the report itself is doubtful the sentence says why, and there is no number."""
    rows = [("2024-06-10T10:00Z", "6m", "FT8", "JO51", "IN93")] * 2
    table = spot_table(*rows).assign(doubt=pd.Series(["", "heard once"], dtype="str"))
    tagged = tags.tag_spots(table)
    assert tagged["mechanism"].iloc[1] == "undetermined"
    assert np.isnan(tagged["mechanism_p"].iloc[1])
    assert tagged["mechanism_p"].iloc[0] > 0.3
    assert tagged["mechanism_why"].iloc[1].endswith("doubtful: heard once.")


def test_a_standing_path_is_local():
    """A beacon at 120 km that its receiver hears day and night is no opening."""
    days = pd.date_range("2024-04-01", periods=120, freq="7h", tz="UTC")
    rows = [(time.isoformat(), "2m", "CW", "IN94", "IN93") for time in days]
    tagged = tags.tag_spots(spot_table(*rows))
    assert 100 < tagged["distance_km"].iloc[0] < 130
    assert (tagged["mechanism"] == "LOS").mean() == 1.0


def test_impossible_is_a_mistake():
    """9000 km on 70 cm is no call, and the sentence says what it probably is."""
    tagged = tags.tag_spots(spot_table(("2024-06-10T10:00Z", "70cm", "FT8", "PM95", "IN93")))
    assert tagged["mechanism"].iloc[0] == "undetermined"
    assert "wrong locator" in tagged["mechanism_why"].iloc[0]
    assert reasons.likely_mistakes(tagged).all()
    real = tags.tag_spots(spot_table(("2024-06-10T10:00Z", "6m", "FT8", "JO51", "IN93")))
    assert not reasons.likely_mistakes(real).any()


def test_evidence_adds_up():
    """The table of log evidence, summed, ranks the rivals as the call does."""
    tagged, _, _ = scores.season(mixed_season, 1, True)
    rows = list(range(0, len(tagged), 200))
    evidence = mechanism.evidence(tagged, rows=rows)
    assert list(evidence.columns) == likelihoods.RIVALS
    weight = np.exp(evidence.groupby(level="spot").sum())
    chance = (weight.max(axis=1) / weight.sum(axis=1)).to_numpy()
    assert chance == pytest.approx(tagged["mechanism_p"].iloc[rows].to_numpy(), abs=1e-4)
    assert (evidence.groupby(level="spot").size() == 2 + 1 + len(likelihoods.TABLES)).all()


def test_long_ocean_paths_on_two_metres_are_ducts():
    """4000 km over sea on 2 m are no two hops of a layer that is rare even once."""
    rows = [(f"2024-07-20T10:{minute:02d}Z", "2m", "FT8", "BL10", "DM04") for minute in range(6)]
    tagged = tags.tag_spots(spot_table(*rows, ("2024-07-20T10:20Z", "2m", "SSB", "BL11", "DM03")))
    assert tagged["path_type"].iloc[-1] == "sea"
    assert tagged["mechanism"].iloc[-1] in ("TR", "undetermined")


def test_magnetic_classes():
    """Across the geomagnetic equator, in the aurora's reach, and neither."""
    pairs = pd.DataFrame({"tx_locator": ["PM95", "KP20", "JN18"], "rx_locator": ["PH57", "JO65", "IN93"]})
    assert features.magnetic_class(paths.pair_table(pairs)).tolist() == [1, 2, 0]


def test_showers_come_when_they_should():
    """The nights of the Perseids and Geminids are shower nights, mid March is not; by day over the Antarctic none are."""
    times = ["2024-08-12T23:00", "2024-12-14T01:00", "2024-03-15T01:00"]
    seconds = np.array(times, "datetime64[s]").astype("int64").astype(float)
    place = {"lon": np.zeros(3), "lat": np.full(3, 47.0)}
    # Usual calendars (from memory): Perseids 12-13 August, Geminids 14 December
    assert features.in_shower(seconds, **place).tolist() == [1, 1, 0]
    south = {"lon": np.zeros(3), "lat": np.full(3, -75.0)}  # the radiants never rise there
    assert features.in_shower(seconds, **south).tolist() == [0, 0, 0]


def test_digital_of_any_kind_is_no_slow_mode():
    """A log that says only "digital" leaves a meteor mode possible."""
    vague = bands.mode_codes(pd.Series(["DIGI", "DATA", "FT8", "MSK144"])).tolist()
    assert vague == [bands.UNKNOWN_MODE, bands.UNKNOWN_MODE, 1, bands.METEOR_MODE]


@pytest.mark.definition
def test_geomagnetic_latitude():
    """The pole of the dipole and a place far from it."""
    # Definition with the IGRF-13 dipole of 2020 (from memory): 80.65 N, 72.68 W
    assert features.geomagnetic_latitude(lon=[-72.68, 107.32], lat=[80.65, -80.65]) == pytest.approx(
        [90, -90]
    )
    assert features.geomagnetic_latitude(lon=-72.68, lat=0.0) == pytest.approx(9.35)


def test_a_reason_speaks_for_the_mechanism_itself():
    """Winter is no reason for a local path, though it speaks against sporadic E; without a reason it says so."""
    loose = pd.DataFrame([dict.fromkeys(likelihoods.TABLES, 0)])
    local, layer = (np.array([likelihoods.RIVALS.index(name)]) for name in ("LOS", "ES"))
    codes = reasons.loudest(loose, local, layer)[0]
    assert list(reasons.WORDS).index("season") not in codes // reasons.PLACES
    why = reasons.sentence(50, 3, int(local[0]), int(layer[0]), [-1, -1], called=True, hops=0)
    assert why == "A local path: about 50 km on 6m, judged by its distance."

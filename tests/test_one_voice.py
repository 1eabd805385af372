"""All products of a review say one thing: every number has its answer in the tables, and none has two."""

import json
import re

import pandas as pd
import pytest

from analysis import products, review, tables
from analysis.find.signs.quarters import AHEAD_MIN
from analysis.show.charts import collected
from analysis.show.page.answers import answer, ten_lines
from analysis.show.papers import documents
from analysis.show.papers.article import mailing
from analysis.show.wording import words
from analysis.tag.mechanism import CALL_FROM
from analysis.tag.reasons import likely_mistakes
from tests import one_voice, test_odd_seasons
from tests.products_read import plain, said_by

CONTACTS = "log<EOH>\n" + "".join(
    f"<CALL:5>Q{k % 9}A{'ABCDEFG'[k % 7]}{'HK'[k % 2]} <QSO_DATE:8>{2023 + k // 90}0{6 + k % 2}{10 + k % 15} "
    f"<TIME_ON:4>{9 + k % 9:02d}{k % 60:02d} <BAND:2>{'62'[k % 9 == 0]}m <MODE:{2 + k % 2}>{('CW', 'SSB')[k % 2]} "
    f"<GRIDSQUARE:4>J{'NO'[k % 2]}{k % 6}{k % 10} <MY_GRIDSQUARE:4>IN93 <STATION_CALLSIGN:5>Q1BBB <EOR>\n"
    for k in range(180)
)
ONE_SEASON = test_odd_seasons.reports(mhz=50.313, start="2024-05-10", days=80, per_day=40)
# Tables behind the pictures of one series, and behind those of all; the names of pictures begin so.
OF_SERIES = {
    "openings": ("openings",),
    "daily": ("daily", "estimates"),
    "season": ("season", "estimates"),
    "seasons": ("seasons",),
    "windows": ("windows",),
    "climatology": ("published", "daily", "season"),
    "compared": ("compared",),
    "reliability": ("reliability",),
}
OF_ALL = {
    "account": ("account", "set_aside"),
    "signs": ("leads",),
    "rungs": ("rungs",),
    "forecasts": ("forecasts", "forecast_levels"),
    "indicators": ("indicators",),
    "drift": ("patches",),
}
# What these draw stands in no table of its own; titles and captions of the others are held to theirs.
OWN = ("density", "midpoints", "headings", "effort", "voice", "layer")
PROSE = (
    "article.docx",
    "article.html",
    "article.md",
    "article.odt",
    "card.pdf",
    "mailing.md",
    "ten_lines.md",
)
KINDS = {"All paths": "", "Over land": "_land", "Mixed": "_mixed", "Over sea": "_sea"}
# Settings that words name as such, each from where it is set.
SETTINGS = (
    r"beyond [\d,]+ km (?:not drawn|keep|in)",
    rf"beyond {collected.LONG_KM} km",
    rf"below probability {CALL_FROM}",
    rf"followed within {AHEAD_MIN[1]:g} minutes",
    r"four seasons in five|\b80 % range",
    r"\b10 points and a tenth",
    r"runs of 30 days|error of 5 %|p at most 0\.025",
    r"mirror at 110 km, band: 90 to 120 km",
    r"\(Leftin, Ostrow and Preston 1968\)",
    r"with fewer than 20 ",
    r"\b20\d\d–(?:20\d\d\b)?|, 20\d\d[.;]?$",
)


def wrong(said, numbers):
    """What is amiss in some prose: numbers without a key, answers beside another series, missing nouns."""
    known, names = one_voice.answers(numbers), one_voice.series_names(numbers)
    found = []
    for one in said:
        found += [(one, "no key", number) for number in one_voice.unkeyed(one.text, known)]
        found += [
            (one, "not its series", what) for what in one_voice.misplaced(one.text, known, numbers, names)
        ]
        found += [(one, "no noun", hole) for hole in one_voice.HOLES.findall(one.text)]
    return found


def small(content, name, folder):
    """Finished tables and written products of one small set."""
    (folder / name).write_text(content, encoding="utf-8")
    return of_files([folder / name], folder / "made", home="IN93")


def of_files(files, folder, *, home=""):
    """Tables of some files, and the folder with every product that is prose."""
    found = review.analyse(review.gather(files, home=home), owner=review.Owner(home=home))
    folder.mkdir()
    tables.save(found, folder / "tables")
    (folder / "ten_lines.md").write_text(ten_lines(found).data, encoding="utf-8")
    told = "\n\n".join(answer(found, question).data for question in range(1, 10))
    (folder / "answers.md").write_text(told, encoding="utf-8")
    for ending in products.WRITERS:
        products.write_article(found, folder / f"article{ending}", figures=folder, captions={}, club="")
    documents.write_markdown(mailing(found.key_numbers, club=""), folder / "mailing.md", figures=folder)
    products.write_shack_card(found, folder / "card.pdf")
    return found, folder


@pytest.fixture(scope="module", params=["contacts only", "one season", "contest weekend"])
def other(request, tmp_path_factory):
    """Tables and products of a log of contacts, of one season of spots, of a real contest."""
    folder = tmp_path_factory.mktemp("voice")
    if request.param == "contacts only":
        return small(CONTACTS, "log.adi", folder)
    if request.param == "one season":
        return small(ONE_SEASON, "spots.csv", folder)
    return of_files([request.getfixturevalue("real_inputs") / "contest_weekend.adi"], folder / "made")


def test_prose_of_other_sets_has_its_keys(other):
    """Ten lines, nine answers, article in four formats, mailing and card: no number without a key."""
    found, folder = other
    said = [one for one in said_by(folder) if not axis_labels(one)]
    assert len(said) > 40
    assert not wrong(said, found.key_numbers)


def axis_labels(one):
    """The drawn part of a card, which comes before its words."""
    return one.product.endswith(".pdf") and "J F M A" in one.text


def of_series(table, band, mechanism):
    """The rows of one series; a table without series is whole."""
    if "band" not in table or not band:
        return table
    rows = table[table["band"].astype(str) == band]
    return rows[rows["mechanism"].astype(str) == mechanism] if mechanism and "mechanism" in rows else rows


def behind(name, found):
    """Numbers of the tables that a picture draws, as our texts write them."""
    kind, *about = name.split("-")
    band, mechanism = [*about, "", ""][:2]
    if kind in OF_SERIES or kind in OF_ALL:
        wanted = OF_SERIES.get(kind) or OF_ALL[kind]
        return one_voice.tokens(
            *counted_again(kind, [of_series(getattr(found, one), band, mechanism) for one in wanted])
        )
    spots = of_series(found.spots, band, "")
    far = spots[spots["distance_km"] > collected.LONG_KM]
    counts = [spots.groupby(one, observed=True).size() for one in ("path_type", "mechanism")]
    shares = far["mechanism"].value_counts(normalize=True)
    beyond_home = spots[spots["mechanism"].ne("LOS") & ~likely_mistakes(spots)]
    medians = beyond_home.groupby("path_type", observed=True)["distance_km"].median()
    beyond = pd.Series([len(spots), int((spots["distance_km"] > 2500).sum())])
    return one_voice.tokens(
        *(one.to_frame("n") for one in (*counts, shares, medians, medians.round(-1), beyond))
    )


def counted_again(kind, rows):
    """The tables of a picture with what it counts or turns about: openings of a season, hours, triples of days."""
    table = rows[0]
    if kind == "account":
        shares = 1 - table[["set_aside"]].sum() / table["rows_in"].sum()
        rows = [*rows, shares.to_frame("share")]
    if kind == "openings":
        firm = table["grade"].isin(["confirmed", "probable"])
        for scope in ("here", "region"):
            mine = table[table["scope"] == scope]
            season = mine["start"].dt.year
            rows = [
                *rows,
                mine[firm[mine.index]].groupby(season).size().to_frame("n"),
                pd.DataFrame({"n": [(~firm[mine.index]).sum(), firm[mine.index].sum()]}),
            ]
        rows = [*rows, pd.DataFrame({"h": table["duration_min"] / 60})]
    if kind == "indicators":
        megahertz = table["freq_mhz"].dropna().map("{:.3f}".format)
        chance = table["expected"] / table["n_warnings"]
        rows = [*rows, pd.DataFrame({"mhz": megahertz, "chance": chance})]
    if kind == "compared":
        first = pd.to_datetime("2001-" + table["date"])
        rows = [*rows, pd.DataFrame({"from": first, "to": first + pd.Timedelta(days=29)})]
    if kind in ("daily", "season"):
        rows = [*rows, table.groupby("path_type", observed=True)[["n_monitored"]].sum()]
    if kind == "windows":
        rows = [*rows, table[table["near_best"].astype(bool)].groupby("direction").size().to_frame("n")]
    return rows


def told_otherwise(name, words_of, numbers):
    """What a picture says of a key number in other figures than the key number's own."""
    kind, *about = name.split("-")
    pair = "_".join([*about[:1], *(one.lower() for one in about[1:2])])
    title, alt = (re.sub("\u00a0", " ", words_of[one]) for one in ("title", "alt"))
    found = []
    for lead, end in KINDS.items():
        key, part = f"{pair}{end}", re.search(rf"{lead}: (.*?)(?= (?:{'|'.join(KINDS)}): |$)", alt)
        if not part:
            continue
        if kind == "seasons":
            for season, days, of in re.findall(r"(\d{4}): .*?, (\d+) opening days? \D*of (\d+)", part[1]):
                one = numbers[f"{key}_{season}_opening_days"]
                found += [(name, season, days, of)] * (
                    (one["value"], one["n"]) not in [(int(days), int(of)), (None, None)]
                )
        if kind == "windows":
            for what in ("", "_at_least", "_chance"):
                text = numbers[f"{key}_window{what}"]["text"].replace(", indicative", "")
                found += [(name, what, text)] * (text not in re.sub(r"(\d) % to", r"\1 to", part[1]))
        if kind == "daily" and part[1].startswith("highest"):
            text = numbers[f"{key}_best_hour_chance"]["text"].split(",")[0].rstrip(")")
            found += [(name, text)] * (text not in re.sub(r"(\d) % to", r"\1 to", part[1]))
    if kind == "daily" and "solar time" in title:
        for what in ("morning_peak", "evening_peak"):
            one = numbers.get(f"{pair}_{what}", {"value": None})
            found += [(name, what)] * (one["value"] is not None and words.clock(one["value"]) not in title)
    if (
        kind == "season"
        and len(re.findall("over |in ", title)) == 1
        and (one := numbers[f"{pair}_season_peak"])["value"]
    ):
        found += [(name, one["text"])] * (words.part_of_month(words.of_year(one["value"])) not in title)
    return found


def test_pictures_of_the_demo_say_what_the_tables_say(demo_review, season):
    """Titles, captions and alt texts: every number is one of the drawn tables, and no key number's is another."""
    numbers = json.loads((demo_review / "tables" / "key_numbers.json").read_text(encoding="utf-8"))
    pictures = json.loads((demo_review / "figures" / "captions.json").read_text(encoding="utf-8"))
    known, amiss = one_voice.answers(numbers), []
    for name, told in pictures.items():
        drawn = behind(name, season) if name.split("-")[0] not in OWN else None
        for text in (plain(told[one]) for one in ("title", "caption", "alt")):
            amiss += [(name, text, hole) for hole in one_voice.HOLES.findall(text)]
            if drawn is not None:
                left = one_voice.unkeyed(text, known, settings=SETTINGS, drawn=drawn)
                amiss += [(name, text, number) for number in left]
        amiss += told_otherwise(name, told, numbers)
    assert len(pictures) > 30
    assert not amiss


def test_prose_of_the_demo_has_its_keys(demo_review):
    """Articles, ten lines, mailing, card and the page's own answers: no number without a key."""
    numbers = json.loads((demo_review / "tables" / "key_numbers.json").read_text(encoding="utf-8"))
    said = [one for one in said_by(demo_review) if one.product in PROSE and not axis_labels(one)]
    assert {one.product for one in said} == set(PROSE)
    assert not wrong(said, numbers)


def told_in(text, alt):
    """Whether every sentence of a text stands in a longer one."""
    return all(sentence.rstrip(".") in alt for sentence in re.split(r"(?<=\.) ", text))


def test_the_page_repeats_the_pictures_and_the_prose(demo_review):
    """On the page a picture of the figures has its very alt text; ten lines and answers stand there as they are."""
    numbers = json.loads((demo_review / "tables" / "key_numbers.json").read_text(encoding="utf-8"))
    pictures = json.loads((demo_review / "figures" / "captions.json").read_text(encoding="utf-8"))
    page = [one for one in said_by(demo_review) if one.product == "review.html"]
    alts = {}  # a menu shows one band at a time of what a figure shows at once, under the same title
    for one in pictures.values():
        alts[plain(one["title"])] = f"{alts.get(plain(one['title']), '')} {plain(one['alt'])}"
    shown = [one.text for one in page if one.place == "alt"]
    pairs = [(text, title) for text in shown for title in alts if text.startswith(f"{title}. ")]
    assert len(pairs) > 15
    assert not [(text, title) for text, title in pairs if not told_in(text, alts[title])]
    files = {found for one in page for found in re.findall(r"\b\d+ files?\b", one.text)}
    assert files == {numbers["sources"]["text"]}
    assert not [one for one in page if one_voice.HOLES.search(one.text)]

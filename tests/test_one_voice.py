"""All products of a review say one thing: every number has its answer in the tables, and none has two."""

import pytest

from analysis import products, review, tables
from analysis.show.page.answers import answer, ten_lines
from analysis.show.papers import documents
from analysis.show.papers.article import mailing
from tests import one_voice, test_odd_seasons
from tests.products_read import said_by

CONTACTS = "log<EOH>\n" + "".join(
    f"<CALL:5>Q{k % 9}A{'ABCDEFG'[k % 7]}{'HK'[k % 2]} <QSO_DATE:8>{2023 + k // 90}0{6 + k % 2}{10 + k % 15} "
    f"<TIME_ON:4>{9 + k % 9:02d}{k % 60:02d} <BAND:2>{'62'[k % 9 == 0]}m <MODE:{2 + k % 2}>{('CW', 'SSB')[k % 2]} "
    f"<GRIDSQUARE:4>J{'NO'[k % 2]}{k % 6}{k % 10} <MY_GRIDSQUARE:4>IN93 <STATION_CALLSIGN:5>Q1BBB <EOR>\n"
    for k in range(180)
)
ONE_SEASON = test_odd_seasons.reports(mhz=50.313, start="2024-05-10", days=80, per_day=40)
# Tables behind the pictures of one series, and behind those of all; the names of pictures begin so.
SERIES = {
    "openings": ("openings",),
    "daily": ("daily", "estimates"),
    "season": ("season", "estimates"),
    "seasons": ("seasons",),
    "windows": ("windows",),
    "climatology": ("published", "daily", "season"),
    "compared": ("compared",),
    "reliability": ("reliability",),
}
ALL = {
    "account": ("account", "set_aside"),
    "signs": ("leads",),
    "rungs": ("rungs",),
    "voice-level": ("voice_levels",),
    "layer": ("chain", "muf"),
    "drift": ("patches",),
}
LEADS = {"All paths": "", "Over land": "_land", "Mixed": "_mixed", "Over sea": "_sea"}


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

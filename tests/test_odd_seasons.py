"""Seasons that hardly are one: every cell, picture and product survives them and claims nothing."""

import nbformat
import numpy as np
import pandas as pd
import pytest
from IPython.core.interactiveshell import InteractiveShell

from analysis import products, review, shipped, tables, workbook
from analysis.gather.problems import InputError

CONTACT = (
    "<CALL:5>QA1A{} <QSO_DATE:8>202406{} <TIME_ON:4>1015 <BAND:2>6m <MODE:2>CW "
    "<GRIDSQUARE:4>JN61 <MY_GRIDSQUARE:4>IN93 <EOR>\n"
)


def reports(*, mhz, start, days, per_day, seed=11):
    """Reports of eight receivers around IN93, of senders anywhere within some 2000 km."""
    rng = np.random.default_rng(seed)
    n = days * per_day
    time = pd.Timestamp(start) + pd.to_timedelta(np.sort(rng.uniform(0, days * 24, n)), unit="h")
    sender = rng.integers(0, 40, n)
    squares = [f"{a}{b}{c}{d}" for a in "IJ" for b in "MNO" for c in range(10) for d in range(10)]
    where = rng.choice(squares, 40)
    receiver = rng.integers(0, 8, n)
    return pd.DataFrame(
        {
            "utc": time.floor("s"),
            "call heard": [f"QA{k % 10}F{chr(65 + k // 10)}{chr(65 + k % 26)}" for k in sender],
            "locator heard": where[sender],
            "heard by": [f"QH{k}RR" for k in receiver],
            "heard at": [f"IN{80 + k}" for k in receiver],
            "MHz": mhz,
            "mode": "FT8",
            "snr": rng.integers(-20, 6, n),
        }
    ).to_csv(index=False)


ODD = {
    "five contacts": (
        "few.adi",
        "log<EOH>\n" + "".join(CONTACT.format("ABCDE"[k], 10 + k) for k in range(5)),
    ),
    "a day of six metres": ("day.csv", reports(mhz=50.313, start="2024-06-10", days=1, per_day=60)),
    "twenty metres": ("hf.csv", reports(mhz=14.074, start="2024-06-01", days=20, per_day=10)),
    "seventy centimetres": ("uhf.csv", reports(mhz=432.174, start="2024-05-01", days=60, per_day=20)),
}


@pytest.fixture(scope="module", params=ODD)
def odd(request, tmp_path_factory):
    """Folder with the finished tables of one odd season."""
    folder = tmp_path_factory.mktemp("odd")
    name, content = ODD[request.param]
    (folder / name).write_text(content, encoding="utf-8")
    finished = review.analyse(review.gather([folder / name], home="IN93"), owner=review.Owner(home="IN93"))
    tables.save(finished, folder / "tables")
    return folder


def test_every_cell_of_every_notebook_runs(odd, capsys):
    """Run in one shell without a kernel: no cell fails, none warns."""
    shell, values = InteractiveShell(), workbook.settings(tables.load(odd / "tables"))
    for path in shipped.notebook_paths():
        notebook = nbformat.read(path, as_version=4)
        workbook.set_settings(notebook, values | {"tables": str(odd / "tables")})
        for cell in notebook.cells:
            if cell.cell_type == "code":
                done = shell.run_cell(cell.source)
                assert done.success, (path.name, cell.source, done.error_in_exec)
    assert "Warning" not in capsys.readouterr().err


def test_every_product_is_made(odd):
    """Pictures with their words, articles, the moving opening where there is one, and the card."""
    finished = tables.load(odd / "tables")
    words = products.write_figures(finished, odd / "figures", width="slide")
    assert all(told["title"] and told["alt"] for told in words.values())
    review._write_articles(odd, finished, words)
    review._write_opening(odd / "opening.html", finished)
    products.write_shack_card(finished, odd / "card.pdf")
    assert (odd / "article.docx").stat().st_size > 0
    assert (odd / "card.pdf").stat().st_size > 0


def test_no_chance_is_stated(odd):
    """No window, hour or season date of so few data has a number."""
    finished = tables.load(odd / "tables")
    for table in (finished.windows, finished.daily, finished.season):
        assert table["chance"].isna().all()


NOTHING = {
    "beacons.csv": ("call,locator,freq_mhz\nQB1BB,IN93,50.405\nQB2BB,IN83,50.410\n", "add a log"),
    "lost.csv": (
        "utc,call heard,locator heard,heard by,heard at,MHz,mode,snr\n"
        + "2024-06-10 27:90,QA1AA,JN61,QH1RR,IN93,50.313,FT8,-3\n" * 3,
        "lost.csv: no column of dates and times",
    ),
}


@pytest.mark.parametrize("name", NOTHING)
def test_no_report_at_all_is_said_in_one_line(name, tmp_path):
    """Beacons without reports, or rows that all had to be set aside, make no review."""
    content, said = NOTHING[name]
    (tmp_path / name).write_text(content, encoding="utf-8")
    with pytest.raises(InputError, match=said):
        review.analyse(review.gather([tmp_path / name], home="IN93"), owner=review.Owner(home="IN93"))


@pytest.mark.parametrize(("per_day", "told"), [(20, False), (40, True)])
def test_part_time_listeners_of_two_seasons(tmp_path, per_day, told):
    """Too little heard by people who come and go: no chance and nothing to check it by; twice as much: both."""
    for year, seed in ((2023, 11), (2024, 12)):
        rows = reports(mhz=50.313, start=f"{year}-05-25", days=60, per_day=per_day, seed=seed)
        (tmp_path / f"{year}.csv").write_text(rows, encoding="utf-8")
    found = review.analyse(
        review.gather(sorted(tmp_path.iterdir()), home="IN93"), owner=review.Owner(home="IN93")
    )
    assert found.windows["chance"].notna().any() == told
    assert len(found.verification) == len(found.reliability) == 0 or told
    known = found.verification.dropna(subset=["low", "high"])
    assert (known["low"] <= known["high"]).all()

"""Plan, article and card from a finished review, through the command line."""

import re

import pytest

from analysis import cli, review, tables
from tests.products_read import said_by


def test_plan_leaves_tables_calendar_and_cards(season, tmp_path, capsys):
    """A fortnight in June or July, evenings only, in local time: tables, an ICS file and two cards."""
    wishes = "--days 14 --from 2026-06-01 --to 2026-07-31 --hours 18-23 --zone Europe/Madrid --band 6m --place IN83 --place IN93"
    assert cli.main(["plan", "--out", str(tmp_path / "plan"), *wishes.split()]) == cli.DONE
    left = {path.name for path in (tmp_path / "plan").iterdir()}
    assert {"windows.csv", "hours.csv", "places.csv", "plan.ics", "card.pdf", "portable_card.pdf"} <= left
    assert "places-6m-ES.png" in left
    assert "BEGIN:VEVENT" in (tmp_path / "plan" / "plan.ics").read_text()


def test_plan_refuses_nonsense_in_one_line(tmp_path, capsys):
    """A time zone that does not exist."""
    assert cli.main(["plan", "--out", str(tmp_path / "plan"), "--zone", "Nowhere/Land"]) == cli.BAD_INPUT
    assert capsys.readouterr().err.count("\n") == 1
    assert not (tmp_path / "plan").exists()


@pytest.mark.parametrize("command", ["plan", "figures"])
def test_a_folder_of_others_is_refused_before_the_work(command, tmp_path, capsys, monkeypatch):
    """--out . among a user's own files: one line, at once, and nothing changes."""
    (tmp_path / "log.adi").write_text("mine")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(review, "open_tables", lambda folder: pytest.fail("the work began"))
    assert cli.main([command, "--out", "."]) == cli.BAD_INPUT
    assert capsys.readouterr().err.count("\n") == 1
    assert [path.name for path in tmp_path.iterdir()] == ["log.adi"]


def test_card_of_the_demo(season, tmp_path):
    """One PDF page."""
    assert cli.main(["card", "--out", str(tmp_path / "card.pdf"), "--portable"]) == cli.DONE
    content = (tmp_path / "card.pdf").read_bytes()
    assert content.startswith(b"%PDF")
    assert content.count(b"/Type /Page ") + content.count(b"/Type /Page\n") == 1


def test_article_in_the_ending_asked_for(season, tmp_path, capsys):
    """A finished review gives its article again, under another club's name; other endings are refused.

    A draft that somebody edited is kept under the name that the last line tells.
    """
    made = tmp_path / "review"
    tables.save(season, made / "tables")
    (made / "notebooks").mkdir()
    (made / "figures").mkdir()
    (made / "figures" / "captions.json").write_text("{}")
    order = ["article", "--review", str(made), "--club", "Quiet Cove VHF Group", "--out"]
    draft = tmp_path / "draft.md"
    draft.write_text("my words")
    assert cli.main([*order, str(draft)]) == cli.DONE
    assert draft.read_text(encoding="utf-8").startswith("# Quiet Cove VHF Group")
    (aside,) = tmp_path.glob("draft.*-*.md")
    assert aside.read_text() == "my words"
    assert str(aside) in capsys.readouterr().out.splitlines()[-1]
    assert cli.main([*order, str(tmp_path / "draft.xyz")]) == cli.BAD_INPUT


@pytest.mark.parametrize("ending", [".md", ".html", ".docx", ".odt"])
def test_only_who_agreed_is_named(season, tmp_path, ending):
    """Searched for every call sign of the review, an article holds those of the file and no other."""
    made = tmp_path / "review"
    tables.save(season, made / "tables")
    (made / "notebooks").mkdir()
    (made / "figures").mkdir()
    (made / "figures" / "captions.json").write_text("{}")
    named = {*season.spots["tx_call"].astype(str), *season.spots["rx_call"].astype(str)}
    calls = sorted(
        name for name in named if name.startswith("Q")
    )  # broadcast transmitters bear a place's name
    agreed = calls[3:5]
    (tmp_path / "agreed.txt").write_text("\n".join(agreed), encoding="utf-8")
    order = ["article", "--review", str(made), "--agreed", str(tmp_path / "agreed.txt"), "--out"]
    assert cli.main([*order, str(tmp_path / f"draft{ending}")]) == cli.DONE
    said = " ".join(one.text for one in said_by(tmp_path) if one.product.startswith("draft"))
    assert {call for call in calls if re.search(rf"(?<![A-Z0-9]){re.escape(call)}(?![A-Z0-9])", said)} == {
        *agreed
    }

"""What notebooks say in words: answers and tables to read."""

import pytest

from analysis.show.page import answers


class Finished:
    """As much of a review's tables as the answers look at."""

    def __init__(self, numbers):
        self.key_numbers = numbers


def number(text, *, unit="", verdict="ok", reason=""):
    return {
        "value": 1,
        "low": None,
        "high": None,
        "n": 3,
        "unit": unit,
        "tier": "A",
        "text": text,
        "verdict": verdict,
        "reason": reason,
    }


@pytest.mark.parametrize("question", range(1, 10))
def test_every_question_has_an_answer(question):
    """Even an empty review is answered in words, and never with a number."""
    said = answers.answer(Finished({}), question).data
    assert len(said) > 20 or question == 1
    assert not any(letter.isdigit() for letter in said)


def test_refusal_stands_beside_its_number():
    """A refused number shows its reason where the number would stand."""
    numbers = {
        "6m_es_name": number("sporadic E on 6 m", unit="series"),
        "6m_es_morning_peak": number("11:30 (11:00 to 12:00)"),
        "6m_es_evening_peak": number("", verdict="refuse", reason="too few evenings"),
    }
    html = answers.told(Finished(numbers), "morning_peak", "evening_peak").data
    assert "11:30 (11:00 to 12:00)" in html
    assert "refused: too few evenings" in html


def test_overview_has_every_question():
    """The start page links each question and says the first line of its answer, or words of refusal."""
    lines = answers.overview(Finished({})).data.splitlines()
    assert [line.split(".")[0] for line in lines[::2]] == [str(number) for number in range(1, 10)]
    assert all(f"]({file}.ipynb)" in line for file, line in zip(answers.QUESTIONS, lines[::2], strict=True))
    assert all(line.endswith(".") and "**" not in line for line in lines[1::2])


def test_ten_lines_are_ten_whatever_is_known():
    """Nothing at all is known: still ten lines, each of which says why, and no number but their own."""
    lines = answers.ten_lines(Finished({})).data.splitlines()
    assert [line.split(".")[0] for line in lines] == [str(n) for n in range(1, 11)]
    assert not any(
        letter.isdigit() for line in lines for letter in line.split(".", 1)[1].replace("line 1", "")
    )


def test_the_reason_told_is_that_of_what_opened_most():
    """Several series are refused: the one with openings is named with its own reason, not the first in the list."""
    numbers = {
        "6m_tr_land_name": number(
            "tropo over land on 6 m", unit="series", verdict="refuse", reason="nothing was heard."
        ),
        "6m_es_name": number(
            "sporadic E on 6 m", unit="series", verdict="refuse", reason="too few half-hours."
        ),
        "6m_es_openings": number("24 openings"),
        "6m_es_called": number("sporadic E on 6 m"),
    }
    first = answers.ten_lines(Finished(numbers)).data.splitlines()[0]
    assert "sporadic E on 6 m: too few half-hours" in first
    assert "nothing was heard" not in first
    assert ".." not in answers.ten_lines(Finished(numbers)).data

"""What notebooks say in words: answers and tables to read."""

import pandas as pd
import pytest

from analysis.show import answers


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


def test_listed_escapes_and_formats():
    """Untrusted text cannot become markup; numbers get thousands apart; times go to the minute."""
    table = pd.DataFrame(
        {
            "tx_call": ["<b>QA1AA</b>"],
            "rows": [12345],
            "km": [1234.56],
            "time": pd.to_datetime(["2024-06-10 10:15:30+00:00"]),
        }
    )
    html = answers.listed(table, digits=1).data
    assert "&lt;b&gt;QA1AA" in html
    assert "<b>QA1AA" not in html
    assert all(text in html for text in ("tx call", "12,345", "1,234.6", "2024-06-10 10:15<"))

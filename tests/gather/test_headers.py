"""Words above columns."""

import pytest

from analysis.gather.columns.headers import named_meaning, named_unit


@pytest.mark.parametrize(
    ("header", "meaning"),
    [
        ("TxCall", "tx_call"), ("RX-Locator", "rx_locator"), ("heard by", "rx_call"), ("call heard", "tx_call"),
        ("Frequency (MHz)", "freq"), ("SNR [dB]", "snr_db"), ("report dB", "snr_db"), ("report", "ignore"), ("PowerDbm", "tx_power"), ("UTC", "time"), ("remarks", "ignore"),
    ],
)  # fmt: skip
def test_meaning(header, meaning):
    """A header is read whatever its letters, joints and brackets."""
    assert named_meaning(header) == meaning


@pytest.mark.parametrize(
    ("header", "unit"),
    [
        ("power dBm", "dBm"),
        ("PowerDbm", "dBm"),
        ("power mW", "mW"),
        ("mWatt", "mW"),
        ("power (W)", "W"),
        ("watts", "W"),
        ("power", ""),
    ],
)
def test_unit(header, unit):
    """Milliwatts are not watts."""
    assert named_unit(header, "dbm|mw|w") == unit

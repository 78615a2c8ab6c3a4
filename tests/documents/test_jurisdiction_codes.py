"""Codes of jurisdictions: those of ISO 3166 and counties behind them, and what was meant by others.

Codes and names are those of ISO 3166-1 and 3166-2 as Debian's iso-codes lists them.
"""

from importlib.metadata import version
from pathlib import Path

import pytest

import checker.documents
from checker.documents.iso_3166_from_pycountry import table_text
from checker.documents.jurisdiction_codes import code_fault


@pytest.mark.parametrize(
    "code",
    ["US", "US-UT", "US-UT-BASIN", "US-UT-12", "CA-ON", "GB-ENG", "CH", "MX", "EU", "NZ-WKO"],
)
def test_codes(code: str) -> None:
    assert code_fault(code, anywhere=False) is None
    assert code_fault(code, anywhere=True) is None


def test_anywhere_is_for_rules_alone() -> None:
    assert code_fault("any", anywhere=True) is None
    assert code_fault("any", anywhere=False) is not None


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("UK", "'GB'"),
        ("UK-ENG", "'GB-ENG'"),
        ("USA", "'US'"),
        ("USA-UT", "'US-UT'"),
        ("us-ut", "'US-UT'"),
        ("us-ut-basin", "'US-UT-BASIN'"),
        (" US-UT", "'US-UT'"),
        ("US-", "'US'"),
        ("eu", "'EU'"),
        ("Utah", "'US-UT' (Utah)"),
        ("Mexico", "'MX'"),
        ("SW", "'CH' (Switzerland) or 'SE' (Sweden)"),
        ("US-UTAH", "'US-UT' (Utah)"),
        ("CA-ONT", "'CA-ON' (Ontario)"),
        (
            "US-CL",
            "'US-CA' (California), 'US-CO' (Colorado), 'US-CT' (Connecticut), 'US-AL' (Alabama), "
            "'US-FL' (Florida) or 'US-IL' (Illinois)",
        ),
        ("US-CL-BASIN", "'US-CA' (California), 'US-CO' (Colorado), 'US-CT' (Connecticut), "
         "'US-AL' (Alabama), 'US-FL' (Florida) or 'US-IL' (Illinois)"),
        ("QQ", None),
        ("", None),
        ("US-99", None),
        ("AI-01", None),
        ("\N{FULLWIDTH LATIN CAPITAL LETTER U}S", None),
    ],
)  # fmt: skip
def test_what_was_meant(text: str, meant: str | None) -> None:
    fault = code_fault(text, anywhere=False)
    assert fault is not None
    assert fault.suggestion == meant
    # What is suggested is accepted.
    for code in (meant or "").split("'")[1::2]:
        assert code_fault(code, anywhere=False) is None


def test_the_table_is_what_the_list_gives() -> None:
    file = Path(checker.documents.__file__).with_name("iso_3166.txt")
    assert f"pycountry {version('pycountry')}." in file.read_text("utf-8")
    assert file.read_text("utf-8") == table_text()


def test_a_region_is_for_rules_alone() -> None:
    assert code_fault("North America", anywhere=True) is None
    assert code_fault("North America", anywhere=False) is not None
    fault = code_fault("north america", anywhere=True)
    assert fault is not None
    assert fault.suggestion == "'North America'"

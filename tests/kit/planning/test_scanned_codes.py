"""A scanned code is what it says as it stands, or the piece that a GS1 code names, however the scanner sends it."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from kit.planning.scanned_codes import ScannedCode, read_code

GS = "\x1d"
OF_A_MAKER = ScannedCode("", serial="4711-A", batch="B7", article="04012345678901")


def elements(code: ScannedCode) -> tuple[str, str, str, str]:
    return code.asset, code.serial, code.batch, code.article


@pytest.mark.parametrize(
    "sent",
    [
        f"010401234567890121{'4711-A'}{GS}10B7",
        f"]d2010401234567890121{'4711-A'}{GS}10B7",
        f"]C1010401234567890121{'4711-A'}{GS}10B7",
        f"{GS}010401234567890121{'4711-A'}{GS}10B7",
        "0104012345678901214711-A<GS>10B7",
        "0104012345678901214711-A{GS}10B7",
        "010401234567890121" + "4711-A" + "^]10B7",
        "(01)04012345678901(21)4711-A(10)B7",
        "https://id.gs1.org/01/04012345678901/10/B7/21/4711-A",
        "https://maker.example/kit/01/04012345678901/21/4711-A?10=B7&17=281231",
        "  010401234567890121" + "4711-A" + GS + "10B7\r\n",
    ],
)
def test_one_piece_however_its_code_is_sent(sent: str) -> None:
    assert elements(read_code(sent)) == elements(OF_A_MAKER)


def test_a_date_that_is_none_does_not_hide_the_serial() -> None:
    assert read_code(f"0104012345678901{'17280231'}21XY").serial == "XY"


def test_an_owners_number_is_taken_whole_or_without_the_prefix_of_the_company() -> None:
    code = read_code("80044012345" + "NB-0042")
    assert code.asset == "4012345NB-0042"
    assert "NB-0042" in code.own_numbers
    assert code.own_numbers[0] == code.asset
    # The prefix is of figures alone: what follows is not cut into any further.
    assert "B-0042" not in code.own_numbers
    assert read_code("80030401234567890" + "1" + "HD7").asset == "HD7"
    assert read_code("M-BG-0446").own_numbers == ()


@pytest.mark.parametrize(
    "tag", ["M-BG-0446", "123", "21", "4012345678901", "Q-GA/7", "https://example.com/x", "(21", "(99", ""]
)
def test_what_is_no_code_of_gs1_stays_as_it_stands(tag: str) -> None:
    assert read_code(tag) == ScannedCode(tag)


def test_what_sort_of_code_was_read_is_no_part_of_the_tag() -> None:
    assert read_code("]C0M-BG-0446").text == "M-BG-0446"
    assert read_code("]Q1M-BG-0446").text == "M-BG-0446"
    assert read_code("]BG-1").text == "]BG-1"


def test_in_words_as_printed_for_people() -> None:
    assert read_code(f"010401234567890121{'7'}{GS}10B7").in_words == "(01) 04012345678901 (21) 7 (10) B7"


@given(st.text(max_size=60))
def test_whatever_is_sent_it_is_read(sent: str) -> None:
    code = read_code(sent)
    assert code.text == code.text.strip()
    assert code.is_gs1 or not code.own_numbers


# GS1 General Specifications, character set 82.
ALLOWED = "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz"


@given(serial=st.text(ALLOWED, min_size=1, max_size=20), batch=st.text(ALLOWED, min_size=1, max_size=20))
def test_serial_and_batch_come_back_as_they_were_put_in(serial: str, batch: str) -> None:
    assume("<GS>" not in serial + batch)
    sent = f"]d2010401234567890121{serial}{GS}10{batch}"
    code = read_code(sent)
    assert (code.serial, code.batch) == (serial, batch)

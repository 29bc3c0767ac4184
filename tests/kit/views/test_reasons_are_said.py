"""Why a piece is fit until a day is said in the language of the page, and nothing else is taken for such a reason."""

import pytest
from django.utils.translation import override

from kit.tables.reasons_said import reason_said


@pytest.mark.parametrize(
    ("reason", "english", "german"),
    [
        ("calibration due 2027-11-26", "calibration due 26 Nov 2027", "Kalibrierung fällig am 26. Nov 2027"),
        (
            "calibration due 2027-11-26, conceded from 2027-10-01",
            "calibration due 26 Nov 2027, conceded from 1 Oct 2027",
            "Kalibrierung fällig am 26. Nov 2027, genehmigt ab 1. Okt 2027",
        ),
        (
            "calibration failed on 2027-11-26",
            "calibration failed on 26 Nov 2027",
            "Kalibrierung am 26. Nov 2027 nicht bestanden",
        ),
        ("leaks due to wear", "leaks due to wear", "leaks due to wear"),
        ("", "", ""),
    ],
)
@pytest.mark.django_db
def test_a_reason_in_both_languages(reason: str, english: str, german: str):
    assert reason_said(reason) == english
    with override("de"):
        assert reason_said(reason) == german

"""Days stand as the language writes them; what programs read does not change with it."""

from datetime import date

import pytest
from django.template import engines
from django.utils.translation import override

from kit.days import date_format

pytestmark = pytest.mark.once

DAY = date(2026, 11, 4)


@pytest.mark.parametrize(
    ("language", "form", "written"),
    [
        ("en", "j M Y", "4 Nov 2026"),
        ("de", "j M Y", "4. Nov 2026"),
        ("en", "D j M", "Wed 4 Nov"),
        ("de", "D j M", "Mi, 4. Nov"),
        ("de", "j F Y", "4. November 2026"),
        ("de", "Y-m-d", "2026-11-04"),
        ("de", "c", "2026-11-04"),
    ],
)
def test_a_day_in_code_and_in_a_template(language: str, form: str, written: str) -> None:
    template = engines["django"].from_string("{{ day|date:form }}")
    with override(language):
        assert date_format(DAY, form) == written
        assert template.render({"day": DAY, "form": form}) == written

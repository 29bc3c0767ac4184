"""The yard that tests of screens work in."""

import pytest

from tests.kit.views.holm import Yard, make_yard


@pytest.fixture
def yard(db) -> Yard:
    return make_yard()

"""The README's table of plans against what coaches do is the one that the command makes of the demo gym."""

import pytest
from django.conf import settings

from skills.core.month import Month
from skills.management.commands.compare_plans import table
from skills.queries.what_ifs import past_classes

pytestmark = pytest.mark.django_db


def test_the_readme_has_the_table_of_the_demo_s_february(demo_gym):
    lines = list(table(past_classes(demo_gym, Month(2026, 2))))
    readme = (settings.BASE_DIR / "README.md").read_text(encoding="utf-8")
    assert "\n".join(lines) in readme, "\n".join(["The README's table is to be:", *lines])

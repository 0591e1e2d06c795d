"""The README's table of plans against what coaches do is the one that the command makes of the demo gym."""

import pytest
from django.conf import settings

from skills.core.month import Month
from skills.management.commands.compare_plans import table
from skills.queries.what_ifs import past_classes

pytestmark = pytest.mark.django_db


def cells(line):
    return [cell.strip() for cell in line.strip().strip("|").split("|")]


def numbers(line):
    return [float(cell.strip("%").replace(",", "")) for cell in cells(line)[1:]]


def test_the_readme_has_the_table_of_the_demo_s_february(demo_gym):
    head, rule, planned, *others = table(past_classes(demo_gym, Month(2026, 2)))
    readme = (settings.BASE_DIR / "README.md").read_text(encoding="utf-8").splitlines()
    said = "\n".join(["The README's table is to be:", head, rule, planned, *others])
    assert head in readme, said
    at = readme.index(head)
    # People who choose in turn are counted the same everywhere; of the best plans a machine may find another one.
    assert readme[at + 1] == rule, said
    assert readme[at + 3 : at + 3 + len(others)] == others, said
    assert cells(readme[at + 2])[0] == cells(planned)[0] == "planned"
    idle, resets, in_hand, worth, gap = numbers(planned)
    assert [idle, in_hand, worth] == pytest.approx([numbers(readme[at + 2])[place] for place in (0, 2, 3)], rel=0.02)
    assert abs(resets - numbers(readme[at + 2])[1]) <= 3
    assert gap <= 0.1

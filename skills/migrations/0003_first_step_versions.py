"""Write down, for each step that has no version yet, the text that it has as its first one.

Until now nothing could change a step, so that its text is as old as its first criterion: it holds since ever, and was
recorded with that one. The text is spelled out here, since a migration must stay what it was.
"""

import json
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps
from django.utils import timezone

SINCE_EVER = datetime(1970, 1, 1, tzinfo=UTC)
SAME = (
    "code", "label", "name", "purpose", "set_up", "measure", "loads", "inverted", "over_bar", "low_bar_check", "side_drill",
    "asks_clearance", "needs_sign_off", "recheck_days", "grades", "cautions", "dose", "swap_drill", "trade_practice",
)  # fmt: skip


def write_first_versions(apps: StateApps, _schema_editor: BaseDatabaseSchemaEditor) -> None:
    step_version = apps.get_model("skills", "StepVersion")
    bare = apps.get_model("skills", "Step").objects.filter(versions=None).select_related("gym")
    for gym_id in set(bare.values_list("gym", flat=True)):
        step_version.objects.bulk_create(list(first_versions(apps, gym_id, bare.filter(gym=gym_id))))


def first_versions(apps: StateApps, gym_id: UUID, steps: Iterable[Any]) -> Iterator[Any]:
    requires = grouped(apps, gym_id, "Prerequisite", lambda row: row.requires.code, "requires")
    checkpoints = grouped(apps, gym_id, "Checkpoint", lambda row: {"code": row.code, "text": row.name})
    faults = grouped(apps, gym_id, "Fault", fault)
    variants = grouped(apps, gym_id, "Variant", lambda row: {"code": row.code, "name": row.name})
    recorded = grouped(apps, gym_id, "CriterionVersion", lambda row: row.recorded_at)
    for step in steps:
        text = {name: getattr(step, name) for name in SAME}
        text |= {"angle": step.angle} if step.angle else {}
        text |= {
            "requires": sorted(requires[step.id]),
            "checkpoints": checkpoints[step.id],
            "faults": faults[step.id],
            "variants": variants[step.id],
            "getting_down": step.getting_down or None,
        }
        yield apps.get_model("skills", "StepVersion")(
            gym=step.gym,
            step=step,
            number=1,
            text=json.dumps(text, sort_keys=True, separators=(",", ":"), ensure_ascii=True),
            happened_at=SINCE_EVER,
            recorded_at=min(recorded[step.id], default=timezone.now()),
        )


def fault(row: Any) -> dict[str, object]:  # noqa: ANN401 (a model of the past has no type)
    words = {"code": row.code, "name": row.name, "cue": row.cue}
    return words | {"dangerous": True} if row.dangerous else words


def grouped(
    apps: StateApps, gym_id: UUID, name: str, shape: Callable[[Any], Any], *related: str
) -> defaultdict[UUID, list[Any]]:
    groups: defaultdict[UUID, list[Any]] = defaultdict(list)
    model = apps.get_model("skills", name)
    order = "position" if hasattr(model, "position") else "id"
    for row in model.objects.filter(gym=gym_id).select_related(*related).order_by(order):
        groups[row.step_id].append(shape(row))
    return groups


class Migration(migrations.Migration):
    dependencies = [("skills", "0002_angles_and_step_versions")]

    operations = [
        # Going back leaves the versions: 0002 takes their table away, and coming again skips steps that have one.
        migrations.RunPython(write_first_versions, migrations.RunPython.noop),
    ]

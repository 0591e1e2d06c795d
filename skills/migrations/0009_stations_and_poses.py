"""Say of the steps that came with the project where they are done and which pose they hold.

They could not say so before, so that every step of an older gym reads as done at a high bar and held in no pose. What
a gym has made its own is left alone: a step of another name, measure or set-up, and one saved since it can say so,
whose latest version has a station. What came with the project is spelled out here, since a migration must stay what it was.
"""

import json
from collections.abc import Iterator, Mapping
from typing import Any

from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import StateApps
from django.utils import timezone

from gymtrack.lib.ids import new_id

TUCKED, LEVEL, LIFTED = (90, 120), (90, 0), (150, 0)  # degrees of thighs from straight down, and of knees
CAME_WITH = {  # code: name, measure, station, pose; steps at a high bar without a pose are right as they are
    "pullover-1": ("Tucked hold in a long-arm hang", "hold", "high_bar", TUCKED),
    "pullover-2": ("Straight legs up and held at the bar", "hold", "high_bar", LIFTED),
    "pullover-3": ("Strict pull-up begun by the tuck", "reps", "high_bar", TUCKED),
    "pullover-3a": ("Tucked inverted hang with the floor in reach", "hold", "rings", None),
    "pullover-5a": ("Front support on a low bar", "hold", "low_bar", None),
    "pullover-6": ("Tucked turn over a chest-high bar, pushed from the floor", "reps", "low_bar", None),
    "swing-1": ("Hollow hold on the floor", "hold", "floor", None),
    "swing-2": ("Arch hold on the floor", "hold", "floor", None),
    "l-hold-1": ("Push-down support, heels on the floor", "hold", "floor", None),
    "l-hold-2": ("Tucked support", "hold", "floor", TUCKED),
    "l-hold-3": ("Tucked support with one leg long", "hold", "floor", None),
    "l-hold-4": ("L-hold on handles", "hold", "floor", LEVEL),
    "l-hold-5": ("L-hold on the floor", "hold", "floor", LEVEL),
    "ring-1": ("Ring support hold", "hold", "rings", None),
    "ring-2": ("False-grip hang", "hold", "rings", None),
    "ring-3": ("Strict ring dip", "reps", "rings", None),
    "ring-4": ("False-grip pull to the lower chest", "reps", "rings", None),
    "ring-5": ("Turn on low rings, feet on the floor", "reps", "rings", None),
    "ring-6": ("Slow lowering through the turn", "reps", "rings", None),
    "ring-7": ("Strict ring muscle-up", "reps", "rings", None),
    "skin-1": ("Seated reach behind", "hold", "floor", None),
    "skin-2": ("Roll up to the tucked inverted hang and back", "reps", "rings", None),
    "skin-3": ("Tucked pass-through, feet to a support behind", "reps", "rings", None),
    "skin-4": ("Tucked hang behind", "hold", "rings", None),
    "skin-5": ("Skin the cat, there and back", "reps", "rings", None),
    "toes-1": ("Seated leg lift", "reps", "floor", None),
    "handstand-1": ("Tall plank, shoulders over hands", "hold", "floor", None),
    "handstand-2": ("Pike on a box", "hold", "box", None),
    "handstand-3": ("Wall walk to half height and back", "reps", "floor", None),
    "handstand-4": ("Turn out to the feet from half height", "reps", "floor", None),
    "handstand-5": ("Chest to the wall", "hold", "floor", None),
    "handstand-6": ("Kick-up to heels on the wall", "reps", "floor", None),
}


def say_where_and_how(apps: StateApps, _schema_editor: BaseDatabaseSchemaEditor) -> None:
    versions, now = apps.get_model("skills", "StepVersion"), timezone.now()
    gyms = set()
    for step, latest in as_they_came(apps):
        _, _, station, pose = CAME_WITH[step.code]
        step.station, (step.thigh_degrees, step.knee_degrees) = station, pose or (None, None)
        step.save(update_fields=["station", "thigh_degrees", "knee_degrees"])
        text = {**json.loads(latest.text), "station": station}
        text |= {"pose": {"thigh": pose[0], "knee": pose[1]}} if pose else {}
        versions.objects.create(
            gym_id=step.gym_id,
            step=step,
            number=latest.number + 1,
            text=json.dumps(text, sort_keys=True, separators=(",", ":"), ensure_ascii=True),
            happened_at=now,
            recorded_at=now,
        )
        gyms.add(step.gym_id)
    for gym in apps.get_model("athletes", "Gym").objects.filter(pk__in=gyms):
        gym.rules_stamp = new_id()
        gym.save(update_fields=["rules_stamp"])


def as_they_came(apps: StateApps) -> Iterator[tuple[Any, Any]]:
    """Yield each step that is still what came with the project and says nothing of the two, and its latest version."""
    steps = apps.get_model("skills", "Step").objects.filter(
        code__in=CAME_WITH, station="high_bar", thigh_degrees=None, knee_degrees=None
    )
    for step in steps.prefetch_related("versions"):
        kept = sorted(step.versions.all(), key=lambda version: version.number)
        if (step.name, step.measure) == CAME_WITH[step.code][:2] and kept:
            first, last = json.loads(kept[0].text), json.loads(kept[-1].text)
            if unchanged(first, last):
                yield step, kept[-1]


def unchanged(first: Mapping[str, object], last: Mapping[str, object]) -> bool:
    return "station" not in last and "pose" not in last and first["set_up"] == last["set_up"]


class Migration(migrations.Migration):
    dependencies = [("skills", "0008_class_plans")]

    operations = [
        # Going back leaves what was said: older code reads past it, and coming again skips steps that say it.
        migrations.RunPython(say_where_and_how, migrations.RunPython.noop),
    ]

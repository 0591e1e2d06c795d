"""What nobody in the demo gym can know, for a file: later estimates can be held against it."""

from __future__ import annotations

import json
from dataclasses import asdict

from skills.demo.diary import Diary
from skills.demo.simulation import DemoGym

MODEL = (
    "The reach of one try, over what the step asks, is exp(strength - demand + spread * z) with z standard normal; "
    "strength is that of the day, demand that of the step."
)


def truth_json(played: DemoGym) -> str:
    """Return the latent parameters of each athlete by id, and the demands of the steps, as JSON."""
    truth = {
        "model": MODEL,
        "seed": played.seed,
        "until": str(played.until),
        "demands": {code: drill.demand for code, drill in played.syllabus.drills.items()},
        "athletes": {diary.trainee.id: _athlete(diary) for diary in played.diaries},
    }
    return json.dumps(truth, indent=1, ensure_ascii=True, default=str) + "\n"


def _athlete(diary: Diary) -> dict[str, object]:
    return {
        "number": diary.trainee.number,
        "kind": diary.trainee.role.kind,
        **asdict(diary.trainee.latent),
        "strengths": {str(day): strength for day, strength in diary.strengths},
    }

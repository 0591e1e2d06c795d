"""What the panel of the class page sends, and what stands on the page that comes back."""

import re
import uuid

from tests.factories.skills import step_of


def text_of(response):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def filled(athlete, code="pullover-1", **more):
    """What the panel sends; None leaves a field out."""
    entry = {
        "id": str(uuid.uuid4()),
        "athlete": str(athlete.id),
        "step": str(step_of(athlete.gym, code).id),
        "seconds": "5.2",
        "reps": "1",
        "assistance": "none",
        "variant": "",
        "source": "judged",
        "effort": "",
        "verdict": "clean",
        **more,
    }
    return {name: value for name, value in entry.items() if value is not None}


def send(client, session, entry, **more):
    return client.post(f"/sessions/{session.id}/attempts/", entry, **more)

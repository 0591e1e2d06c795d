"""What services refuse, as errors of the API."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from rest_framework.exceptions import ValidationError

from gymtrack.lib.problems import Conflict
from skills.core.entries import Mistake
from skills.services.attempts import AlreadyVoidError, AttemptRefusedError, IdTakenError
from skills.services.sessions import SessionEndedError
from skills.services.sign_offs import SignOffRefusedError

_FIELD_OF_MISTAKE: Final = {"hold_tenths": "hold_seconds"}


@contextmanager
def refusals_as_problems() -> Iterator[None]:
    """Turn a service's refusal into 422 with every mistake, or into 409."""
    try:
        yield
    except (AttemptRefusedError, SignOffRefusedError) as error:
        raise refused(*error.mistakes) from None
    except (IdTakenError, AlreadyVoidError, SessionEndedError) as error:
        raise Conflict(str(error)) from None


def refused(*mistakes: Mistake) -> ValidationError:
    """Return mistakes as a validation error, each under the name that its field has in the API."""
    sentences: defaultdict[str, list[str]] = defaultdict(list)
    for mistake in mistakes:
        sentences[_FIELD_OF_MISTAKE.get(mistake.field, mistake.field)].append(mistake.sentence)
    return ValidationError(dict(sentences))

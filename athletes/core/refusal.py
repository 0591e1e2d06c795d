"""What a service raises when it will not do what was asked."""

from __future__ import annotations

from typing import ClassVar


class Refusal(Exception):  # noqa: N818 (nothing went wrong: the answer is no)
    """A request that a rule forbids. Its text is a sentence for the person who asked.

    `field` names the form field that the sentence belongs beside; '' means the request as a whole.
    """

    field: ClassVar[str] = ""

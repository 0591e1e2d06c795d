"""Answers read to their end, which closes the file behind them and leaves the test's connection alone."""

from typing import Any

from django.test import Client


def whole(address: str, *, method: str = "get", **headers: str) -> tuple[Any, bytes]:
    """The answer to somebody who is not signed in, and its body as it was sent."""
    answer = getattr(Client(), method)(address, headers=headers)
    return answer, b"".join(answer.streaming_content) if answer.streaming else answer.content


def status_of(address: str) -> int:
    return int(whole(address)[0].status_code)

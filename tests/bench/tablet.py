"""A signed-in tablet on the loopback: one connection that stays open. Standard library alone.

Run as a program it is one of many clients: it reads a job as a line of JSON, says that it is ready, waits for
a second line, sends all forms one after another and answers with how long each one took.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Mapping
from http.client import HTTPConnection, HTTPResponse
from time import perf_counter
from urllib.parse import urlencode

Form = Mapping[str, str]
HTMX = {"HX-Request": "true"}


class Tablet:
    """Gets pages and posts forms with the cookies that it was given."""

    def __init__(self, port: int, cookies: Mapping[str, str]) -> None:
        self._connection = HTTPConnection("127.0.0.1", port, timeout=60)
        self._cookies = dict(cookies)

    def get(self, path: str) -> str:
        """Return a page; raises UnexpectedError for anything but 200."""
        return self._ask("GET", path, 200)[1]

    def post(self, path: str, form: Form, *, expect: int = 303, headers: Mapping[str, str] | None = None) -> str:
        """Send a form with the token against forgery and return where it leads; raises UnexpectedError."""
        body = urlencode({**form, "csrfmiddlewaretoken": self._cookies["csrftoken"]})
        kind = {"Content-Type": "application/x-www-form-urlencoded"}
        return self._ask("POST", path, expect, body, {**kind, **(headers or {})})[0]

    def _ask(
        self, method: str, path: str, expect: int, body: str | None = None, headers: Mapping[str, str] | None = None
    ) -> tuple[str, str]:
        cookie = "; ".join(f"{name}={value}" for name, value in self._cookies.items())
        self._connection.request(method, path, body, {"Cookie": cookie, **(headers or {})})
        response = self._connection.getresponse()
        page = response.read().decode()
        if response.status != expect:
            raise UnexpectedError(method, path, response, page)
        return response.getheader("Location", ""), page


class UnexpectedError(Exception):
    """The server answered something else than it should."""

    def __init__(self, method: str, path: str, response: HTTPResponse, page: str) -> None:
        super().__init__(f"{method} {path} was answered with {response.status}: {page[:2000]}")


def send_all(tablet: Tablet, path: str, forms: Iterable[Form]) -> list[float]:
    """Send forms one after another and return how many seconds each one took."""
    took = []
    for form in forms:
        began = perf_counter()
        tablet.post(path, form)
        took.append(perf_counter() - began)
    return took


def main() -> None:
    """Do the job on standard input."""
    job = json.loads(sys.stdin.readline())
    tablet = Tablet(job["port"], job["cookies"])
    tablet.get("/idle/")
    sys.stdout.write("ready\n")
    sys.stdout.flush()
    sys.stdin.readline()
    began = perf_counter()
    took = send_all(tablet, job["path"], job["forms"])
    json.dump({"began": began, "ended": perf_counter(), "took": took}, sys.stdout)


if __name__ == "__main__":
    main()

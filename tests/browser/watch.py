"""What no page may do while it is looked at: ask another host, break the policy, throw, or complain."""

import re
from urllib.parse import urlsplit

from playwright.sync_api import BrowserContext, ConsoleMessage, Request, WebError

_FAILED_ANSWER = re.compile(r"Failed to load resource: the server responded with a status of (\d+)")
_FORM_CAME_BACK = 422  # by design, with what is wrong; Chromium reports it as an error


class Watch:
    """Notes every misdeed of every page of the contexts that it is set over."""

    def __init__(self, site: str) -> None:
        self.misdeeds: list[str] = []
        self.expected = {_FORM_CAME_BACK}  # a test that asks for an error page adds its status
        self._host = urlsplit(site).netloc

    def over(self, context: BrowserContext) -> None:
        context.on("request", self._note_request)
        context.on("console", self._note_console)
        context.on("weberror", self._note_error)

    def _note_request(self, request: Request) -> None:
        address = urlsplit(request.url)
        if address.scheme in {"http", "https", "ws", "wss"} and address.netloc != self._host:
            self.misdeeds.append(f"asked another host: {request.url}")

    def _note_console(self, message: ConsoleMessage) -> None:
        # A refusal by the content security policy is told here, as an error.
        answer = _FAILED_ANSWER.match(message.text)
        if message.type == "error" and not (answer and int(answer[1]) in self.expected):
            self.misdeeds.append(f"console: {message.text} ({message.location.get('url', '')})")

    def _note_error(self, error: WebError) -> None:
        self.misdeeds.append(f"uncaught: {error.error}")

"""What no page may do while it is looked at: ask another host, break the policy, throw, or complain."""

from urllib.parse import urlsplit

from playwright.sync_api import BrowserContext, ConsoleMessage, Request, WebError

# A form that comes back with what is wrong has this status by design, and Chromium reports it as an error.
_FORM_CAME_BACK = "the server responded with a status of 422"


class Watch:
    """Notes every misdeed of every page of the contexts that it is set over."""

    def __init__(self, site: str) -> None:
        self.misdeeds: list[str] = []
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
        if message.type == "error" and _FORM_CAME_BACK not in message.text:
            self.misdeeds.append(f"console: {message.text} ({message.location.get('url', '')})")

    def _note_error(self, error: WebError) -> None:
        self.misdeeds.append(f"uncaught: {error.error}")

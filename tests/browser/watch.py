"""Listens to a browser context for everything that should never happen on a page."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from playwright.sync_api import BrowserContext, ConsoleMessage, Dialog, Request, Response

# The console repeats a violation in words, but only the event tells of one that a page's own script caught.
REPORT_VIOLATIONS = """
document.addEventListener("securitypolicyviolation", (event) => {
  console.error(`policy: ${event.violatedDirective} refused ${event.blockedURI || "inline"} ${event.sample}`);
});
"""


@dataclass
class Watch:
    """What went wrong in a context, in the order it did.

    expected: HTTP statuses from 400 up that the test means to get; any other is a trouble.
    """

    address: str
    expected: set[int] = field(default_factory=set)
    troubles: list[str] = field(default_factory=list)

    def over(self, context: BrowserContext) -> None:
        """Listen to every page of the context, also those it opens later."""
        context.add_init_script(REPORT_VIOLATIONS)
        context.on("console", self._console)
        context.on("weberror", lambda error: self._note("page error", error.error))
        context.on("request", self._request)
        context.on("requestfailed", self._failed)
        context.on("response", self._response)
        context.on("dialog", self._dialog)

    def _note(self, kind: str, what: object) -> None:
        self.troubles.append(f"{kind}: {what}")

    def _console(self, message: ConsoleMessage) -> None:
        # Chromium says a status twice; `_response` has judged it already.
        repeated = re.search(r"the server responded with a status of \d+", message.text)
        if message.type in {"error", "warning"} and not repeated:
            self._note(f"console {message.type}", message.text)

    def _request(self, request: Request) -> None:
        if not request.url.startswith((self.address + "/", "data:", "blob:")):
            self._note("request elsewhere", request.url)

    def _failed(self, request: Request) -> None:
        # A page that is left while its icon still loads gives that request up; so does a download.
        if request.failure != "net::ERR_ABORTED":
            self._note("failed request", f"{request.url} {request.failure}")

    def _response(self, response: Response) -> None:
        if response.status >= 400 and response.status not in self.expected:
            self._note(f"status {response.status}", f"{response.request.method} {response.url}")

    def _dialog(self, dialog: Dialog) -> None:
        self._note(f"dialog {dialog.type}", dialog.message)
        dialog.dismiss()

"""What every answer carries and every request must satisfy, before any routing."""

from __future__ import annotations

import logging

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import HTMLResponse, PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from lugbook.web.rendering import render

__all__ = ["CONTENT_POLICY", "Guard"]

CONTENT_POLICY = "; ".join(
    (
        "default-src 'none'",
        *(f"{kind}-src 'self'" for kind in ("script", "style", "img", "font")),
        "connect-src 'self'",
        "base-uri 'none'",
        "object-src 'none'",
        "frame-ancestors 'none'",
        "form-action 'self'",
    )
)

_HEADERS = {
    "Content-Security-Policy": CONTENT_POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}

_log = logging.getLogger(__name__)


class Guard:
    """Check the Host of each request, mark each answer, turn a crash into a page.

    A page of another site can point a name of its own at this machine; its browser
    then sends that name as Host. So only our own three names with our port pass.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
        elif scope["type"] == "http":
            await self._answer(scope, receive, send)
        # Anything else is a WebSocket, and there are none: the server refuses it.

    async def _answer(self, scope: Scope, receive: Receive, send: Send) -> None:
        started = False

        async def send_marked(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                _mark(scope, message)
            await send(message)

        if not _host_is_ours(scope):
            refusal = PlainTextResponse(
                "Refused: this page answers only to its own address on this machine.\n",
                status_code=403,
            )
            await refusal(scope, receive, send_marked)
            return
        try:
            await self.app(scope, receive, send_marked)
        except Exception:
            _log.exception("The page at %s could not be made.", scope["path"])
            if started:
                raise
            words = "This page could not be made; the terminal says what went wrong."
            page = HTMLResponse(render("error.html", sentence=words), status_code=500)
            await page(scope, receive, send_marked)


def _mark(scope: Scope, message: Message) -> None:
    headers = MutableHeaders(scope=message)
    headers.update(_HEADERS)
    # Our own files may be kept but are asked for again; what shows a house is not.
    own_file = scope["path"].startswith("/static/")
    headers["Cache-Control"] = "no-cache" if own_file else "no-store"


def _host_is_ours(scope: Scope) -> bool:
    port = scope["server"][1]
    ours = {f"{name}:{port}" for name in ("127.0.0.1", "localhost", "[::1]")}
    given = Headers(scope=scope).getlist("host")
    return len(given) == 1 and given[0] in ours

"""What the workbench refuses before anything is read: other hosts, other origins, other methods."""

from __future__ import annotations

from collections.abc import Iterable, MutableMapping
from typing import TYPE_CHECKING, Any

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Receive, Scope, Send

READING = ("GET", "HEAD")
ALWAYS = {
    "Cache-Control": "no-store",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
}
"""Headers of every answer: nothing is kept, framed, guessed at or read from elsewhere."""


def own_hosts(port: int) -> tuple[str, ...]:
    """Names by which this server is reached; any other is a foreign name led to this address."""
    return tuple(f"{name}:{port}" for name in ("127.0.0.1", "localhost"))


class Guard:
    """Answers only what comes from this machine's own page.

    A page elsewhere cannot name this host (its `Host` is another, also where its name was led to
    the loopback address), and cannot hide where it comes from (`Origin`, `Sec-Fetch-Site`).
    """

    def __init__(self, app: ASGIApp, hosts: Iterable[str]):
        self.app = app
        self.hosts = frozenset(hosts)
        self.origins = frozenset(f"http://{host}" for host in self.hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse, or hand on and add the headers of every answer."""
        if scope["type"] != "http":
            return

        async def send_guarded(message: MutableMapping[str, Any]) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in ALWAYS.items():
                    headers.setdefault(name, value)
            await send(message)

        reason = self._refused(scope["method"], Headers(scope=scope))
        answer = PlainTextResponse(reason, 403) if reason else self.app
        await answer(scope, receive, send_guarded)

    def _refused(self, method: str, headers: Headers) -> str:
        origin, site = headers.get("origin"), headers.get("sec-fetch-site")
        if headers.get("host") not in self.hosts:
            return "this workbench answers to its own address only"
        if origin not in self.origins and not (origin is None and method in READING):
            return "this workbench answers to its own page only"
        if site not in (
            (None, "same-origin", "none") if method in READING else (None, "same-origin")
        ):
            return "this workbench answers to its own page only"
        return ""

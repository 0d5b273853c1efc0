"""Behind a proxy: only the proxy may speak to us, and what it says of its client is believed."""

from __future__ import annotations

from ipaddress import ip_address

from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Receive, Scope, Send
from uvicorn.middleware.proxy_headers import ProxyHeadersMiddleware

from plumeline.web.guard import HEADERS

NOT_THE_PROXY = "This server speaks to its proxy alone.\n"
NO_HTTPS = (
    "The proxy does not say that its client came over https. Let it set X-Forwarded-Proto to the client's scheme, and "
    "send http on to https.\n"
)


class BehindProxy:
    """Lets in what one address sends, as long as its client came over https."""

    def __init__(self, app: ASGIApp, proxy: str) -> None:
        self._proxy = ip_address(proxy)
        # it reads X-Forwarded-For from the right, so that a client can't make up an address of its own
        self._app = ProxyHeadersMiddleware(_OverHttps(app), trusted_hosts=[proxy])  # type: ignore[arg-type]

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request in or not."""
        if scope["type"] == "http" and not self._is_proxy(scope):
            await PlainTextResponse(NOT_THE_PROXY, 403, headers=HEADERS)(scope, receive, send)
            return
        await self._app(scope, receive, send)  # type: ignore[arg-type]

    def _is_proxy(self, scope: Scope) -> bool:
        client = scope.get("client")
        try:
            return client is not None and ip_address(client[0]) == self._proxy
        except ValueError:
            return False


class _OverHttps:
    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http" and scope["scheme"] != "https":
            await PlainTextResponse(NO_HTTPS, 400, headers=HEADERS)(scope, receive, send)
            return
        await self._app(scope, receive, send)

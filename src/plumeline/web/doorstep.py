"""Before the body of a change is read: whether whoever sends it may do that at all."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from fastapi import Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response
from starlette.routing import compile_path
from starlette.types import ASGIApp, Receive, Scope, Send

from plumeline.errors import PlumelineError
from plumeline.web.doors import NotAllowedError, allowed
from plumeline.web.guard import SAFE


class Doorstep:
    """Asks the doors before the body of a change is read; FastAPI reads and checks it before any dependency.

    Without this a stranger would be told what is wrong with their JSON, and megabytes would be read for a 401.
    """

    def __init__(
        self,
        app: ASGIApp,
        *,
        ways: Sequence[tuple[str, Any]],
        refuse: Callable[[Request, NotAllowedError], Response],
    ) -> None:
        """Keep the ways in.

        Args:
            app: what stands behind.
            ways: prefix and route of each, in the order in which they are looked through.
            refuse: makes the answer to who may not.
        """
        self._app = app
        self._refuse = refuse
        self._ways = [
            (compile_path(prefix + route.path)[0], route.methods - SAFE, route.endpoint)
            for prefix, route in ways
        ]

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request on, or answer that it may not."""
        endpoint = self._endpoint(scope) if scope["type"] == "http" else None
        if endpoint is not None:
            request = Request({**scope, "endpoint": endpoint})
            try:
                await run_in_threadpool(allowed, request)
            except NotAllowedError as error:
                await self._refuse(request, error)(scope, receive, send)
                return
            except PlumelineError:
                # the database can't be read: the doors behind will find that too, where it is told as any other error
                pass
        await self._app(scope, receive, send)

    def _endpoint(self, scope: Scope) -> Any:
        """Return what does the change that a request asks for; None where it is none, or there is nothing."""
        if scope["method"] in SAFE:
            return None
        found = (
            endpoint
            for pattern, methods, endpoint in self._ways
            if scope["method"] in methods and pattern.match(scope["path"])
        )
        return next(found, None)

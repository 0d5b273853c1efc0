"""The warm-up: the demo pond is worked through beside the server."""

from __future__ import annotations

from plumeline.stages import sizing as stage
from plumeline.web.warming import warming


def test_the_demo_pond_is_worked_through_beside(monkeypatch):
    """By a thread that nobody waits for, with the demo's own job and basin."""
    real, seen = stage.sizing, []
    monkeypatch.setattr(stage, "sizing", lambda *given, **more: seen.append(real(*given, **more)))
    thread = warming(0.0)
    assert thread.daemon
    thread.join(120)
    assert [len(sized.layout.diffusers) for sized in seen] == [3]

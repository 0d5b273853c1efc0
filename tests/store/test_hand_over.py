"""Phones hand over through a network that loses half of the replies (short form; `make soak` runs 10,000 steps)."""

from __future__ import annotations

from hypothesis import HealthCheck, settings
from tests.hand_over import HandOver

TestHandOver = HandOver.TestCase
TestHandOver.settings = settings(
    max_examples=12, stateful_step_count=30, deadline=None, suppress_health_check=list(HealthCheck)
)

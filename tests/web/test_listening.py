"""Ctrl-C is not lost while the server starts."""

from __future__ import annotations

import signal
import weakref

import pytest

from plumeline.web.listening import Asked


class Kept:
    """Something whose end is called back."""


@pytest.fixture
def asked():
    """Take the signals, and give them back."""
    before = {number: signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM)}
    found = Asked()
    found.listen()
    yield found
    for number, handler in before.items():
        signal.signal(number, handler)


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_ctrl_c_that_python_loses_in_a_callback_is_raised_before_serving(asked, number):
    """Python prints what is raised in a weak reference's callback, as the import system has them, and goes on."""
    asked.check()
    kept = Kept()
    there = weakref.ref(kept, lambda _: signal.raise_signal(number))
    del kept
    assert there() is None
    with pytest.raises(KeyboardInterrupt):
        asked.check()


def test_otherwise_it_is_raised_where_the_main_thread_is(asked):
    """As without it."""
    with pytest.raises(KeyboardInterrupt):
        signal.raise_signal(signal.SIGTERM)

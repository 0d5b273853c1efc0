"""When something was read, though the clock of the phone may be wrong."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Literal

LONGEST_UNSENT = timedelta(days=400)
"""Nobody hands over what is older: a clock that says so was never set."""
AHEAD = timedelta(minutes=5)
"""Nobody hands over what is still to be read; so much is the way of the message and rounding."""


@dataclass(frozen=True)
class Placed:
    """A moment, and how it was found.

    Attributes:
        time: in UTC.
        by: "device" (its clock, mended by the skew that was measured), "gps", or "server" (when it was received).
        words: what is odd about the device's clock; empty when nothing is.
    """

    time: datetime
    by: Literal["device", "gps", "server"]
    words: str = ""


def placed(
    made_at: datetime, server_at: datetime, *, clock_skew_s: float | None, gps_at: datetime | None
) -> Placed:
    """Return when an item was made.

    The device's clock plus what the server's was ahead of it at their last contact; where that can't be (after it
    was received, or longer ago than anybody keeps a reading), the satellites' time; else the time of receipt.

    Args:
        made_at: by the device's clock.
        server_at: when it was received, by the server's clock.
        clock_skew_s: server minus device when they last spoke; None where they never had.
        gps_at: by the satellites, where there was a fix.
    """
    mended = _moved(made_at, clock_skew_s or 0.0)
    if mended is not None and _can_be(mended, server_at):
        return Placed(mended, "device")
    said = f"the device's clock said {made_at.isoformat(timespec='minutes')}"
    if clock_skew_s:
        side = "behind" if clock_skew_s > 0 else "ahead of"
        said += f", {abs(clock_skew_s):.0f} s {side} the server's when they spoke last"
    fix = None if gps_at is None else _moved(gps_at, 0.0)
    if fix is not None and _can_be(fix, server_at):
        return Placed(fix, "gps", f"{said}, which can't be; the satellites' time is taken.")
    return Placed(
        server_at.astimezone(UTC), "server", f"{said}, which can't be; the time of receipt is taken."
    )


def _moved(time: datetime, by_s: float) -> datetime | None:
    try:
        return time.astimezone(UTC) + timedelta(seconds=by_s)
    except OverflowError:
        return None


def _can_be(time: datetime, server_at: datetime) -> bool:
    return server_at - LONGEST_UNSENT <= time <= server_at + AHEAD

"""Times and stretches of time in the words of a refusal or of a ledger line."""

from datetime import datetime

from django.utils import timezone

from labstock.stock.models import QueuedEntry


def clock_time(moment: datetime) -> str:
    """Write a moment with its zone: 25 Nov 2026 14:03 UTC."""
    local = timezone.localtime(moment)
    return f"{local:%d %b %Y %H:%M} {local.tzname()}"


def duration(milliseconds: int) -> str:
    """Write how long something is, to what matters: 24 h 0 min, 12 min, 40 s.

    >>> duration(86_400_000), duration(-720_000), duration(40_000)
    ('24 h', '12 min', '40 s')
    """
    seconds = round(abs(milliseconds) / 1000)
    if seconds < 60:
        return f"{seconds} s"
    hours, minutes = divmod(round(seconds / 60), 60)
    return " ".join(
        part for part in (f"{hours} h" if hours else "", f"{minutes} min" if minutes else "") if part
    )


def clock_words(queued: QueuedEntry) -> str:
    """Say how wrong the device's clock was, where it was wrong by more than clocks are."""
    if not queued.is_clock_wrong:
        return ""
    which = "fast" if queued.clock_error_ms > 0 else "slow"
    return f"its clock was {duration(queued.clock_error_ms)} {which}: the time is corrected"


def sent_words(queued: QueuedEntry) -> str:
    """Say of a ledger line that it came from a device without signal, and what to know about it."""
    words = ["from a device without signal"]
    if queued.owner_id is None:
        words.append("nobody was signed in on it")
    if clock := clock_words(queued):
        words.append(clock)
    return "; ".join(words)

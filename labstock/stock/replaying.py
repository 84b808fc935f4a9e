"""The doubt on what is left as if one line had never been written: the line before it, and all that came since."""

from datetime import datetime
from math import hypot

from labstock.chemistry.remaining import RECEIPT, Band
from labstock.stock.found import MEASURED, band_said, found_by
from labstock.stock.models import Container, Entry, Kind
from labstock.stock.models.container import MILLION


def band_without(container: Container, entry: Entry, at: datetime) -> Band:
    """Return the doubt at a moment once a line is cancelled [container's unit]."""
    lines = list(container.entries.filter(seq__gte=entry.seq - 1).select_related("reverses").order_by("seq"))
    before = lines.pop(0) if lines and lines[0].seq < entry.seq else None
    band = band_said(before.about) if before else Band()
    # a pair that was written since is passed over; a reversal of something older counts
    since = {line.pk for line in lines}
    gone = {entry.pk} | {line.reverses_id for line in lines}
    gone |= {line.pk for line in lines if line.reverses_id in since}
    said = band
    for line in lines:
        line.container = container
        if line.pk not in gone:
            band = _after(container, band, line, said)
        said = band_said(line.about)
    return container.evaporated(band, at)


def _after(container: Container, band: Band, line: Entry, said: Band) -> Band:
    """Return the band after one more line; `said` is what the line before it had said."""
    band = container.evaporated(band, line.done_at, line.after - line.change)
    if line.kind in MEASURED:
        shared = RECEIPT if line.kind == Kind.WEIGHED_BACK else ""
        s = hypot(*_parts(line))
        is_averaged = found_by(line, said).difference.kept > 0
        return band.after_weigh_back(s, shared) if is_averaged else band.replaced_by_weighing(s, shared)
    if line.kind == Kind.STANDS:
        return band
    if line.kind == Kind.REVERSED:
        cancelled = line.reverses
        return band if cancelled is None else band.without_removal(line.device, *_parts(cancelled))
    if line.kind == Kind.EVAPORATED:
        band = band.after_booking_evaporation(-line.change / MILLION)
    return band.after_removal(-line.change / MILLION, line.device, *_parts(line))


def _parts(line: Entry) -> tuple[float, float]:
    """Return the random and the common part of a line's doubt [container's unit]."""
    return line.u_random / MILLION, line.u_common / MILLION

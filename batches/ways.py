"""What else would do when a container has too little: another one, less, later, or a word with the holder."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import ROUND_FLOOR, Decimal

from batches.candidates import Candidate, amount_to_hold
from batches.models import Batch, BatchLine
from batches.pages_when import chance_number, clock_of, held_words, rounded_down
from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import parse_quantity
from labstock.chemistry.uncertain import UFloat
from labstock.stock.codes import show_code
from labstock.stock.models import Reservation
from labstock.stock.models.container import MILLION

MOST_OTHERS = 2
SURE = 0.95


@dataclass(frozen=True)
class Way:
    """One way out: what it is, what it costs, and the button that does it (none: it is only said)."""

    what: str
    why: str
    button: str = ""
    name: str = ""
    value: str = ""
    goes_to: str = ""


@dataclass(frozen=True)
class Ways:
    """Who holds it, how much is free, and the ways out."""

    head: str
    free: str
    ways: tuple[Way, ...]


def ways_for(
    batch: Batch,
    line: BatchLine,
    short: Candidate,
    others: Sequence[Candidate],
    theory: UFloat | None,
    *,
    may_rescale: bool,
) -> Ways:
    """Return what else would do for a line whose container has too little."""
    unit = short.container.unit
    holders = [
        f"{held_words(hold.left, unit)} is held by {_holder(hold, batch)} until {clock_of(hold.session.ends_at)}"
        for hold in short.others
    ]
    left = short.availability
    head = ", ".join(holders) if holders else f"{show_code(short.container.code)} has too little"
    free = rounded_down(left.usable, left.u, unit)
    wanted = held_words(short.need_millionths, unit)
    ways = [_other(line, candidate) for candidate in others if candidate.is_enough][:MOST_OTHERS]
    if may_rescale:
        ways += _less(batch, line, short, theory)
    ways += _later(batch, short)
    ways += [_ask(hold, short, unit) for hold in short.others if hold.session.owner_id != batch.owner_id]
    return Ways(head, f"Free now {free}, wanted {wanted}.", tuple(ways))


def _holder(hold: Reservation, batch: Batch) -> str:
    return f"{hold.session.owner} too" if hold.session.owner_id == batch.owner_id else str(hold.session.owner)


def _other(line: BatchLine, candidate: Candidate) -> Way:
    container = candidate.container
    need = held_words(candidate.need_millionths, container.unit)
    place = f", {container.location}" if container.location else ""
    return Way(
        f"Take {show_code(container.code)} instead",
        f"{need} of it, {chance_number(candidate.probability)} enough: {candidate.why}{place}.",
        "Use it",
        "instead",
        f"{line.position}:{container.pk}",
        "hold",
    )


def _less(batch: Batch, line: BatchLine, short: Candidate, theory: UFloat | None) -> list[Way]:
    scale = scale_that_fits(batch, line, short)
    if scale is None:
        return []
    text, share = scale
    amount = held_words(amount_to_hold(share * _need(short)), short.container.unit)
    gives = ""
    if theory is not None:
        gives = f" Theory {_three_digits(share * theory.n)} instead of {_three_digits(theory.n)}."
    return [
        Way(
            f"Scale to {text} now",
            f"{amount}, enough with {SURE:.0%} or better.{gives}".replace("%", "\u00a0%"),
            "Scale down",
            "scale_to",
            text,
            "plan",
        )
    ]


def _three_digits(mass_g: float) -> str:
    return show(f"{Decimal(f'{mass_g:#.3g}'):f}", "g")


def scale_that_fits(batch: Batch, line: BatchLine, short: Candidate) -> tuple[str, float] | None:
    """Return the largest scale (three digits, rounded down) whose need is surely there, and its share of the old one."""
    sure, need = short.availability.sure, _need(short)
    if line.amount_typed and not line.amount_typed.endswith("mmol"):
        return None  # an amount given outright does not follow the scale
    try:
        typed = parse_quantity(batch.scale)
    except LabError:
        return None
    exactly = typed.value * Decimal(repr(min(sure / need, 1.0))) if need else Decimal(0)
    if exactly <= 0:
        return None
    down = exactly.quantize(Decimal(1).scaleb(exactly.adjusted() - 2), ROUND_FLOOR)
    step = Decimal(1).scaleb(down.adjusted() - 2)
    # the amount held is rounded up, so the last digit may have to give way
    while down > 0 and amount_to_hold(float(down / typed.value) * need) > int(sure * MILLION):
        down -= step
    if down <= 0:
        return None
    return f"{down:f} {typed.unit.symbol}", float(down / typed.value)


def _need(candidate: Candidate) -> float:
    return float(candidate.need.nominal_value) if candidate.need is not None else 0.0


def _later(batch: Batch, short: Candidate) -> list[Way]:
    """Offer to begin when enough of the others' sessions are over."""
    session = batch.session
    if session is None:
        return []
    free = short.availability.usable
    for hold in sorted(short.others, key=lambda hold: hold.session.ends_at):
        free += hold.left / MILLION
        end = hold.session.ends_at
        if free * MILLION >= short.need_millionths and end > session.starts_at:
            return [_move_to(end, session.ends_at - session.starts_at, free, hold, short)]
    return []


def _move_to(end: datetime, length: object, free: float, hold: Reservation, short: Candidate) -> Way:
    clock = clock_of(end)
    return Way(
        f"Start at {clock}",
        f"The hold of {hold.session.owner} ends then. What is not drawn until then is free: "
        f"at most {rounded_down(free, short.availability.u, short.container.unit)}. Hold it then.",
        f"Move to {clock}",
        "move_to",
        end.isoformat(),
        "session",
    )


def _ask(hold: Reservation, short: Candidate, unit: str) -> Way:
    drawn = f", {held_words(hold.drawn, unit)} of it drawn" if hold.drawn else ""
    missing = held_words(amount_to_hold(short.short), unit) if short.short else "some of it"
    return Way(
        f"Ask {hold.session.owner} to let some go",
        f"{missing} would do. Held are {held_words(hold.amount, unit)}{drawn}, "
        f"for {hold.session.title} in {hold.session.place.name}.",
    )

"""Which containers could serve a line of a plan, best first, each with the reason in one line."""

from collections.abc import Callable, Iterable, Mapping, Set
from dataclasses import dataclass
from datetime import date, datetime
from decimal import ROUND_CEILING, Decimal
from functools import partial
from typing import cast

from django.db.models import Case, When
from django.utils import timezone

from batches.models import BatchLine, LineRole
from batches.stoichiometry.lines import LineInput, Role, measures
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity
from labstock.chemistry.uncertain import UFloat, exact, normal
from labstock.stock.actions.amounts import in_ledger_unit
from labstock.stock.models import Container, Reservation, State, Substance
from labstock.stock.models.container import MILLION
from labstock.stock.queries import Availability, availability, holding
from labstock.stock.signs import doubtful
from labstock.stock.strength import effective_purity

# Amounts that follow from the equation are corrected for strength; a solvent is poured as it is.
BY_STRENGTH = (LineRole.REACTANT, LineRole.CATALYST, LineRole.QUENCH)
ENOUGH = 0.95
DIGITS_TO_HOLD = 3
LONG_OPEN_DAYS = 90
# What each dispensing unit is in g, mL, mmol or drops.
BASE = {
    "kg": (1e3, "mass"), "g": (1.0, "mass"), "mg": (1e-3, "mass"),
    "L": (1e3, "volume"), "mL": (1.0, "volume"), "µL": (1e-3, "volume"),
    "mmol": (1.0, "amount"), "drops": (1.0, "drops"),
}  # fmt: skip


@dataclass(frozen=True)
class Candidate:
    """A container that might serve, the amount it would take, and how sure that is."""

    container: Container
    need: UFloat | None
    availability: Availability
    probability: float
    strength_words: str
    warnings: tuple[str, ...]
    why: str
    others: tuple[Reservation, ...]
    yours: Reservation | None

    @property
    def is_offered(self) -> bool:
        """Say whether it can be held at all."""
        return (
            self.need is not None and self.container.state == State.IN_USE and not is_doubtful(self.container)
        )

    @property
    def is_enough(self) -> bool:
        """Say whether the need fits with 95 % certainty."""
        return self.is_offered and self.probability >= ENOUGH

    @property
    def need_millionths(self) -> int:
        """Return the amount to hold [millionths of the container's unit], rounded up to what can be measured."""
        return 0 if self.need is None else amount_to_hold(self.need.nominal_value)

    @property
    def short(self) -> float:
        """Return what is missing from the amount to hold [container's unit]."""
        return max(self.need_millionths / MILLION - self.availability.usable, 0.0)


Picker = Callable[[Container, UFloat], UFloat | None]


def amount_to_hold(need: float) -> int:
    """Return an amount [container's unit] rounded up to three digits, which people can measure [millionths of it]."""
    if need <= 0:
        return 0
    # a hair is taken off so that 38.0 worked out as 38.000000001 stays 38.0
    exactly = Decimal(need * (1 - 1e-9))
    step = Decimal(1).scaleb(exactly.adjusted() - DIGITS_TO_HOLD + 1)
    return max(int(exactly.quantize(step, rounding=ROUND_CEILING) * MILLION), 1)


def candidates_by_line(lines: Iterable[BatchLine], at: datetime) -> dict[int, list[Candidate]]:
    """Return for each line (by position) the containers of its substance, the best to take first.

    The lines come with their reservations prefetched; the rest takes three queries however many lines there are.
    """
    wanted = [line for line in lines if line.substance_id is not None and line.role != LineRole.PRODUCT]
    shelf = Shelf.of((line.substance_id for line in wanted), at)
    return {
        line.position: shelf.candidates(
            line.substance_id or 0,
            partial(amount_from, line),
            {row.pk for row in line.reservations.all()},
        )
        for line in wanted
    }


def candidates_to_hold(substance: Substance, quantity: Quantity, at: datetime) -> list[Candidate]:
    """Return the containers that could give an amount as it is, without any preparation, the best first."""

    def as_it_is(container: Container, fraction: UFloat) -> UFloat | None:
        try:
            return exact(in_ledger_unit(container, quantity) / MILLION)
        except LabError:
            return None

    return Shelf.of([substance.pk], at).candidates(substance.pk, as_it_is, set())


@dataclass(frozen=True)
class Shelf:
    """The containers of some substances as they stand at a moment, with everything promised from them."""

    containers: tuple[Container, ...]
    holds: Mapping[int, list[Reservation]]
    at: datetime

    @classmethod
    def of(cls, substances: Iterable[int | None], at: datetime) -> "Shelf":
        """Look up the containers that still exist, and the live promises on them."""
        containers = tuple(
            Container.objects.filter(substance__in={pk for pk in substances if pk is not None})
            .exclude(state__in=[State.DISPOSED, State.EMPTY])
            .annotate(is_doubtful=Case(When(doubtful(), then=True), default=False))
            .select_related("lot__substance", "substance", "location", "owner_group")
            .prefetch_related("assays")
        )
        holds: dict[int, list[Reservation]] = {}
        query = Reservation.objects.filter(holding(at), container__in=[c.pk for c in containers])
        for hold in query.select_related("session__owner", "session__place", "container").order_by(
            "session__ends_at", "id"
        ):
            holds.setdefault(hold.container_id, []).append(hold)
        return cls(containers, holds, at)

    def candidates(self, substance: int, need_of: Picker, own: Set[int]) -> list[Candidate]:
        """Return the containers of one substance; `own` are the promises that are for this very need."""
        found = [
            self._candidate(container, need_of, own)
            for container in self.containers
            if container.substance_id == substance
        ]
        return sorted(found, key=_order)

    def _candidate(self, container: Container, need_of: Picker, own: Set[int]) -> Candidate:
        today = timezone.localdate(self.at)
        holds = self.holds.get(container.pk, [])
        strength = effective_purity(container, today)
        need = need_of(container, strength.fraction)
        # what this very need holds already is part of what it may take; other promises of the same person are not
        others = [hold for hold in holds if hold.pk not in own]
        left = availability(container, None, holds=others, at=self.at)
        chance = 0.0 if need is None or not container.is_usable else left.probability(need.nominal_value)
        return Candidate(
            container=container,
            need=need,
            availability=left,
            probability=chance,
            strength_words=_strength_words(container, strength.words),
            warnings=tuple(warnings_for(container, today)),
            why=_why(container, need, left, chance),
            others=tuple(others),
            yours=next((hold for hold in holds if hold.pk in own), None),
        )


def is_doubtful(container: Container) -> bool:
    """Say whether a sign put the strength in doubt; only the containers of a shelf know."""
    return bool(getattr(container, "is_doubtful", False))


def _strength_words(container: Container, words: str) -> str:
    if is_doubtful(container):
        return "strength in doubt"
    lot = container.lot
    return f"{lot.concentration_mol_per_L:g} mol/L" if lot and lot.concentration is not None else words


def amount_from(line: BatchLine, container: Container, fraction: UFloat) -> UFloat | None:
    """Return how much of this container the line takes [container's unit], or None if a number is missing."""
    stored = line_input(line, container, fraction)
    if line.role in BY_STRENGTH and line.amount_mmol:
        portion = measures(stored, exact(line.amount_mmol), "amount")
    elif line.dispense:
        value, dimension = BASE[line.dispense_unit]
        portion = measures(stored, exact(line.dispense * value), dimension)
    else:
        return None
    return {"g": portion.mass_g, "mL": portion.volume_mL}.get(container.unit)


def line_input(line: BatchLine, container: Container | None, fraction: UFloat) -> LineInput:
    """Return the line with the numbers of one container: its strength, its lot's density or concentration."""
    lot = container.lot if container else None
    substance = line.substance
    return LineInput(
        key=str(line.position),
        name=line.name,
        role=cast(Role, line.role),
        molar_mass_g_per_mol=_molar_mass(line),
        fraction=fraction,
        density_g_per_mL=lot.density if lot else (substance.density if substance else None),
        concentration_mol_per_L=lot.concentration if lot else None,
    )


def _molar_mass(line: BatchLine) -> UFloat | None:
    if line.molar_mass_g_per_mol is None:
        return None
    return normal(line.molar_mass_g_per_mol, line.molar_mass_u_g_per_mol or 0.0)


def warnings_for(container: Container, on: date) -> Iterable[str]:
    """Yield what a person should know before taking from it."""
    if container.state != State.IN_USE:
        because = f": {container.state_because}" if container.state_because else ""
        yield f"{container.get_state_display()}{because}"
    lot = container.lot
    if lot and lot.expires_on and lot.expires_on < on:
        yield f"expired {lot.expires_on:%d %b %Y}"
    if lot and lot.retest_on and lot.retest_on < on:
        yield f"retest was due {lot.retest_on:%d %b %Y}"
    substance = container.substance
    if substance and container.opened_on:
        days = (on - container.opened_on).days
        if substance.is_moisture_sensitive and days > LONG_OPEN_DAYS:
            yield f"takes up water; opened {days} days ago"
        if substance.is_peroxide_former and days > LONG_OPEN_DAYS:
            yield f"forms peroxides; opened {days} days ago: test before you heat it"


def _why(container: Container, need: UFloat | None, left: Availability, chance: float) -> str:
    if not container.is_usable:
        return "not offered"
    if is_doubtful(container):
        return "not offered: its strength is in doubt until it is assayed"
    if need is None:
        return "not offered: no density or molar mass to work the amount out"
    if chance < ENOUGH:
        return "not surely enough" if need.nominal_value <= left.usable else "too little is free"
    reasons = ["already open" if container.is_opened else "sealed: would break a seal"]
    if container.ends_on:
        reasons.append(f"ends {container.ends_on:%d %b %Y}")
    return ", ".join(reasons)


def _order(candidate: Candidate) -> tuple[object, ...]:
    """First expired first out with lab sense: held for you, enough, opened, ends soon, smallest that does."""
    container = candidate.container
    return (
        candidate.yours is None,
        not candidate.is_offered,
        not candidate.is_enough,
        bool(candidate.warnings),
        not container.is_opened,
        container.ends_on or date.max,
        container.remaining,
        container.number,
    )

"""Everything a batch record's page shows, gathered in a few queries."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Prefetch
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import SafeString

from batches.digests import digest
from batches.models import Batch, BatchInput, BatchLine, BatchState, LineRole, Observation
from batches.pages_amounts import Amounts, amounts_of
from batches.queries import Filled, earlier_yields, filled_from
from batches.results import Shared, actual_from, dispensed, inputs_of, is_reversed
from batches.retained.models import RetainedSample
from batches.stoichiometry.plan import Actual
from batches.stoichiometry.yields import ExpectedRange, expected_range, yield_problem
from labstock.chemistry.display import show
from labstock.chemistry.drawing import draw
from labstock.chemistry.errors import LabError
from labstock.chemistry.uncertain import UFloat, normal
from labstock.look.drawing.flow import Vessel
from labstock.look.pictures import content_of
from labstock.people.models import User
from labstock.people.roles import Act, may
from labstock.stock.codes import show_code
from labstock.stock.models import Container, Reservation
from labstock.stock.models.container import MILLION

LATE_MINUTES = 10


@dataclass(frozen=True)
class Answer:
    """What the page says first."""

    sign: str
    word: str
    why: tuple[str, ...]


@dataclass(frozen=True)
class YieldPart:
    """The yield, what it rests on, and what is missing."""

    percent: UFloat
    product_g: UFloat
    purity: str
    pure_g: UFloat
    theory_g: UFloat
    missing_g: UFloat
    missing_percent: UFloat
    limiting: str
    usual: ExpectedRange
    problem: str


@dataclass(frozen=True)
class Species:
    """One substance of the equation, drawn where its structure is known."""

    line: BatchLine
    drawn: SafeString


@dataclass(frozen=True)
class Outcoming:
    """A container that product went into, or a portion of it put aside."""

    container: Container
    name: str
    url: str
    is_sample: bool

    @property
    def capacity(self) -> float:
        """Return the size [container's unit]."""
        return self.container.capacity / MILLION


@dataclass(frozen=True)
class Happening:
    """One thing in the order it happened: an observation, or a draw."""

    at: datetime
    number: int | None
    who: str
    text: str
    observation: Observation | None = None
    draw: BatchInput | None = None
    is_struck: bool = False
    recorded_late_at: datetime | None = None
    is_on_the_day: bool = True


@dataclass(frozen=True)
class RecordPage:
    """One batch, as one person sees it now."""

    batch: Batch
    answer: Answer
    outcome: YieldPart | None
    left: tuple[Species, ...]
    right: tuple[Species, ...]
    beside: tuple[str, ...]
    amounts: Amounts
    happenings: tuple[Happening, ...]
    went_in: tuple[Vessel, ...]
    came_out: tuple[Vessel, ...]
    out: tuple[Outcoming, ...]
    not_put_away_g: float
    digest: str
    is_as_finished: bool
    may_write: bool
    may_lead: bool

    @property
    def can_put_aside(self) -> bool:
        """Say whether a portion can be taken from what was made."""
        return self.may_write and any(not row.is_sample and row.container.remaining > 0 for row in self.out)

    @property
    def changes(self) -> int:
        """Return how many draws were reversed and how many notes were added after the finish."""
        added = sum(h.observation.is_addition for h in self.happenings if h.observation is not None)
        return added + sum(h.is_struck for h in self.happenings)

    @property
    def middle(self) -> str:
        """Return what stands in the middle of the flow."""
        return f"Batch {self.batch.number}"

    @property
    def when(self) -> tuple[datetime, datetime | None]:
        """Return from when to when it was worked on."""
        return self.batch.started_at or self.batch.planned_at, self.batch.finished_at


def record_page(batch: Batch, person: User) -> RecordPage:
    """Gather the page."""
    lines = list(batch.lines.select_related("substance").prefetch_related(_holds()))
    rows = inputs_of(batch)
    standing = [row for row in rows if not is_reversed(row.entry)]
    went_in = actual_from(lines, standing, Shared())
    filled = filled_from(batch)
    samples = list(batch.retained_samples.select_related("container__location", "container__substance"))
    observations = list(batch.observations.select_related("by"))
    outcome = _outcome(batch, lines, went_in)
    is_leader = batch.owner_id == person.pk or may(person, Act.CORRECT)
    put_away_g = sum(one.mass_ug for one in filled) / MILLION
    return RecordPage(
        batch=batch,
        answer=_answer(batch, lines, standing, observations, outcome),
        outcome=outcome,
        left=tuple(_species(line) for line in lines if line.role == LineRole.REACTANT),
        right=tuple(_species(line) for line in lines if line.role == LineRole.PRODUCT),
        beside=tuple(_beside(line) for line in lines if line.role in (LineRole.SOLVENT, LineRole.CATALYST)),
        amounts=amounts_of(batch, lines, rows, went_in),
        happenings=_happenings(batch, observations, rows),
        went_in=_went_in(standing),
        came_out=_came_out(filled, samples),
        out=_out(filled, samples),
        not_put_away_g=round(max((batch.product_mass_g or 0) - put_away_g, 0.0), 6),
        digest=" ".join(batch.digest[i : i + 4] for i in range(0, 12, 4)),
        is_as_finished=not batch.digest or digest(batch) == batch.digest,
        may_write=may(person, Act.WRITE_BATCH),
        may_lead=may(person, Act.WRITE_BATCH) and is_leader,
    )


def _holds() -> Prefetch:
    return Prefetch("reservations", Reservation.objects.select_related("container"))


def _outcome(batch: Batch, lines: Sequence[BatchLine], went_in: Actual) -> YieldPart | None:
    if batch.yield_percent is None or batch.product_mass_g is None or batch.theoretical_g is None:
        return None
    percent = normal(batch.yield_percent, batch.yield_u_percent or 0)
    product = normal(batch.product_mass_g, batch.product_mass_u_g or 0)
    theory = normal(batch.theoretical_g, batch.theoretical_u_g or 0)
    limiting = next((line.name for line in lines if line.position == batch.limiting_line), "not known")
    amount = went_in.limiting_amount_mmol
    return YieldPart(
        percent=percent,
        product_g=product,
        purity=purity_words(batch),
        pure_g=product * (batch.product_percent or 0) / 100,
        theory_g=theory,
        # theory less product, by the yield: the two share what the yield rests on
        missing_g=theory.nominal_value * (100 - percent) / 100,
        missing_percent=100 - percent,
        limiting=f"{limiting}, {show(amount, 'mmol')}" if amount is not None else limiting,
        usual=expected_range(earlier_yields(batch)),
        problem=yield_problem(percent),
    )


def purity_words(batch: Batch) -> str:
    """Say how pure the product is, and when nobody measured it."""
    if batch.product_percent is None:
        return "purity not known"
    if not batch.product_percent_u:
        return (
            "counted as pure, not measured"
            if batch.product_percent == 100
            else f"{batch.product_percent:g}\u00a0%"
        )
    return show(batch.product_percent, "%", batch.product_percent_u)


def _answer(
    batch: Batch,
    lines: Sequence[BatchLine],
    standing: Sequence[BatchInput],
    observations: Sequence[Observation],
    outcome: YieldPart | None,
) -> Answer:
    departures = sum(1 for seen in observations if seen.is_departure)
    apart = (f"{_many(departures, 'departure')} from the plan, written down below",) if departures else ()
    if outcome is not None:
        return Answer(
            "yes",
            f"{show(outcome.product_g, 'g')}, {show(outcome.percent, '%')} of theory",
            (*_why(outcome), *apart),
        )
    if batch.state == BatchState.ABANDONED:
        last = next((seen.text for seen in reversed(observations) if not seen.is_addition), "")
        return Answer("no", "Abandoned", ((last, *apart) if last else apart))
    wanted = [line for line in lines if line.role != LineRole.PRODUCT and line.dispense]
    have = {row.line_id for row in standing}
    missing = [line.name for line in wanted if line.pk not in have]
    if batch.state == BatchState.PLANNED and not standing:
        return Answer("ask", "Planned: nothing is in yet", apart)
    word = f"Running: {len(wanted) - len(missing)} of {len(wanted)} lines are in"
    if not missing:
        return Answer("limit", word, ("All lines are in: write down the product to finish", *apart))
    return Answer("limit", word, (f"Still to come: {', '.join(missing)}", *apart))


def _why(outcome: YieldPart) -> tuple[str, ...]:
    verdict = outcome.usual.verdict(outcome.percent)
    said = {
        "as expected": f"Inside what this preparation gave before: {outcome.usual.words}",
        "low": f"Lower than this preparation gave before: {outcome.usual.words}",
        "high": f"Higher than this preparation gave before: {outcome.usual.words}",
    }.get(verdict, "")
    unmeasured = (
        "The purity was not measured: the yield is an upper limit" if "not measured" in outcome.purity else ""
    )
    return tuple(words for words in (outcome.problem, said, unmeasured) if words)


def _many(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def _species(line: BatchLine) -> Species:
    smiles = line.substance.smiles if line.substance else ""
    try:
        return Species(line, SafeString(draw(smiles, 130, 96, line.name) if smiles else ""))
    except LabError:
        return Species(line, SafeString())  # the record is worth more than the picture


def _out(filled: Sequence[Filled], samples: Sequence[RetainedSample]) -> tuple[Outcoming, ...]:
    made = [
        Outcoming(one.container, one.container.name, reverse("container", args=[one.container.code]), False)
        for one in filled
    ]
    kept = [
        Outcoming(row.container, row.name, reverse("sample", args=[row.container.code]), True)
        for row in samples
    ]
    return tuple(made + kept)


def _beside(line: BatchLine) -> str:
    if line.dispense is None:
        return line.name
    return f"{line.name}, {show(float(f'{line.dispense:.3g}'), line.dispense_unit)}"


def _happenings(
    batch: Batch, observations: Sequence[Observation], rows: Sequence[BatchInput]
) -> tuple[Happening, ...]:
    """Put observations and draws in the order they happened; only observations are counted."""
    day = timezone.localdate(batch.started_at or batch.planned_at)
    seen = [
        Happening(
            row.at, number, row.by.short_name, row.text, observation=row,
            recorded_late_at=_late(row.at, row.recorded_at), is_on_the_day=timezone.localdate(row.at) == day,
        )
        for number, row in enumerate(observations, 1)
    ]  # fmt: skip
    drawn = [
        Happening(
            row.entry.done_at, None, row.entry.by.short_name, _drawn_words(row), draw=row,
            is_struck=is_reversed(row.entry), recorded_late_at=_late(row.entry.done_at, row.entry.recorded_at),
            is_on_the_day=timezone.localdate(row.entry.done_at) == day,
        )
        for row in rows
    ]  # fmt: skip
    return tuple(sorted(seen + drawn, key=lambda happening: happening.at))


def _late(at: datetime, recorded_at: datetime) -> datetime | None:
    """Return when it was written down, where that was noticeably later."""
    return recorded_at if (recorded_at - at).total_seconds() > 60 * LATE_MINUTES else None


def _drawn_words(row: BatchInput) -> str:
    amount, unit = dispensed(row.entry, Shared())
    name = row.line.name if row.line else row.entry.container.name
    return f"{name}, {show(float(f'{amount.nominal_value:.6g}'), unit)}"


def _went_in(standing: Sequence[BatchInput]) -> tuple[Vessel, ...]:
    """Return each container once, with the sum of what came from it."""
    taken: dict[int, dict[str, float]] = {}
    containers: dict[int, Container] = {}
    for row in standing:
        container = row.entry.container
        containers[container.pk] = container
        amount, unit = dispensed(row.entry, Shared())
        sums = taken.setdefault(container.pk, {})
        sums[unit] = sums.get(unit, 0.0) + amount.nominal_value
    return tuple(
        vessel_of(container, _sums(taken[pk]), reverse("container", args=[container.code]))
        for pk, container in containers.items()
    )


def _sums(sums: dict[str, float]) -> str:
    return " + ".join(show(float(f"{amount:.6g}"), unit) for unit, amount in sums.items())


def _came_out(filled: Sequence[Filled], samples: Sequence[RetainedSample]) -> tuple[Vessel, ...]:
    made = [
        vessel_of(one.container, show(one.container.received / MILLION, one.container.unit),
                  reverse("container", args=[one.container.code]))
        for one in filled
    ]  # fmt: skip
    kept = [
        vessel_of(row.container, show(row.container.received / MILLION, row.container.unit),
                  reverse("sample", args=[row.container.code]), f"Kept: {row.name}")
        for row in samples
    ]  # fmt: skip
    return tuple(made + kept)


def vessel_of(container: Container, amount: str, url: str, name: str = "") -> Vessel:
    """Return a container as the flow draws it."""
    content = content_of(
        container.capacity / MILLION, container.amount, container.doubt.u, container.heel / MILLION,
        unit=container.unit,
    )  # fmt: skip
    return Vessel(name or container.name, show_code(container.code), amount, container.vessel, content, url)


def when_words(batch: Batch) -> str:
    """Return the day a batch was made on, for the middle of the flow."""
    day = timezone.localtime(batch.finished_at or batch.started_at or batch.planned_at)
    return f"{day.day} {day:%b %Y}"


def get_batch(number: str) -> Batch | None:
    """Return a batch with what its page shows of people and places."""
    return Batch.objects.select_related("owner__group", "session__place").filter(number=number).first()

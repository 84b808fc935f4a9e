"""Everything one retained sample's page shows."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from batches.models import Batch
from batches.queries import filled_from
from batches.results import standing_inputs
from batches.retained.ages import age_range, order_words
from batches.retained.edtf import EdtfDate, Suggestion, day_words, read_edtf, suggest_edtf
from batches.retained.forms import NOBODY_KNOWS
from batches.retained.label_cautions import LabelCaution, cautions_of
from batches.retained.models import ConditionCheck, ProvenanceNote, RetainedSample
from batches.retained.queries import others_of_the_substance
from batches.retained.tables import age_words, date_words
from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.people.roles import Act, may
from labstock.stock.models import Container, Entry, Kind, State
from labstock.stock.models.container import MILLION
from labstock.stock.search_text import normalised

Subject = ProvenanceNote.Subject
YEARS_WITHOUT_PAPER = 3  # a gap worth showing; our choice


@dataclass(frozen=True)
class Answer:
    """Where it is, and whether it may be opened."""

    sign: str
    word: str
    why: tuple[str, ...]


@dataclass(frozen=True)
class DatePart:
    """The date as far as it is understood."""

    edtf: EdtfDate | None
    words: str
    bounds: str
    age: str
    is_about: bool
    suggestions: tuple[Suggestion, ...]


@dataclass(frozen=True)
class Link:
    """One statement in the chain, or (with a text alone) a stretch nobody can speak for."""

    note: ProvenanceNote | None
    when: str
    gap: str = ""

    @property
    def is_lost(self) -> bool:
        """Say whether nothing but somebody's word stands behind it."""
        return self.note is not None and not self.note.evidence


@dataclass(frozen=True)
class Other:
    """Another sample of the same substance, and which of the two is older."""

    sample: RetainedSample
    date: str
    age: str
    order: str


@dataclass(frozen=True)
class SamplePage:
    """One sample, as one person sees it now."""

    sample: RetainedSample
    answer: Answer
    cautions: tuple[LabelCaution, ...]
    amount: str
    capacity: str
    ownership: str
    date: DatePart
    label_lines: tuple[str, ...]
    readings: tuple[ProvenanceNote, ...]
    chain: tuple[Link, ...]
    owners: tuple[Link, ...]
    behind: tuple[Container, ...]
    products: tuple[Container, ...]
    others: tuple[Other, ...]
    checks: tuple[ConditionCheck, ...]
    next_look: str
    may_write: bool
    may_look: bool

    @property
    def container(self) -> Container:
        """Return the vessel it is in."""
        return self.sample.container

    @property
    def size(self) -> float:
        """Return the capacity [container's unit]."""
        return self.container.capacity / MILLION

    @property
    def drawn_amount(self) -> float | None:
        """Return the amount to draw; None draws the question mark."""
        return None if self.amount == NOBODY_KNOWS else self.container.amount


def sample_page(sample: RetainedSample, person: User) -> SamplePage:
    """Gather the page."""
    today, container = timezone.localdate(), sample.container
    notes = list(sample.provenance.select_related("by"))
    cautions = tuple(cautions_of(normalised(f"{sample.name} {sample.label_as_written}")))
    behind, products = _batch_side(sample.batch)
    return SamplePage(
        sample=sample,
        answer=_answer(sample, cautions),
        cautions=cautions,
        amount=_amount(container),
        capacity=show(container.capacity / MILLION, container.unit),
        ownership=_owner(sample, notes),
        date=_date_part(sample, today),
        label_lines=tuple(line for line in sample.label_as_written.strip().splitlines() if line.strip()),
        readings=tuple(note for note in notes if note.subject == Subject.READING),
        chain=_chain(note for note in notes if note.subject not in (Subject.OWNERSHIP, Subject.READING)),
        owners=_chain(note for note in notes if note.subject == Subject.OWNERSHIP),
        behind=behind,
        products=products,
        others=tuple(_other(sample, other) for other in others_of_the_substance(sample)),
        checks=tuple(sample.checks.select_related("by").order_by("-at", "-id")),
        next_look=_next_look(sample, today),
        may_write=may(person, Act.WRITE_BATCH),
        may_look=may(person, Act.WRITE_BATCH) and container.state != State.DISPOSED,
    )


def next_look(today: date) -> date:
    """Return the day a year on: look at least once a year (21 CFR 211.170(b)); the last of February for the 29th."""
    is_leap_day = (today.month, today.day) == (2, 29)
    return today.replace(year=today.year + 1, day=28 if is_leap_day else today.day)


def _next_look(sample: RetainedSample, today: date) -> str:
    """Say when to look at it again."""
    if sample.review_on is None:
        return "no day set"
    day = f"{sample.review_on.day} {sample.review_on:%b %Y}"
    return f"{day}: due" if sample.review_on <= today else day


def _answer(sample: RetainedSample, cautions: Sequence[LabelCaution]) -> Answer:
    container = sample.container
    place = container.location.path if container.location else "Place not known"
    because = (container.state_because,) if container.state_because else ()
    if container.state == State.DISPOSED:
        return Answer("no", "Disposed of", because)
    if container.state == State.NOT_SEEN:
        return Answer("ask", f"Not seen where it should be: {place}", because)
    if cautions:
        return Answer("stop", f"{place}. Do not open it, do not move it", because)
    if container.state == State.BLOCKED:
        return Answer("stop", f"{place}. Blocked", because)
    if container.state == State.EMPTY:
        return Answer("no", f"{place}. Empty", because)
    if sample.batch_id is None:
        return Answer("limit", f"{place}. Look, do not open", ("No batch record of its time is here",))
    return Answer("yes", place, ())


def _amount(container: Container) -> str:
    """Say how much is in it; nobody knows, until somebody weighs or counts it, if nobody knew when it came."""
    measured = (Kind.WEIGHED_BACK, Kind.COUNTED)
    lines = list(
        Entry.objects.filter(container=container, kind__in=[Kind.RECEIVED, *measured]).order_by("seq")
    )
    if lines and lines[-1].kind == Kind.RECEIVED and lines[-1].typed == NOBODY_KNOWS:
        return NOBODY_KNOWS
    return show(container.amount, container.unit, container.doubt.u)


def _owner(sample: RetainedSample, notes: Iterable[ProvenanceNote]) -> str:
    """Say whose it is: the newest statement, else, for what was made here, the group; having it is not owning it."""
    rows = sorted((note for note in notes if note.subject == Subject.OWNERSHIP), key=_moment)
    if rows:
        return rows[-1].text
    group = sample.container.owner_group
    return str(group) if sample.batch_id is not None and group is not None else ""


def _date_part(sample: RetainedSample, today: date) -> DatePart:
    if not sample.date_edtf:
        found = tuple(suggest_edtf(sample.date_as_written)[:4]) if sample.date_as_written else ()
        return DatePart(None, date_words(sample), "", age_words(sample), False, found)
    edtf = read_edtf(sample.date_edtf)
    is_about = edtf.is_approximate or edtf.is_uncertain
    return DatePart(edtf, edtf.words, _bounds(edtf), _age(edtf, today), is_about, ())


def _age(edtf: EdtfDate, today: date) -> str:
    try:
        return age_range(edtf, today).words
    except LabError as error:
        return error.message


def _bounds(edtf: EdtfDate) -> str:
    first, last = edtf.earliest, edtf.latest
    if first and last:
        return day_words(first) if first == last else f"{day_words(first)} to {day_words(last)}"
    if last:
        return f"no later than {day_words(last)}"
    return f"no earlier than {day_words(first)}" if first else "none"


def _chain(notes: Iterable[ProvenanceNote]) -> tuple[Link, ...]:
    """Put statements in the order of what they speak of, with the stretches between that nobody can show."""
    links: list[Link] = []
    last_year: int | None = None
    for note in sorted(notes, key=_moment):
        edtf = _read(note.date_edtf)
        first = edtf.earliest if edtf else None
        if first and last_year is not None and first.year - last_year >= YEARS_WITHOUT_PAPER:
            links.append(Link(None, "", f"{first.year - last_year} years, no paper"))
        links.append(Link(note, edtf.words if edtf else "date not known"))
        if edtf and edtf.latest:
            last_year = edtf.latest.year
    return tuple(links)


def _moment(note: ProvenanceNote) -> tuple[bool, date, int]:
    edtf = _read(note.date_edtf)
    day = (edtf.earliest or edtf.latest) if edtf else None
    return (day is None, day or date.max, note.pk)


def _read(text: str) -> EdtfDate | None:
    return read_edtf(text) if text else None


def _batch_side(batch: Batch | None) -> tuple[tuple[Container, ...], tuple[Container, ...]]:
    """Return the containers that went into a sample's batch, and those its product is in."""
    if batch is None:
        return (), ()
    behind = {row.entry.container_id: row.entry.container for row in standing_inputs(batch)}
    return tuple(behind.values()), tuple(filled.container for filled in filled_from(batch))


def _other(sample: RetainedSample, other: RetainedSample) -> Other:
    order = ""
    if sample.date_edtf and other.date_edtf:
        order = order_words(read_edtf(other.date_edtf), read_edtf(sample.date_edtf))
    return Other(other, date_words(other), age_words(other), order)

"""One line of a plan with the containers that could serve it, in the words of the page."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.utils import timezone

from batches.candidates import Candidate
from batches.drafts import composition_of
from batches.models import Batch, BatchLine, LineRole
from batches.pages_when import chance_number, chance_words, held_words, rounded_down
from batches.stoichiometry.lines import Plan
from batches.ways import Ways, ways_for
from labstock.chemistry.errors import LabError
from labstock.stock.codes import show_code
from labstock.stock.models.container import MILLION


@dataclass(frozen=True)
class CandidateRow:
    """One container for a line, in the words of the page."""

    candidate: Candidate
    capacity: float
    mine: float
    need: float
    need_words: str
    usable: str
    chance: str
    chance_word: str
    age: str
    is_chosen: bool
    may_choose: bool


@dataclass(frozen=True)
class NeedRow:
    """One line of the plan with the containers that could serve it."""

    line: BatchLine
    state: str
    candidates: tuple[CandidateRow, ...]
    ways: Ways | None
    may_be: tuple[str, ...]
    short: str = ""

    @property
    def is_held(self) -> bool:
        """Say whether the amount is promised to this line."""
        return self.state == "held"

    @property
    def is_covered(self) -> bool:
        """Say whether the amount is held or surely there."""
        return self.state in ("held", "covered")

    @property
    def holder(self) -> CandidateRow | None:
        """Return the container that holds the amount, if one does."""
        return next((row for row in self.candidates if row.candidate.yours), None)

    @property
    def leaves_out(self) -> bool:
        """Say whether nothing is chosen for it."""
        return not any(row.is_chosen for row in self.candidates)

    @property
    def is_counted(self) -> bool:
        """Say whether its amount of substance matters: a solvent or a washing is poured as it is."""
        return self.line.role in (LineRole.REACTANT, LineRole.CATALYST, LineRole.QUENCH)

    @property
    def mmol(self) -> tuple[float | None, float | None]:
        """Return the amount of substance with its doubt [mmol]."""
        return self.line.amount_mmol, self.line.amount_u_mmol

    @property
    def equivalents(self) -> tuple[float | None, float | None]:
        """Return the equivalents with their doubt [mol/mol]."""
        return self.line.equivalents, self.line.equivalents_u

    @property
    def amount(self) -> tuple[float | None, float | None]:
        """Return the amount to dispense with its doubt [`unit`]; by the strength of the container that holds it."""
        holder = self._weighed_holder
        if holder is not None and holder.candidate.need is not None:
            return holder.candidate.need.nominal_value, holder.candidate.need.std_dev
        return self.line.dispense, self.line.dispense_u

    @property
    def unit(self) -> str:
        """Return the unit of `amount`."""
        holder = self._weighed_holder
        return holder.candidate.container.unit if holder is not None else self.line.dispense_unit

    @property
    def _weighed_holder(self) -> CandidateRow | None:
        """Return the holder, unless the line is counted in drops or came out of this very container's numbers."""
        holder = self.holder
        if holder is None or self.line.dispense_unit == "drops":
            return None
        code = show_code(holder.candidate.container.code)
        return None if code in self.line.fraction_from else holder


def need_row(
    batch: Batch,
    line: BatchLine,
    candidates: Sequence[Candidate],
    plan: Plan | None,
    by_composition: Mapping[str, list[str]],
    refusal: LabError | None,
    chosen: Mapping[int, int] | None,
    may_rescale: bool,
) -> NeedRow:
    """Return a line with its containers, which one is preselected, and the ways out where it is short."""
    state = _state(line, candidates)
    pick = (chosen or {}).get(line.position) if chosen is not None else _first_choice(candidates, state)
    short = _short_one(candidates, state, refusal)
    ways = None
    if short is not None:
        others = [candidate for candidate in candidates if candidate is not short]
        theory = plan.theoretical_mass_g if plan else None
        ways = ways_for(batch, line, short, others, theory, may_rescale=may_rescale)
    # a line that is held needs no choice any more
    shown = [candidate for candidate in candidates if candidate.yours or state != "held"]
    may_be = () if line.substance_id else tuple(by_composition.get(composition_of(line.formula), ()))
    return NeedRow(
        line=line,
        state=state,
        candidates=tuple(candidate_row(candidate, pick, state) for candidate in shown),
        ways=ways,
        may_be=may_be,
        short=held_words(round(short.short * MILLION), short.container.unit) if short and short.short else "",
    )


def _state(line: BatchLine, candidates: Sequence[Candidate]) -> str:
    """Say where a line stands: held, covered, doubtful, short, none, unlisted, or no amount."""
    if any(candidate.yours for candidate in candidates):
        return "held"
    if line.dispense is None:
        return "no amount"
    if line.substance_id is None:
        return "unlisted"
    offered = [candidate for candidate in candidates if candidate.is_offered]
    if not offered:
        return "none"
    if any(candidate.is_enough and not candidate.short for candidate in offered):
        return "covered"
    return "doubtful" if any(not candidate.short for candidate in offered) else "short"


def _first_choice(candidates: Sequence[Candidate], state: str) -> int | None:
    """Return the container to preselect: the best that has enough by the book."""
    if state not in ("covered", "doubtful"):
        return None
    fit = [candidate for candidate in candidates if candidate.is_offered and not candidate.short]
    return next((c.container.pk for c in fit if c.is_enough), fit[0].container.pk if fit else None)


def _short_one(candidates: Sequence[Candidate], state: str, refusal: LabError | None) -> Candidate | None:
    """Return the container to offer ways around: the one refused just now, or the first of a line that is short."""
    refused = refusal.parts.get("container") if refusal is not None else None
    for candidate in candidates:
        if candidate.container.pk == refused and state != "held":
            return candidate
    if state not in ("short", "doubtful"):
        return None
    return next((candidate for candidate in candidates if candidate.is_offered), None)


def candidate_row(candidate: Candidate, pick: int | None, state: str) -> CandidateRow:
    """Return one container in the words of the page; `pick` is the one preselected."""
    container, left = candidate.container, candidate.availability
    need = candidate.need_millionths / MILLION
    return CandidateRow(
        candidate=candidate,
        capacity=container.capacity / MILLION,
        mine=candidate.yours.left / MILLION if candidate.yours else 0.0,
        need=need,
        need_words=held_words(candidate.need_millionths, container.unit) if need else "",
        usable=rounded_down(left.usable, left.u, container.unit),
        chance=chance_number(candidate.probability) if candidate.is_offered else "no",
        chance_word=chance_words(candidate.probability) if candidate.is_offered else "",
        age=_age(candidate),
        is_chosen=container.pk == pick,
        may_choose=candidate.is_offered and state != "held",
    )


def _age(candidate: Candidate) -> str:
    opened = candidate.container.opened_on
    if opened is None:
        return "sealed"
    days = (timezone.localdate() - opened).days
    since = "today" if days == 0 else f"{days} day{'s' if days != 1 else ''} ago"
    return f"opened {opened.day} {opened:%b %Y}, {since}"

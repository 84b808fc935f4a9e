"""Everything the page of one plan shows, gathered in a few queries."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from django.utils import timezone
from django.utils.safestring import SafeString

from batches.candidates import candidates_by_line
from batches.drafts import composition_of
from batches.forms_plan import LineFormSet, ReplanForm, line_initial
from batches.models import Batch, BatchLine, BatchState, LineRole
from batches.pages_needs import NeedRow, need_row
from batches.pages_when import in_words, span_of
from batches.planning import plan_of
from batches.queries import earlier_yields, largest_made_mmol
from batches.stoichiometry.lines import Plan
from labstock.chemistry.display import show
from labstock.chemistry.equation import totals
from labstock.chemistry.errors import LabError
from labstock.chemistry.formula import parse_formula
from labstock.chemistry.structure import draw
from labstock.people.models import User
from labstock.people.roles import Act, may
from labstock.stock.models import HoldState, Substance, Synonym

MOST_NAMES = 3000
SCALE_UP_TO_ASK = 3
PICTURE = (150, 100)


@dataclass(frozen=True)
class EquationPart:
    """One species of the drawn equation."""

    line: BatchLine
    coefficient: str
    picture: SafeString


@dataclass(frozen=True)
class PlanPage:
    """One plan, as one person sees it now."""

    batch: Batch
    plan: Plan | None
    lines: Sequence[BatchLine]
    rows: Sequence[NeedRow]
    left: Sequence[EquationPart]
    right: Sequence[EquationPart]
    conserved: str
    theory: str
    form: ReplanForm
    line_forms: LineFormSet  # type: ignore[valid-type]
    names: Sequence[str]
    is_yours: bool
    is_in_use: bool
    is_over: bool
    may_change: bool
    may_hold: bool
    larger: str
    refusal: LabError | None = None

    @property
    def sign(self) -> str:
        """Return the sign of the answer."""
        return _answer(self)[0]

    @property
    def word(self) -> str:
        """Return the answer."""
        return _answer(self)[1]

    @property
    def lines_wrong(self) -> bool:
        """Say whether a line was refused."""
        return bool(self.line_forms.is_bound and not self.line_forms.is_valid())  # type: ignore[attr-defined]

    @property
    def is_partly_held(self) -> bool:
        """Say whether some lines are held and others are not."""
        held = sum(row.is_held for row in self.rows)
        return 0 < held < len(self.rows)

    @property
    def beside(self) -> int:
        """Return how many lines stand beside the equation."""
        return sum(not line.coefficient for line in self.lines)

    @property
    def opens_lines(self) -> bool:
        """Say whether the lines beside the equation want a look."""
        has_gap = any(row.state == "no amount" and not row.line.coefficient for row in self.rows)
        return self.lines_wrong or has_gap

    @property
    def to_hold(self) -> int:
        """Return how many lines could be held now."""
        return sum(row.state in ("covered", "doubtful") for row in self.rows)

    @property
    def hold_words(self) -> str:
        """Return what the button does."""
        if self.to_hold == len(self.rows):
            return "Hold all" if self.to_hold > 1 else "Hold it"
        return f"Hold the {in_words(self.to_hold)} free line{'s' if self.to_hold != 1 else ''}"


def get_plan(number: str) -> Batch | None:
    """Return a batch with what its plan's page shows, or None."""
    if "\0" in number:
        return None
    return (
        Batch.objects.select_related("owner__group", "session__place", "session__owner")
        .prefetch_related("lines__substance", "lines__reservations")
        .filter(number=number)
        .first()
    )


def plan_page(
    batch: Batch,
    person: User,
    *,
    form: ReplanForm | None = None,
    line_forms: LineFormSet | None = None,  # type: ignore[valid-type]
    refusal: LabError | None = None,
    chosen: Mapping[int, int] | None = None,
    at: datetime | None = None,
) -> PlanPage:
    """Gather the page; refused forms and choices come back as they were sent."""
    now = at or timezone.now()
    lines = list(batch.lines.all())
    plan = _plan(batch, lines)
    names, by_composition = _names()
    may_change = (
        batch.is_open
        and (batch.owner_id == person.pk or may(person, Act.CORRECT))
        and may(person, Act.RESERVE)
    )
    is_over = batch.session is None or batch.session.ends_at <= now or batch.session.cancelled_at is not None
    found = candidates_by_line(lines, now)
    is_in_use = batch.state != BatchState.PLANNED or any(
        row.drawn or (row.state == HoldState.HELD and not is_over)
        for line in lines
        for row in line.reservations.all()
    )
    rows = [
        need_row(
            batch, line, found.get(line.position, []), plan, by_composition, refusal, chosen, not is_in_use
        )
        for line in lines
        if line.role != LineRole.PRODUCT
    ]
    line_forms = line_forms or LineFormSet(prefix="line", initial=line_initial(lines))
    for row_form, line in zip(line_forms, lines, strict=False):
        row_form.line = line
    equation_lines = [line for line in lines if line.coefficient]
    return PlanPage(
        batch=batch,
        plan=plan,
        lines=lines,
        rows=rows,
        left=[_part(line) for line in equation_lines if line.role == LineRole.REACTANT],
        right=[_part(line) for line in equation_lines if line.role == LineRole.PRODUCT],
        conserved=_conserved(equation_lines),
        theory=_theory(batch, plan),
        form=form or ReplanForm(lines=lines, initial={**vars(batch), "seen": lines[0].pk if lines else None}),
        line_forms=line_forms,
        names=names,
        is_yours=batch.owner_id == person.pk,
        is_in_use=is_in_use,
        is_over=is_over,
        may_change=may_change,
        may_hold=may_change and not is_over,
        larger=_larger(batch, plan),
        refusal=refusal,
    )


def _plan(batch: Batch, lines: Sequence[BatchLine]) -> Plan | None:
    """Work the plan out of its saved lines; one that was written down without a scale has none."""
    try:
        return plan_of(lines, scale=batch.scale, scale_line=batch.scale_line)
    except LabError:
        return None


def _names() -> tuple[list[str], dict[str, list[str]]]:
    """Return the names on the list for typing, and the substances of each composition."""
    substances = list(Substance.objects.order_by("name").values_list("name", "formula")[:MOST_NAMES])
    by_composition: dict[str, list[str]] = {}
    for name, formula in substances:
        if formula:
            by_composition.setdefault(composition_of(formula), []).append(name)
    return [name for name, _ in substances], by_composition


def names_to_type() -> list[str]:
    """Return the names and synonyms on the list, for the boxes that take one."""
    names = set(Substance.objects.values_list("name", flat=True)[:MOST_NAMES])
    return sorted(names | set(Synonym.objects.values_list("name", flat=True)[:MOST_NAMES]))


def _part(line: BatchLine) -> EquationPart:
    coefficient = "" if line.coefficient == "1" else line.coefficient
    picture = ""
    if line.substance and line.substance.smiles:
        try:
            picture = draw(line.substance.smiles, *PICTURE, line.name)
        except LabError:  # a structure that cannot be drawn is shown by its formula
            picture = ""
    return EquationPart(line, coefficient, SafeString(picture))


def _conserved(lines: Sequence[BatchLine]) -> str:
    """Say what stands on both sides: C 10, H 13, N 1, O 3."""
    side = totals(
        (parse_formula(line.formula), Fraction(line.coefficient))
        for line in lines
        if line.role == LineRole.REACTANT and line.formula
    )
    charge = side.pop("charge", Fraction(0))
    parts = [f"{element} {number}" for element, number in sorted(side.items())]
    if charge:
        parts.append(f"charge {'+' if charge > 0 else '−'}{abs(charge)}")
    return ", ".join(parts)


def _theory(batch: Batch, plan: Plan | None) -> str:
    if plan is None or plan.theoretical_mass_g is None:
        return ""
    words = f"Theory {show(plan.theoretical_mass_g, 'g')}"
    yields = earlier_yields(batch)
    if not yields:
        return f"{words}."
    low, high = min(yields), max(yields)
    span = f"{low:.0f}" if round(low) == round(high) else f"{low:.0f} to {high:.0f}"
    return f"{words}; earlier runs gave {span}\u00a0% of it."


def _larger(batch: Batch, plan: Plan | None) -> str:
    """Say when this is much more than the person made before; whoever never made it is told so by nothing."""
    largest = largest_made_mmol(batch) if plan is not None else None
    now = plan.limiting_amount_mmol.n if plan is not None else 0.0
    if not largest or now <= SCALE_UP_TO_ASK * largest:
        return ""
    return f"{now / largest:.1f} times the largest you have made of it ({largest:.3g}\u00a0mmol)"


def _answer(page: PlanPage) -> tuple[str, str]:
    session, rows = page.batch.session, page.rows
    if not page.batch.is_open:
        return "no", f"This batch is {page.batch.get_state_display()}: its plan stays as it was"
    if not rows:
        return "empty", "Nothing to take: the plan has no lines yet"
    if session is None:
        return "ask", "Worked out, but for no session yet: say when and where"
    if page.is_over:
        return "ask", "The session is over and holds nothing any more: choose another time"
    covered = sum(row.is_covered for row in rows)
    refused = next((row for row in rows if page.refusal and row.ways and row.short and row.is_covered), None)
    if refused is not None:
        return (
            "limit",
            f"Not held: {refused.line.name} is {refused.short} short in that bottle; another has enough",
        )
    if covered == len(rows):
        if all(row.is_held for row in rows):
            return "yes", f"Held for {'you' if page.is_yours else session.owner} {span_of(session)}"
        return "yes", "The line is covered: hold it" if covered == 1 else "All lines are covered: hold them"
    return _lacking(covered, rows)


def _lacking(covered: int, rows: Sequence[NeedRow]) -> tuple[str, str]:
    open_rows = [row for row in rows if not row.is_covered]
    real = [row for row in open_rows if row.state != "unlisted"]
    so_far = _so_far(covered, len(rows))
    if not real:
        names = _and([row.line.name for row in open_rows])
        verb = "is" if len(open_rows) == 1 else "are"
        return ("limit" if covered else "ask"), f"{so_far}; {names} {verb} not on the substance list"
    if len(real) > 1:
        words = "" if not covered else f"; {_and([row.line.name for row in real])} are not"
        return ("limit" if covered else "ask"), so_far + words
    row = real[0]
    what = {
        "short": f"is {row.short} short",
        "doubtful": "is not surely enough",
        "none": "is not on the shelf",
        "no amount": "has no amount yet",
    }[row.state]
    return "limit", f"{so_far}; {row.line.name} {what}"


def _so_far(covered: int, of: int) -> str:
    if not covered:
        return "The line is not covered" if of == 1 else f"None of {in_words(of)} lines is covered"
    return (
        f"{in_words(covered).capitalize()} of {in_words(of)} lines {'is' if covered == 1 else 'are'} covered"
    )


def _and(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"

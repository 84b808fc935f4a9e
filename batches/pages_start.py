"""What the page behind "Reserve" shows: the two ways in, filled with whatever is known already."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from batches.candidates import Candidate, candidates_to_hold
from batches.drafts import Draft
from batches.finding import Wanted, find_wanted, understand
from batches.forms_plan import HoldForm, PrepareForm
from batches.models import Batch
from batches.pages_needs import CandidateRow, candidate_row
from batches.pages_plan import names_to_type
from batches.planning import drafts_of
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import parse_quantity
from labstock.people.models import User
from labstock.stock.models import Container, Substance

MOST_AGAIN = 5


@dataclass(frozen=True)
class StartPage:
    """The two forms, what they are filled with, and what the second may choose from."""

    prepare: PrepareForm
    hold: HoldForm
    is_hold_first: bool
    candidates: Sequence[CandidateRow]
    names: Sequence[str]
    again: Sequence[Batch]
    zone: str
    refusal: LabError | None = None


def start_page(
    person: User,
    asked: Mapping[str, str],
    *,
    prepare: PrepareForm | None = None,
    hold: HoldForm | None = None,
    refusal: LabError | None = None,
) -> StartPage:
    """Gather the page; a refused form comes back as it was sent."""
    asked = {name: text.replace("\0", "") for name, text in asked.items()}
    words = understand(asked.get("q", ""))
    about = _asked_for(asked)
    before = Batch.objects.filter(number=asked.get("again", "")).first() or _made_before(words.title, person)
    fill_prepare = {"title": words.title, "equation": words.equation, "scale": words.scale}
    if before is not None:
        fill_prepare = _again(before, words.scale)
    fill_hold = {"what": about or words.what, "amount": words.amount}
    is_hold_first = hold is not None or (prepare is None and bool(fill_hold["what"]))
    hold_form = hold or HoldForm(prefix="hold", person=person, initial=fill_hold)
    return StartPage(
        prepare=prepare or PrepareForm(person=person, initial=fill_prepare),
        hold=hold_form,
        is_hold_first=is_hold_first,
        candidates=_candidates(str(hold_form["what"].value() or ""), str(hold_form["amount"].value() or "")),
        names=names_to_type(),
        again=_lately(person),
        zone=timezone.localtime().tzname() or "",
        refusal=refusal,
    )


def drafts_again(said: Mapping[str, Any]) -> list[Draft]:
    """Return the drafts of a preparation; one made again brings its other lines while its equation is the same."""
    drafts: list[Draft] = said["drafts"]
    before = Batch.objects.filter(number=said.get("again") or "").first()
    if before is None or before.equation != said["equation"]:
        return drafts
    return drafts_of(before.lines.select_related("substance"))


def _asked_for(asked: Mapping[str, str]) -> str:
    """Return the code or the name that an address asks for."""
    if asked.get("container"):
        container = Container.objects.filter(code=asked["container"]).first()
        return container.code if container else asked["container"]
    if asked.get("substance", "").isdecimal():
        substance = Substance.objects.filter(pk=int(asked["substance"][:12])).first()
        return substance.name if substance else ""
    return ""


def _again(before: Batch, scale: str) -> dict[str, str]:
    """Return what a preparation made before fills in; a scale that was asked for goes before its own."""
    line = before.lines.filter(position=before.scale_line).first()
    named = f"{before.scale} {line.name}" if line and before.scale_line != 1 else before.scale
    return {
        "title": before.title,
        "equation": before.equation,
        "scale": scale or named,
        "again": before.number,
    }


def _made_before(title: str, person: User) -> Batch | None:
    """Return the latest batch of this title, the person's own before other people's."""
    if not title:
        return None
    rows = Batch.objects.filter(title__iexact=title).exclude(equation="").order_by("-planned_at", "-id")
    return rows.filter(owner=person).first() or rows.first()


def _lately(person: User) -> list[Batch]:
    """Return the latest preparations of a person, one of each title."""
    rows = (
        Batch.objects.filter(owner=person)
        .exclude(equation="")
        .order_by("-planned_at", "-id")[: 8 * MOST_AGAIN]
    )
    latest: dict[str, Batch] = {}
    for row in rows:
        latest.setdefault(row.title.casefold(), row)
    return list(latest.values())[:MOST_AGAIN]


def _candidates(what: str, amount: str) -> list[CandidateRow]:
    """Return the containers to choose from, once substance and amount are known."""
    try:
        wanted: Wanted = find_wanted(what) if what else Wanted()
        quantity = parse_quantity(amount, allow_zero=False) if amount else None
    except LabError:
        return []
    if wanted.substance is None or quantity is None:
        return []
    found: Sequence[Candidate] = candidates_to_hold(wanted.substance, quantity, timezone.now())
    if wanted.container is not None:
        found = [candidate for candidate in found if candidate.container == wanted.container]
    best = next((c.container.pk for c in found if c.is_offered and not c.short), None)
    return [candidate_row(candidate, best, "covered") for candidate in found]

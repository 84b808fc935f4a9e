"""From the lines of a plan's form to drafts: what the equation says, with what was typed beside it."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from batches.drafts import Draft, composition_of, substance_called, substances_of
from batches.forms_plan import LineForm, ReplanForm
from batches.models import Batch, BatchLine
from batches.planning import drafts_of
from labstock.chemistry.errors import LabError
from labstock.chemistry.formula import parse_formula


def drafts_from(
    batch: Batch, lines: Sequence[BatchLine], form: ReplanForm, line_forms: Any
) -> list[Draft] | None:
    """Return the plan's drafts, or None after writing what is wrong at the line it belongs to."""
    in_equation = [line for line in lines if line.coefficient]
    rows = list(line_forms)
    is_same = form.cleaned_data["equation"] == batch.equation
    drafts = [
        _with_typed(draft, _row_of(draft, number if is_same else None, in_equation, rows))
        for number, draft in enumerate(form.cleaned_data["drafts"])
    ]
    drafts += [beside(**row.cleaned_data) for row in rows[len(in_equation) :] if row.cleaned_data.get("name")]
    return None if any(row.errors for row in rows) else drafts


def _row_of(
    draft: Draft, place: int | None, lines: Sequence[BatchLine], rows: Sequence[LineForm]
) -> LineForm | None:
    """Return the form of the line a draft continues: the same place, or after another equation the same substance."""
    pairs = list(zip(lines, rows, strict=False))
    if place is not None:
        return pairs[place][1] if place < len(pairs) else None
    composition = composition_of(draft.formula)
    found = (
        row
        for line, row in pairs
        if line.role == draft.role and composition and composition_of(line.formula) == composition
    )
    return next(found, None)


def _with_typed(draft: Draft, row: LineForm | None) -> Draft:
    if row is None:
        return draft
    said = row.cleaned_data
    draft = replace(draft, equivalents=said["equivalents"], amount=said["amount"])
    name = said["name"].strip()
    if not name or name.casefold() in (draft.name.casefold(), draft.formula.casefold()):
        return draft
    substance = substance_called(name)
    if substance is None:
        return replace(draft, name=name, substance=None)
    if composition_of(substance.formula) != composition_of(draft.formula):
        row.add_error(
            "name",
            f"{substance.name} is {substance.formula or 'without a formula'}, and the equation has {draft.formula} "
            f"here: choose another, or change the equation.",
        )
    return replace(draft, name=substance.name, substance=substance)


def check_unchanged(lines: Sequence[BatchLine], said: dict[str, Any], drafts: Sequence[Draft]) -> None:
    """Refuse a form opened before somebody else changed the plan; the same change sent twice is let through."""
    is_seen = not lines or said.get("seen") in (None, lines[0].pk)
    if not is_seen and list(drafts) != drafts_of(lines):
        raise LabError(
            "changed-meanwhile",
            "This plan was worked out again after you opened this page: look at it as it is now, "
            "then send yours again if it is still right.",
        )


def beside(role: str, name: str, equivalents: str = "", amount: str = "") -> Draft:
    """Return a line beside the equation; a name or a formula on the list brings its substance."""
    substance = substance_called(name)
    if substance is None:
        try:
            known = substances_of(parse_formula(name))
        except LabError:
            known = []
        substance = known[0] if len(known) == 1 else None
    formula = substance.formula if substance else ""
    return Draft(
        role or "other",
        substance.name if substance else name.strip(),
        formula,
        substance,
        None,
        equivalents,
        amount,
    )

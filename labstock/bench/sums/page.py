"""The page of one subject: its forms as they were filled in or prefilled, and the answer to the one that was asked."""

from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import QueryDict

from labstock.bench.sums.fields import Typed
from labstock.bench.sums.subjects import Part, Subject
from labstock.bench.sums.worked import Worked
from labstock.chemistry.errors import LabError


@dataclass(frozen=True)
class Filled:
    """One part with its form as it is to be shown."""

    part: Part
    form: forms.Form
    is_asked: bool


@dataclass(frozen=True)
class SumPage:
    """What the template shows."""

    subject: Subject
    parts: tuple[Filled, ...]
    worked: Worked | None = None
    refusal: str = ""
    taken_as_exact: str = ""

    @property
    def is_refused(self) -> bool:
        """Say whether something was asked and could not be answered."""
        return bool(self.refusal) or any(each.form.errors for each in self.parts)

    @property
    def sign(self) -> str:
        """Return the sign of the answer."""
        return self.worked.sign if self.worked else "no"


def sum_page(subject: Subject, query: QueryDict) -> SumPage:
    """Fill in the forms from the address, and answer the one that was asked."""
    asked = subject.part(query.get("ask", ""))
    try:
        filled = [_filled(part, query, part is asked) for part in subject.parts]
    except LabError as error:
        plain = tuple(Filled(part, _form(part), False) for part in subject.parts)
        return SumPage(subject, plain, refusal=error.message)
    filled.sort(key=lambda each: not each.is_asked)
    first = filled[0]
    worked = _answer(first) if first.is_asked else None
    return SumPage(
        subject, tuple(filled), worked, taken_as_exact=_taken_as_exact(first.form) if worked else ""
    )


def _taken_as_exact(form: forms.Form) -> str:
    """Name the amounts typed without ±: the doubt of the result does not hold theirs."""
    typed = [value for value in form.cleaned_data.values() if isinstance(value, Typed)]
    sure = [each.name for each in typed if each.quantity.u is None and not each.quantity.unit.device]
    return ", ".join(sure)


def _answer(filled: Filled) -> Worked | None:
    if not filled.form.is_valid():
        return None
    try:
        return filled.part.work(filled.form.cleaned_data)
    except LabError as error:
        filled.form.add_error(None, error.message)
        return None


def _filled(part: Part, query: QueryDict, is_asked: bool) -> Filled:
    initial: dict[str, Any] = {}
    if not is_asked:
        for name, start in (("container", part.from_container), ("batch", part.from_batch)):
            if start is not None and query.get(name):
                initial |= start(query.get(name, ""))
    return Filled(part, _form(part, _with_defaults(part, query) if is_asked else None, initial), is_asked)


def _form(part: Part, data: QueryDict | None = None, initial: dict[str, Any] | None = None) -> forms.Form:
    return part.form(data, initial=initial or {}, auto_id=f"{part.key}-%s")


def _with_defaults(part: Part, query: QueryDict) -> QueryDict:
    """Give what the address leaves out its usual value, so that a short link is enough."""
    data = query.copy()
    for name, field in part.form().fields.items():
        if name in data or isinstance(field, forms.MultipleChoiceField):
            continue
        if field.initial is not None:
            data[name] = str(field.initial)
        elif isinstance(field, forms.ChoiceField) and field.required:
            data[name] = next(str(value) for value, _ in field.choices)  # type: ignore[union-attr, misc]  # flat lists
    return data

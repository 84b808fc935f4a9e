"""What a person does at a container. Each act is one form, one action, one sentence back."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from labstock.bench import forms, forms_deeds
from labstock.bench.actions import (
    USE,
    WEIGH,
    book_on_another,
    can_be_booked_on_another,
    record_act,
    record_otherwise,
)
from labstock.bench.memory import keep_habit
from labstock.bench.pages.after import cut_into, line_words, said_after, stands_and_is
from labstock.bench.pages.record import open_batches
from labstock.bench.views.container import show_container
from labstock.bench.views.finding import at_container
from labstock.bench.views.performing import Deed, Outcome, perform, person_of
from labstock.chemistry.errors import LabError
from labstock.people.roles import Act, requires
from labstock.stock.actions import keeping, ledger, reversing
from labstock.stock.actions.assays import record_assay
from labstock.stock.codes import show_code
from labstock.stock.models import Container, Entry, Kind, State
from labstock.stock.opening import is_cold, opening_note
from labstock.stock.places import misfit

HOLDS_STAY_GONE = "What was held in it for sessions was let go with it: hold it anew."


@requires(Act.DRAW)
@at_container
def use(request: HttpRequest, container: Container) -> HttpResponse:
    """Record the one number, from whichever field it is in."""
    if request.method != "POST":
        return redirect("container", code=container.code)
    person = person_of(request)
    if "more" in request.POST:
        typed = forms.UseForm(
            initial=request.POST.dict(), container=container, person=person, batches=open_batches(person)
        )
        return show_container(request, container, typed, status=200)
    form = forms.UseForm(request.POST, container=container, person=person, batches=open_batches(person))
    if not form.is_valid():
        return show_container(request, container, form)
    try:
        entry = _record(form)
    except LabError as error:
        form.add_error(None, error.message)
        container.refresh_from_db()
        return show_container(request, container, form, error)
    said = form.cleaned_data
    keep_habit(request, container.unit, **form.used())
    _say(request, entry, warn_of_holds=not said["is_by_mass"])
    return redirect("container", code=container.code)


def _record(form: forms.UseForm) -> Entry:
    said = form.cleaned_data
    return record_act(
        container=form.container,
        act=said["what"] or (WEIGH if said["is_by_mass"] else USE),
        amount=said["quantity"],
        device_code=said["device_code"],
        doing=form.doing(),
        batch=said.get("batch"),
    )


def _say(request: HttpRequest, entry: Entry, *, warn_of_holds: bool = True) -> None:
    messages.success(request, said_after(entry))
    cut = cut_into(entry.container, person_of(request)) if warn_of_holds else ""
    if cut:
        messages.warning(request, cut)


@requires(Act.DRAW)
@at_container
@require_POST
def undo_line(request: HttpRequest, container: Container, seq: int) -> HttpResponse:
    """Take back one's own line within the minute; later, offer the reversal with a reason."""
    entry = get_object_or_404(container.entries.select_related("container"), seq=seq)
    form = forms.ActForm(request.POST, container=container, person=person_of(request))
    try:
        if not form.is_valid():
            raise LabError("form-broken", forms.BROKEN)
        _say(request, reversing.undo(entry=entry, doing=form.doing()), warn_of_holds=False)
        if entry.kind == Kind.DISPOSED:
            messages.warning(request, HOLDS_STAY_GONE)
    except LabError as error:
        messages.error(request, error.message)
    return redirect("container", code=container.code)


@requires(Act.DRAW)
@at_container
def reverse_line(request: HttpRequest, container: Container, seq: int) -> HttpResponse:
    """Ask for the reason, then write the line that cancels the other."""
    entry = get_object_or_404(container.entries.select_related("container"), seq=seq)
    deed = Deed(
        f"Reverse line {seq}",
        "Reverse it",
        forms_deeds.ReverseForm if can_be_booked_on_another(entry) else forms_deeds.ReasonForm,
        lambda form: _reverse(entry, form),
        note=line_words(entry),
    )
    return perform(request, container, deed)


def _reverse(entry: Entry, form: forms.ActForm) -> Outcome:
    other = form.cleaned_data.get("other")
    if other is None:
        return Outcome(said_after(reversing.reverse(entry=entry, doing=form.doing())))
    line = book_on_another(entry=entry, other=other, doing=form.doing())
    words = f"Line {entry.seq} of {show_code(entry.container.code)} is reversed, and booked here: {said_after(line)}"
    return Outcome(words, caution=cut_into(line.container, form.person), at=line.container)


@requires(Act.DRAW)
@at_container
def loss(request: HttpRequest, container: Container) -> HttpResponse:
    """Record what was spilt, purged, evaporated, poured away or broken, or that there is more than booked."""

    def do(form: forms.ActForm) -> str:
        said = form.cleaned_data
        entry = record_otherwise(
            container=container,
            kind=Kind(said["kind"]),
            amount=said["amount"],
            device_code=said["device"],
            doing=form.doing(),
        )
        return f"{said_after(entry)} {cut_into(entry.container, form.person)}".strip()

    deed = Deed("Lost, or more than booked", "Record it", forms_deeds.LossForm, do)
    return perform(request, container, deed)


@requires(Act.DRAW)
@at_container
def found(request: HttpRequest, container: Container) -> HttpResponse:
    """Record that more is in it than the book says."""

    def do(form: forms.ActForm) -> str:
        said = form.cleaned_data
        return said_after(
            ledger.found_more(
                container=container, amount=said["amount"], device_code=said["device"], doing=form.doing()
            )
        )

    return perform(request, container, Deed("Found more than booked", "Record it", forms_deeds.FoundForm, do))


@requires(Act.DRAW)
@at_container
def move_here(request: HttpRequest, container: Container) -> HttpResponse:
    """Say where it stands now."""

    def do(form: forms.ActForm) -> Outcome:
        to, before_opening = form.cleaned_data["to"], opening_note(container)
        moved = keeping.move(container=container, to=to, doing=form.doing())
        wrong = misfit(moved, to)
        cautions = [wrong.words if wrong else "", "" if is_cold(to) else before_opening]
        return Outcome(f"It stands in {to} now.", caution=" ".join(filter(None, cautions)))

    return perform(request, container, Deed("Move", "It stands here now", forms_deeds.MoveForm, do))


@requires(Act.DRAW)
@at_container
def state(request: HttpRequest, container: Container) -> HttpResponse:
    """Block it, free it, say it was not seen or is empty."""

    def do(form: forms.ActForm) -> str:
        to = State(form.cleaned_data["to"])
        return f"It is {keeping.change_state(container=container, to=to, doing=form.doing()).get_state_display()} now."

    return perform(request, container, Deed("May it be used?", "Say so", forms_deeds.StateForm, do))


@requires(Act.DRAW)
@at_container
@require_POST
def undo_change(request: HttpRequest, container: Container, pk: int) -> HttpResponse:
    """Take back one's own word on place or state within the minute."""
    change = get_object_or_404(container.state_changes.select_related("container", "by"), pk=pk)
    form = forms.ActForm(request.POST, container=container, person=person_of(request))
    try:
        if not form.is_valid():
            raise LabError("form-broken", forms.BROKEN)
        back = keeping.undo_change(change=change, doing=form.doing())
        messages.success(request, f"Taken back: {stands_and_is(back)}.")
    except LabError as error:
        messages.error(request, error.message)
    return redirect("container", code=container.code)


@requires(Act.CORRECT)
@at_container
def dispose_of(request: HttpRequest, container: Container) -> HttpResponse:
    """Write off what is left and close the ledger."""

    def do(form: forms.ActForm) -> str:
        keeping.dispose(container=container, doing=form.doing())
        return "Disposed of. Its record stays, and its holds were let go."

    note = "What is left is written off, holds are let go, and nothing can be drawn any more. The record stays for ever."
    return perform(
        request, container, Deed("Dispose of it", "Dispose of it", forms_deeds.DisposeForm, do, note=note)
    )


@requires(Act.DRAW)
@at_container
def assay(request: HttpRequest, container: Container) -> HttpResponse:
    """Record a measured strength."""

    def do(form: forms.ActForm) -> str:
        said = form.cleaned_data
        row = record_assay(
            container=container,
            percent=float(said["percent"]),
            expanded=float(said["expanded"]),
            method=said["method"],
            measured_on=said["measured_on"],
            doing=form.doing(),
        )
        return f"{row} recorded: amounts are worked out by it from now on."

    return perform(request, container, Deed("Enter an assay", "Record the assay", forms_deeds.AssayForm, do))

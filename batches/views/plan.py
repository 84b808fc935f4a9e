"""Reserve: say what you make, work it out, hold all of it in one act."""

from typing import cast

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from batches import reserving
from batches.actions import plans
from batches.drafts_typed import check_unchanged, drafts_from
from batches.forms_plan import HoldForm, LineFormSet, PrepareForm, ReplanForm, WhenForm, line_initial
from batches.models import Batch
from batches.pages_plan import get_plan, plan_page
from batches.pages_start import drafts_again, start_page
from batches.pages_when import held_words
from batches.planning import drafts_of
from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.people.roles import Act, requires
from labstock.stock.actions.reservations import lapse_due
from labstock.stock.codes import show_code
from labstock.stock.models import Container, Reservation

LONGEST_KEY = 19  # digits; a longer number is no row of any table


@requires(Act.RESERVE)
def start(request: HttpRequest) -> HttpResponse:
    """Plan a preparation and its session, or just hold an amount."""
    lapse_due()
    person = cast(User, request.user)
    if request.method != "POST":
        return render(request, "batches/plan_start.html", {"page": start_page(person, request.GET)})
    if request.POST.get("way") == "hold":
        return _hold_amount(request, HoldForm(request.POST, prefix="hold", person=person), person)
    sent = request.POST.copy()
    sent["equation"] = sent.get("take") or sent.get("equation", "")
    return _prepare(request, PrepareForm(sent, person=person), person)


def _prepare(request: HttpRequest, form: PrepareForm, person: User) -> HttpResponse:
    if form.is_valid():
        said = form.cleaned_data
        try:
            batch = reserving.prepare(
                title=said["title"], owner=person, equation=said["equation"], drafts=drafts_again(said),
                scale=said["scale"], scale_line=said["scale_line"], when=said["when"], key=said["key"],
            )  # fmt: skip
            return redirect("plan", number=batch.number)
        except LabError as error:
            form.add_error(None, error.message)
    page = {"page": start_page(person, request.GET, prepare=form)}
    return render(request, "batches/plan_start.html", page, status=422)


def _hold_amount(request: HttpRequest, form: HoldForm, person: User) -> HttpResponse:
    refused = None
    if form.is_valid():
        said = form.cleaned_data
        try:
            container = reserving.container_for(
                said["wanted"], said["quantity"], request.POST.get("pick", "")
            )
            row = reserving.hold_amount(
                title=form.session_title, owner=person, container=container, quantity=said["quantity"],
                when=said["when"], key=said["key"],
            )  # fmt: skip
            messages.success(request, _said(row))
            return redirect("session", pk=row.session_id)
        except LabError as refused_because:
            refused = refused_because
            form.add_error(None, refused.message)
    page = {"page": start_page(person, request.GET, hold=form, refusal=refused)}
    return render(request, "batches/plan_start.html", page, status=422)


def _said(row: Reservation) -> str:
    container = row.container
    place = f", {container.location}" if container.location else ""
    return f"{held_words(row.amount, container.unit)} of {container.name} held for you in {show_code(container.code)}{place}."


def _batch(number: str) -> Batch:
    batch = get_plan(number)
    if batch is None:
        raise Http404(f"There is no batch {number}.")
    return batch


@requires(Act.SEE)
def plan(request: HttpRequest, number: str) -> HttpResponseBase:
    """Show the plan, or work it out again."""
    if request.method == "POST":
        return change(request, number)
    lapse_due()
    return _show(request, _batch(number))


@requires(Act.RESERVE)
def change(request: HttpRequest, number: str) -> HttpResponse:
    """Change the scale alone, the session, or the whole plan."""
    batch = _batch(number)
    if "scale_to" in request.POST:
        return _rescale(request, batch, request.POST["scale_to"])
    if request.POST.get("act") == "session":
        return _give_session(request, batch)
    return _replan(request, batch)


def _rescale(request: HttpRequest, batch: Batch, scale: str) -> HttpResponse:
    person = cast(User, request.user)
    drafts = drafts_of(batch.lines.all())
    try:
        plans.replan(batch=batch, by=person, drafts=drafts, scale=scale, scale_line=batch.scale_line)
    except LabError as error:
        return _show(request, _batch(batch.number), refusal=error)
    messages.success(request, f"Scaled to {scale}. Nothing is held yet.")
    return redirect("plan", number=batch.number)


def _give_session(request: HttpRequest, batch: Batch) -> HttpResponse:
    person = cast(User, request.user)
    form = WhenForm(request.POST, person=person, prefix="when")
    if form.is_valid():
        try:
            reserving.give_session(batch=batch, by=person, when=form.cleaned_data["when"])
            return redirect("plan", number=batch.number)
        except LabError as error:
            return _show(request, batch, when=form, refusal=error)
    return _show(request, batch, when=form)


def _replan(request: HttpRequest, batch: Batch) -> HttpResponse:
    lines = list(batch.lines.all())
    form = ReplanForm(request.POST, lines=lines)
    line_forms = LineFormSet(request.POST, prefix="line", initial=line_initial(lines))
    is_valid = all([form.is_valid(), line_forms.is_valid()])
    drafts = drafts_from(batch, lines, form, line_forms) if is_valid else None
    if drafts is None:
        return _show(request, batch, form=form, line_forms=line_forms)
    said = form.cleaned_data
    try:
        check_unchanged(lines, said, drafts)
        plans.replan(
            batch=batch, by=cast(User, request.user), drafts=drafts, scale=said["scale"],
            scale_line=said["scale_line"], equation=said["equation"],
        )  # fmt: skip
    except LabError as error:
        return _show(request, batch, form=form, line_forms=line_forms, refusal=error)
    return redirect("plan", number=batch.number)


@requires(Act.RESERVE)
@require_POST
def hold(request: HttpRequest, number: str) -> HttpResponse:
    """Hold every chosen line, all in one act or none."""
    batch = _batch(number)
    picked = _picked(request, batch)
    containers = Container.objects.select_related("substance", "lot__substance").in_bulk(picked.values())
    try:
        if not picked:
            raise LabError(
                "nothing-chosen", "No line has a container chosen: choose at least one, then hold."
            )
        if not set(picked.values()) <= set(containers):
            raise LabError(
                "no-such-container", "A chosen container is not there: open the plan again and choose."
            )
        choices = {position: containers[pk] for position, pk in picked.items()}
        made = plans.hold_for_plan(batch=batch, choices=choices, by=cast(User, request.user))
    except LabError as error:
        return _show(request, _batch(number), refusal=error, chosen=picked)
    messages.success(request, _said_all(made))
    return redirect("plan", number=batch.number)


def _picked(request: HttpRequest, batch: Batch) -> dict[int, int]:
    """Return the chosen containers by line; "use it" beside a way out goes before the choice of its line."""
    sent = {line.position: request.POST.get(f"pick-{line.position}", "") for line in batch.lines.all()}
    position, _, instead = request.POST.get("instead", "").partition(":")
    if position.isdecimal():
        sent[int(position)] = instead
    return {position: int(pk) for position, pk in sent.items() if pk.isdecimal() and len(pk) < LONGEST_KEY}


def _said_all(made: list[Reservation]) -> str:
    if not made:
        return "All of it was held already."
    amounts = (
        f"{held_words(row.amount, row.container.unit)} of {row.container.name} in {show_code(row.container.code)}"
        for row in made
    )
    return f"Held for you: {'; '.join(amounts)}."


def _show(
    request: HttpRequest, batch: Batch, *, when: WhenForm | None = None, **refused: object
) -> HttpResponse:
    person = cast(User, request.user)
    page = plan_page(batch, person, **refused)  # type: ignore[arg-type]  # the keyword arguments are its own
    context = {"page": page, "when": when or WhenForm(person=person, prefix="when")}
    return render(request, "batches/plan.html", context, status=422 if refused or when else 200)

"""A look at a container before pouring: what was seen, and what to do about it here."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from labstock.bench.forms import BROKEN, ActForm
from labstock.bench.forms_trouble import LookForm
from labstock.bench.pages.trouble import troubles_of
from labstock.bench.pages.who import to_be_told, to_ring
from labstock.bench.views.finding import at_container
from labstock.bench.views.performing import person_of
from labstock.chemistry.errors import LabError
from labstock.people.roles import Act, requires
from labstock.stock.actions.looking import record_look, undo_look
from labstock.stock.models import Container
from labstock.stock.models.container import MILLION
from labstock.stock.signs import rule_for


@requires(Act.DRAW)
@at_container
def look_at(request: HttpRequest, container: Container) -> HttpResponse:
    """Ask for six signs; each may stay unlooked for."""
    form = LookForm(request.POST or None, container=container, person=person_of(request))
    if form.is_bound and form.is_valid():
        try:
            signs = record_look(container=container, answers=form.answers(), doing=form.doing())
        except LabError as error:
            form.add_error(None, error.message)
        else:
            _say(request, container, [sign.what for sign in signs if sign.is_seen])
            return redirect("container", code=container.code)
    trouble = troubles_of(container)
    page = {
        "container": container,
        "capacity": container.capacity / MILLION,
        "form": form,
        "looks": list(zip(form.looks, trouble.looks, strict=True)),
        "trouble": trouble,
        "ring": to_ring(),
    }
    return render(request, "bench/signs.html", page, status=422 if form.is_bound else 200)


@requires(Act.DRAW)
@at_container
@require_POST
def undo_look_at(request: HttpRequest, container: Container) -> HttpResponse:
    """Take back one's own last look within the minute."""
    form = ActForm(request.POST, container=container, person=person_of(request))
    try:
        if not form.is_valid():
            raise LabError("form-broken", BROKEN)
        undo_look(container=container, doing=form.doing())
        messages.success(request, "The look is taken back; what was said before it stands again.")
    except LabError as error:
        messages.error(request, error.message)
    return redirect("container", code=container.code)


def _say(request: HttpRequest, container: Container, seen: list[str]) -> None:
    """Say what each sign means here, the dangers first, and whom to tell."""
    rules = [rule_for(what, container.substance) for what in seen]
    for rule in rules:
        if rule.grade == "stop":
            messages.error(request, f"{rule.meaning} {rule.advice} {to_ring()}", extra_tags="danger")
        else:
            messages.warning(request, f"{rule.meaning} {rule.advice}")
    if not seen:
        messages.success(request, "The look is on record: nothing seen of what was looked for.")
    elif any(rule.blocks or rule.doubts_strength for rule in rules) and (holders := to_be_told(container)):
        messages.warning(request, holders)

"""One small page for one act: form, action, one sentence back. Every secondary act at a container goes through here."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from labstock.bench.forms import ActForm
from labstock.bench.pages.amounts import left_words
from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.stock.models import Container
from labstock.stock.models.container import MILLION


@dataclass(frozen=True)
class Outcome:
    """What to say after an act, what to beware of, and which container's page to open; the same one if None."""

    words: str
    caution: str = ""
    at: Container | None = None


@dataclass(frozen=True)
class Deed:
    """What a page lets a person do: its title, its button, its form, the action, and what to know before."""

    title: str
    button: str
    form: type[ActForm]
    do: Callable[[ActForm], str | Outcome]
    note: str = ""
    template: str = "bench/act.html"


def person_of(request: HttpRequest) -> User:
    """Return who is logged in; the guard before the view let nobody else through."""
    return cast(User, request.user)


def perform(request: HttpRequest, container: Container, deed: Deed) -> HttpResponse:
    """Show the form, or do the act and go back to the container; a refusal keeps what was typed."""
    data = request.POST if request.method == "POST" else None
    form = deed.form(data, container=container, person=person_of(request))
    status = 200
    if data is not None:
        if form.is_valid():
            try:
                return _say(request, container, deed.do(form))
            except LabError as error:
                form.add_error(None, error.message)
                container.refresh_from_db()
        status = 422
    page = {
        "container": container,
        "capacity": container.capacity / MILLION,
        "left": left_words(container),
        "form": form,
        "deed": deed,
    }
    return render(request, deed.template, page, status=status)


def _say(request: HttpRequest, container: Container, outcome: str | Outcome) -> HttpResponse:
    """Put the sentence on the next page and go there."""
    if isinstance(outcome, str):
        outcome = Outcome(outcome)
    messages.success(request, outcome.words)
    if outcome.caution:
        messages.warning(request, outcome.caution)
    return redirect("container", code=(outcome.at or container).code)

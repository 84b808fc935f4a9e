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
class Deed:
    """What a page lets a person do: its title, its button, its form, the action, and what to know before."""

    title: str
    button: str
    form: type[ActForm]
    do: Callable[[ActForm], str]
    note: str = ""


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
                messages.success(request, deed.do(form))
                return redirect("container", code=container.code)
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
    return render(request, "bench/act.html", page, status=status)

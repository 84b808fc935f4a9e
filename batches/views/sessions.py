"""Sessions: who works where and when, what is held for them, and letting it go."""

from typing import cast

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST
from django_tables2 import RequestConfig

from batches import reserving
from batches.forms_plan import AmountForm
from batches.forms_sessions import MoveForm, moved_to
from batches.pages_plan import names_to_type
from batches.pages_sessions import coming_after_today, get_session, past, session_page, today_rows
from batches.pages_when import held_words, span_of
from batches.tables_sessions import SessionTable
from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.people.roles import Act, requires
from labstock.stock.actions.reservations import cancel_session, lapse_due, release
from labstock.stock.codes import show_code
from labstock.stock.models import Reservation, Session

PER_PAGE = 25


@requires(Act.SEE)
def session_list(request: HttpRequest) -> HttpResponse:
    """Show the sessions of today, those to come and those that are over, one's own first."""
    lapse_due()
    person, now = cast(User, request.user), timezone.now()
    coming = SessionTable(coming_after_today(person, now), prefix="coming-")
    over = SessionTable(past(person, now), prefix="past-")
    for table in (coming, over):
        RequestConfig(request, paginate={"per_page": PER_PAGE, "silent": True}).configure(table)
    page = {"today": today_rows(person, now), "coming": coming, "past": over, "now": now}
    return render(request, "batches/session_list.html", page)


def _session(pk: int) -> Session:
    session = get_session(pk)
    if session is None:
        raise Http404("There is no such session.")
    return session


@requires(Act.SEE)
def session(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Show one session, or give it another time or place."""
    if request.method == "POST":
        return move(request, pk)
    lapse_due()
    return _show(request, _session(pk))


@requires(Act.RESERVE)
def move(request: HttpRequest, pk: int) -> HttpResponse:
    """Give a session another time or place; what it holds goes with it."""
    moved, person = _session(pk), cast(User, request.user)
    try:
        sent = moved_to(moved, request.POST["move_to"]) if "move_to" in request.POST else request.POST
        form = MoveForm(sent, moved=moved, person=person)
    except LabError as error:
        messages.error(request, error.message)
        return redirect("session", pk=pk)
    if not form.is_valid():
        return _show(request, moved, move=form)
    said = form.cleaned_data
    when: reserving.When = said["when"]
    try:
        done = reserving.move(session=moved, by=person, when=when, title=said["title"])
    except LabError as error:
        form.add_error(None, error.message)
        return _show(request, _session(pk), move=form)
    messages.success(request, f"The session is {span_of(done)} in {done.place} now.")
    return redirect("session", pk=pk)


@requires(Act.RESERVE)
@require_POST
def cancel(request: HttpRequest, pk: int) -> HttpResponse:
    """Call a session off and let its holds go."""
    try:
        cancel_session(session=_session(pk), by=cast(User, request.user))
        messages.success(request, "The session is cancelled, and what it held is free again.")
    except LabError as error:
        messages.error(request, error.message)
    return redirect("session", pk=pk)


@requires(Act.RESERVE)
@require_POST
def reserve_one(request: HttpRequest, pk: int) -> HttpResponse:
    """Hold one more amount for a session that exists."""
    chosen, person = _session(pk), cast(User, request.user)
    form = AmountForm(request.POST)
    if not form.is_valid():
        return _show(request, chosen, more=form)
    said = form.cleaned_data
    try:
        container = reserving.container_for(said["wanted"], said["quantity"])
        row = reserving.hold_amount(
            title=chosen.title, owner=person, container=container, quantity=said["quantity"],
            when=reserving.When(session=chosen), key=said["key"],
        )  # fmt: skip
    except LabError as error:
        form.add_error(None, error.message)
        return _show(request, chosen, more=form)
    unit = row.container.unit
    messages.success(
        request,
        f"{held_words(row.amount, unit)} of {row.container.name} held in {show_code(row.container.code)}.",
    )
    return redirect("session", pk=pk)


@requires(Act.RESERVE)
@require_POST
def let_go(request: HttpRequest, pk: int) -> HttpResponse:
    """Let one promise go and return to where it was asked."""
    row = get_object_or_404(Reservation.objects.select_related("container__substance"), pk=pk)
    try:
        done = release(reservation=row, by=cast(User, request.user))
        messages.success(
            request,
            f"Let go: {held_words(done.amount - done.drawn, row.container.unit)} of {row.container.name} is free again.",
        )
    except LabError as error:
        messages.error(request, error.message)
    back = request.POST.get("next", "")
    if url_has_allowed_host_and_scheme(
        back, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    ):
        return redirect(back)
    return redirect("session", pk=row.session_id)


def _show(
    request: HttpRequest, shown: Session, *, move: MoveForm | None = None, more: AmountForm | None = None
) -> HttpResponse:
    person = cast(User, request.user)
    context = {
        "page": session_page(shown, person, timezone.now()),
        "move": move or MoveForm(moved=shown, person=person),
        "more": more or AmountForm(),
        "names": names_to_type(),
    }
    return render(request, "batches/session.html", context, status=422 if move or more else 200)

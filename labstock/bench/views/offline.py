"""No signal: the worker and its page, what a device keeps, the queue it sends, and the differences to settle."""

import json
import uuid
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from labstock.bench import offline
from labstock.bench.forms import OTHERWISE
from labstock.bench.forms_offline import SettleForm, read_sending, read_sent
from labstock.bench.pages.after import said_after
from labstock.bench.pages.differences import (
    difference_page,
    differences_page,
    open_differences,
    said_in_answer,
)
from labstock.bench.pages.offline import kept_for
from labstock.bench.pages.worker import devices_offered, worker_of
from labstock.bench.views.performing import person_of
from labstock.chemistry.errors import LabError
from labstock.people.roles import Act, requires
from labstock.people.tablet import tablet_name
from labstock.stock.actions.reversing import UNDO_SECONDS
from labstock.stock.models import Entry, QueuedEntry, Sign, Way

MOST_OPENED = 20


@login_not_required
@require_GET
def worker(request: HttpRequest) -> HttpResponse:
    """Serve the worker from the root, so that it stands before every page."""
    page = {"kept": json.dumps(worker_of())}
    response = render(request, "bench/offline_worker.js", page, content_type="text/javascript")
    response["Cache-Control"] = "no-cache"
    return response


@login_not_required
@require_GET
def shell(request: HttpRequest) -> HttpResponse:
    """Show the page that stands in when there is no signal: the same for everybody, nothing of anybody in it."""
    page = {
        "prefix": settings.LABSTOCK_CODE_PREFIX,
        "undo_seconds": UNDO_SECONDS,
        "devices": devices_offered(),
        "otherwise": OTHERWISE,
    }
    return render(request, "bench/offline.html", page)


@requires(Act.SEE)
@never_cache
@require_GET
def kept(request: HttpRequest) -> HttpResponse:
    """Tell a device who is signed in, what time it is, and what to keep for when there is no signal."""
    person = person_of(request)
    opened = request.GET.get("also", "").split(",")[:MOST_OPENED]
    found = kept_for(person, timezone.now(), tablet=tablet_name(request), opened=opened)
    return JsonResponse(found | {"csrf": get_token(request), "open": open_differences(person).count()})


@requires(Act.DRAW)
@never_cache
@require_POST
def send(request: HttpRequest) -> HttpResponse:
    """Take a device's queue, each entry once and for itself; say what became of each."""
    now = timezone.now()
    try:
        device_at, entries = read_sending(_body(request))
    except LabError as error:
        return JsonResponse({"said": error.message}, status=422)
    results = []
    for raw in entries:
        try:
            row = offline.take(sent=read_sent(raw), device_at=device_at, by=person_of(request), now=now)
            results.append(said_in_answer(row, said_after(row.entry) if row.entry else ""))
        except LabError as error:
            results.append({"key": _key_of(raw), "state": "unread", "said": error.message})
    return JsonResponse({"results": results, "open": open_differences(person_of(request)).count()})


def _body(request: HttpRequest) -> Any:
    try:
        return json.loads(request.body)
    except ValueError:
        return None


def _key_of(raw: Any) -> str:
    return str(raw.get("key", ""))[:40] if isinstance(raw, dict) else ""


@requires(Act.SEE)
@never_cache
@require_GET
def recorded(request: HttpRequest) -> HttpResponse:
    """Say whether the entry with this key was recorded, so that a draft of it can go."""
    try:
        key = uuid.UUID(request.GET.get("key", ""))
    except ValueError:
        return JsonResponse({"is_recorded": False})
    is_there = any(model.objects.filter(key=key).exists() for model in (Entry, QueuedEntry, Sign))
    return JsonResponse({"is_recorded": is_there})


@requires(Act.DRAW)
@require_GET
def differences(request: HttpRequest) -> HttpResponse:
    """List what was done without signal and is not in the book."""
    waiting, settled = differences_page(person_of(request))
    return render(request, "bench/differences.html", {"waiting": waiting, "settled": settled})


@requires(Act.DRAW)
def difference(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one difference and settle it, by a line or by words."""
    rows = QueuedEntry.objects.select_related("owner", "sent_by", "container__substance", "settlement__by")
    queued = get_object_or_404(rows, pk=pk)
    form = SettleForm(request.POST if request.method == "POST" else None, queued=queued)
    if form.is_valid():
        said = form.cleaned_data
        try:
            done = offline.settle(
                queued=queued,
                way=Way(said["way"]),
                reason=said["reason"],
                by=person_of(request),
                again=form.again(),
            )
            messages.success(
                request, said_after(done.entry) if done.entry else f"Settled: {done.get_way_display()}."
            )
            return redirect("difference-list")
        except LabError as error:
            form.add_error(None, error.message)
    page = {"page": difference_page(queued, person_of(request)), "form": form}
    return render(request, "bench/difference.html", page, status=422 if form.errors else 200)

"""Stock checks: the list, beginning one, counting blind, settling a difference, the end and the result."""

from django.contrib import messages
from django.db.models import F
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST
from django_tables2 import RequestConfig

from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.people.roles import Act, requires
from labstock.stock.actions.checking import finish, note_foreign, start, start_list
from labstock.stock.actions.counting import count_blind, explain
from labstock.stock.actions.keeping import move
from labstock.stock.actions.lines import Doing
from labstock.stock.codes import show_code
from labstock.stock.forms.checks import CountForm, ExplainForm, FinishForm, ListForm, StartForm
from labstock.stock.models import CheckCount, StockCheck
from labstock.stock.pages.check_list import count_page, start_page
from labstock.stock.pages.check_result import HEADINGS, count_row, result_page, rows_to_export
from labstock.stock.pages.check_walk import place_walked, walk_address
from labstock.stock.pages.check_worth import chosen, worth_page
from labstock.stock.pages.proof import proven_table
from labstock.stock.places import misfit
from labstock.stock.queries import get_container
from labstock.stock.queries_checks import judged, tallies, unscanned
from labstock.stock.tables import PER_PAGE
from labstock.stock.tables_checks import CheckTable
from labstock.stock.views.acting import done, person_of
from labstock.stock.workbooks import MEDIA_TYPE


def get_check(pk: int) -> StockCheck:
    """Return a check with what every page says of it."""
    return get_object_or_404(StockCheck.objects.select_related("place", "by", "end__by"), pk=pk)


def sent(request: HttpRequest) -> QueryDict | None:
    """Return what was sent, also where that is an empty form; None where the page is only opened."""
    return request.POST if request.method == "POST" else None


@requires(Act.SEE)
def check_list(request: HttpRequest) -> HttpResponse:
    """List the checks, those that go on first."""
    rows = StockCheck.objects.select_related("place", "by", "end")
    table = CheckTable(rows.order_by(F("end__pk").asc(nulls_first=True), "-pk"))
    RequestConfig(request, paginate={"per_page": PER_PAGE, "silent": True}).configure(table)
    table.tally_by_check = tallies([row.pk for row in table.page.object_list.data])
    return render(request, "stock/check_list.html", {"table": table})


@requires(Act.COUNT)
def check_start(request: HttpRequest) -> HttpResponse:
    """Begin the check of a place."""
    asked = request.GET.get("place", "")
    form = StartForm(sent(request), initial={"place": asked})
    if form.is_bound:
        made = done(
            form, lambda: start(place=form.cleaned_data["place"], doing=form.doing(person_of(request)))
        )
        if made is not None:
            return redirect("check", pk=made.pk)
    page = {"form": form, "page": start_page(asked)}
    return render(request, "stock/check_start.html", page, status=422 if form.is_bound else 200)


@requires(Act.COUNT)
def check_worth(request: HttpRequest) -> HttpResponse:
    """Show what is worth a count in the minutes there are, and begin the check of exactly these."""
    form = ListForm(sent(request))
    if form.is_bound:
        made = done(form, lambda: _start_list(form, person_of(request)))
        if made is not None:
            return redirect("check", pk=made.pk)
    page = {"form": form, "page": worth_page(request.GET.get("minutes", ""))}
    return render(request, "stock/check_worth.html", page, status=422 if form.is_bound else 200)


def _start_list(form: ListForm, person: User) -> StockCheck:
    containers = chosen(form.cleaned_data["codes"])
    title = f"the {len(containers)} most worth a count, {timezone.localdate():%d %b %Y}"
    return start_list(containers=containers, title=title, doing=form.doing(person))


@requires(Act.COUNT)
@require_POST
def check_move(request: HttpRequest, pk: int, code: str) -> HttpResponse:
    """Say that a container found in the wrong place stands here now."""
    stock_check, container = get_check(pk), get_container(code, is_shown=False)
    finding = get_object_or_404(stock_check.findings.select_related("place"), container=container)
    if finding.place is not None:
        doing = Doing(by=person_of(request), reason=f"found there: {stock_check.title}"[:300])
        moved = move(container=container, to=finding.place, doing=doing)
        if wrong := misfit(moved, finding.place):
            messages.warning(request, wrong.words)
    at = place_walked(stock_check, request.POST.get("at", ""))
    return redirect(walk_address(stock_check, at, finding.pk))


@requires(Act.COUNT)
@require_POST
def check_foreign(request: HttpRequest, pk: int) -> HttpResponse:
    """Note a bottle that the book does not know."""
    stock_check = get_check(pk)
    at = place_walked(stock_check, request.POST.get("at", ""))
    try:
        text, doing = request.POST.get("code", ""), Doing(by=person_of(request))
        made = note_foreign(stock_check=stock_check, text=text, place=at, doing=doing)
    except LabError as error:
        messages.error(request, error.message)
        return redirect(walk_address(stock_check, at))
    return redirect(walk_address(stock_check, at, made.finding.pk, is_again=made.is_again))


@requires(Act.COUNT)
@never_cache
def check_count(request: HttpRequest, pk: int, code: str) -> HttpResponse:
    """Ask how much is in a container without telling what the book says."""
    stock_check, container = get_check(pk), get_container(code)
    form = CountForm(sent(request), container=container)
    made = None
    if form.is_bound:
        made = done(form, lambda: _count(form, stock_check, person_of(request)))
    if made is not None:
        return redirect("check-counted", pk=pk, count=made.pk)
    if form.is_bound:
        container.refresh_from_db(fields=["last_seq"])
    page = {"form": form, "page": count_page(stock_check, container, request.GET.get("at", ""))}
    return render(request, "stock/check_count.html", page, status=422 if form.is_bound else 200)


def _count(form: CountForm, stock_check: StockCheck, person: User) -> CheckCount:
    said = form.cleaned_data
    return count_blind(
        stock_check=stock_check,
        container=form.container,
        found=said["found"],
        device_code=said["device_code"],
        is_gross=form.is_by_mass,
        doing=form.doing(person, seen_seq=said["seen_seq"]),
    )


@requires(Act.COUNT)
@never_cache
def check_counted(request: HttpRequest, pk: int, count: int) -> HttpResponse:
    """Say what a count came to; where it needs a cause, ask for a second count before the book is shown."""
    stock_check = get_check(pk)
    row = count_row(_get_count(stock_check, count))
    return render(request, "stock/check_counted.html", {"stock_check": stock_check, "row": row})


@requires(Act.COUNT)
@never_cache
def check_explain(request: HttpRequest, pk: int, count: int) -> HttpResponse:
    """Show the difference and ask for its cause."""
    stock_check, counted = get_check(pk), _get_count(get_check(pk), count)
    form = ExplainForm(sent(request))
    if form.is_bound:
        settled = done(
            form, lambda: explain(count=counted, cause=form.said(), doing=form.doing(person_of(request)))
        )
        if settled is not None:
            messages.success(request, f"{show_code(counted.container.code)}: the book follows the count.")
            return redirect("check-result" if hasattr(stock_check, "end") else "check", pk=pk)
    page = {"form": form, "stock_check": stock_check, "row": count_row(counted)}
    return render(request, "stock/check_explain.html", page, status=422 if form.is_bound else 200)


def _get_count(stock_check: StockCheck, pk: int) -> CheckCount:
    rows = stock_check.counts.select_related(
        "container__substance", "container__location", "by", "settled__by", "settled__entry"
    )
    return get_object_or_404(rows, pk=pk)


@requires(Act.COUNT)
def check_finish(request: HttpRequest, pk: int) -> HttpResponse:
    """List what was not seen, and end the check."""
    stock_check = get_check(pk)
    form = FinishForm(sent(request))
    if form.is_bound:
        ended = done(
            form,
            lambda: finish(
                stock_check=stock_check, is_whole=form.is_whole, doing=Doing(by=person_of(request))
            ),
        )
        if ended is not None:
            return redirect("check-result", pk=pk)
    if hasattr(stock_check, "end") and not form.is_bound:
        return redirect("check-result", pk=pk)
    rows = judged(stock_check, list(unscanned(stock_check).order_by("location__path", "number")))
    lost = sum(one.is_lost for one in rows)
    word = f"{lost} container{'' if lost == 1 else 's'} would be “not seen”"
    page = {"form": form, "stock_check": stock_check, "unseen": rows, "unseen_word": word}
    return render(request, "stock/check_finish.html", page, status=422 if form.is_bound else 200)


@requires(Act.SEE)
def check_result(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what a check came to."""
    return render(request, "stock/check_result.html", {"page": result_page(get_check(pk))})


@requires(Act.SEE)
def check_export(request: HttpRequest, pk: int) -> HttpResponse:
    """Give all that a check holds as a workbook."""
    stock_check = get_check(pk)
    book = proven_table(rows_to_export(stock_check), HEADINGS, "Stock check", person_of(request))
    name = f"stock-check-{pk}-{timezone.localdate(stock_check.at):%Y-%m-%d}.xlsx"
    return HttpResponse(book, MEDIA_TYPE, headers={"Content-Disposition": f'attachment; filename="{name}"'})

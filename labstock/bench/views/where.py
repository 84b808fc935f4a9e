"""The account: where did it go?"""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from labstock.bench.forms_where import WhereForm
from labstock.bench.pages.where import where_page
from labstock.chemistry.errors import LabError
from labstock.people.roles import Act, requires


@requires(Act.SEE)
def where(request: HttpRequest) -> HttpResponse:
    """Show the account of a container, a lot, a substance, a person or a stretch of time."""
    form = WhereForm(request.GET or None)
    page, status = None, 200
    if form.is_bound:
        status = 422
        if form.is_valid():
            try:
                page, status = where_page(form.scope(), form.page_asked()), 200
            except LabError as error:
                form.add_error(None, error.message)
    return render(request, "bench/where.html", {"form": form, "page": page}, status=status)

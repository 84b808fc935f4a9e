"""Logging in and out, one's own page, and the people of the lab."""

from typing import cast

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import views as auth_views
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse_lazy
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST
from django_tables2 import RequestConfig

from labstock.chemistry.errors import LabError
from labstock.people import actions, badges, queries
from labstock.people.forms import AddPersonForm, ChangePersonForm
from labstock.people.models import User
from labstock.people.roles import Act, Role, requires
from labstock.people.tables import PersonFilter, PersonTable

FIRST_TIME = "This is your first log-in. Whoever added you knows your password: choose your own on the page under your name."


class LogIn(auth_views.LoginView):
    """The only page that needs no log-in."""

    template_name = "people/login.html"
    redirect_authenticated_user = True

    def form_valid(self, form: AuthenticationForm) -> HttpResponse:
        """Log in; the first time, say that the password is known to somebody else."""
        is_first = form.get_user().last_login is None
        response = super().form_valid(form)
        if is_first:
            messages.info(self.request, FIRST_TIME)
        return response


class LogOut(auth_views.LogoutView):
    """Leave; by POST only."""


class ChangePassword(auth_views.PasswordChangeView):
    """Choose one's own password; every other device is logged out by it."""

    template_name = "people/password.html"
    success_url = reverse_lazy("me")

    def form_valid(self, form: object) -> HttpResponse:
        """Change it and say what follows."""
        response = super().form_valid(form)  # type: ignore[arg-type]
        messages.success(self.request, "Your password is changed. You are logged out everywhere else.")
        return response

    def form_invalid(self, form: object) -> HttpResponse:
        """Show what was wrong with the status of a refusal."""
        return self.render_to_response(self.get_context_data(form=form), status=422)


@login_not_required
@never_cache
def admin_login(request: HttpRequest) -> HttpResponse:
    """Send people to the one log-in page; tell those who are in already that the administrator's pages are not theirs."""
    if request.user.is_authenticated:
        raise PermissionDenied(
            "The administrator's pages are open to administrators of the site only. "
            "Everything the lab needs is on the pages linked below."
        )
    return redirect_to_login(request.GET.get("next", settings.LOGIN_REDIRECT_URL))


@require_GET
def me(request: HttpRequest) -> HttpResponse:
    """Show who is logged in, what the role allows, and whom to ask for the rest."""
    user = cast(User, request.user)
    page = {
        "role": Role(user.role),
        "acts": queries.table_of_roles(user.role),
        "roles": list(Role),
        "stewards": queries.who_may(Act.PEOPLE),
    }
    return render(request, "people/me.html", page)


@requires(Act.PEOPLE)
@require_GET
def person_list(request: HttpRequest) -> HttpResponse:
    """List everybody, those who left too."""
    chosen = PersonFilter(request.GET, User.objects.select_related("group"))
    table = PersonTable(chosen.qs)
    RequestConfig(request, paginate={"per_page": 25}).configure(table)
    return render(request, "people/list.html", {"table": table, "filter": chosen})


@requires(Act.PEOPLE)
@never_cache
def person_add(request: HttpRequest) -> HttpResponse:
    """Add a person and show the first password, once."""
    form = AddPersonForm(request.POST or None)
    if form.is_valid():
        try:
            person, password = actions.add_person(by=cast(User, request.user), **form.cleaned_data)
        except LabError as error:
            form.add_error(_FIELD_OF.get(error.code), error.message)
        else:
            shown = "" if form.cleaned_data["password"] else password
            return render(request, "people/added.html", {"person": person, "password": shown})
    return render(request, "people/add.html", {"form": form}, status=422 if form.errors else 200)


_FIELD_OF = {"username-taken": "username", "weak-password": "password"}


@requires(Act.PEOPLE)
def person(request: HttpRequest, pk: int) -> HttpResponse:
    """Show and change one person."""
    found = get_object_or_404(User.objects.select_related("group"), pk=pk)
    form = ChangePersonForm(
        request.POST or None,
        initial={name: getattr(found, name) for name in ChangePersonForm.base_fields if name != "new_group"},
    )
    if form.is_valid():
        try:
            changed = actions.change_person(by=cast(User, request.user), person=found, **form.cleaned_data)
            messages.success(request, f"{changed}: the change is recorded.")
            return redirect("person-list")
        except LabError as error:
            form.add_error(None, error.message)
    page = {
        "person": found,
        "form": form,
        "history": queries.history_of(found),
        "badge": queries.badge_of(found),
    }
    return render(request, "people/person.html", page, status=422 if form.errors else 200)


@requires(Act.PEOPLE)
@require_POST
@never_cache
def person_password(request: HttpRequest, pk: int) -> HttpResponse:
    """Give a new first password and show it, once."""
    found = get_object_or_404(User, pk=pk)
    try:
        password = actions.give_password(by=cast(User, request.user), person=found)
    except LabError as error:
        messages.error(request, error.message)
        return redirect("person", pk=pk)
    return render(request, "people/added.html", {"person": found, "password": password, "is_reset": True})


@requires(Act.PEOPLE)
@require_POST
def person_badge(request: HttpRequest, pk: int) -> HttpResponse:
    """Revoke a badge that was lost."""
    found = get_object_or_404(User, pk=pk)
    try:
        badges.revoke_badge(by=cast(User, request.user), person=found)
        messages.success(
            request, f"The badge of {found} opens nothing any more. They make a new one themselves."
        )
    except LabError as error:
        messages.error(request, error.message)
    return redirect("person", pk=pk)

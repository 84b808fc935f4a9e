"""What the views of this app share: who acts, and how an action's refusal gets back into the form."""

from collections.abc import Callable
from typing import TypeVar, cast

from django import forms
from django.http import HttpRequest

from labstock.chemistry.errors import LabError
from labstock.people.models import User

Made = TypeVar("Made")


def person_of(request: HttpRequest) -> User:
    """Return who is logged in; the guard before the view let nobody else through."""
    return cast(User, request.user)


def done(form: forms.BaseForm, act: Callable[[], Made]) -> Made | None:
    """Do the act if the form is sound; a refusal goes into the form, and None comes back."""
    if not form.is_valid():
        return None
    try:
        return act()
    except LabError as error:
        form.add_error(None, error.message)
        return None

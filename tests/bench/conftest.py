"""What the tests of the bench share: a bottle on the shelf and people who are logged in."""

import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from labstock.stock.models import Container
from tests import builders


@pytest.fixture
def bottle(db) -> Container:
    """Return acetic anhydride, 100 mL with 53 mL in it, weighed when it came."""
    return builders.container(holds="53 mL", gross="286.40 g")


@pytest.fixture
def as_person(db) -> Callable[[str], Client]:
    """Return a function that logs one of the cast in."""

    def log_in(name: str) -> Client:
        client = Client()
        client.force_login(builders.person(name), backend="django.contrib.auth.backends.ModelBackend")
        return client

    return log_in


@pytest.fixture
def marit(as_person) -> Client:
    return as_person("marit")


@pytest.fixture
def use(bottle) -> Callable[..., Any]:
    """Return a function that sends the one-number form as the page would."""

    def send(client: Client, container: Container | None = None, **fields: Any) -> Any:
        target = container or bottle
        target.refresh_from_db()
        form = {
            "way": "amount",
            "unit": target.unit,
            "device": "syringe-5",
            "balance": "balance-0.01g",
            "key": str(uuid.uuid4()),
            "seen_seq": target.last_seq,
        }
        return client.post(reverse("container-use", args=[target.code]), form | fields)

    return send


def text_of(response: Any) -> str:
    """Return a page with its no-break spaces as plain ones, as a person reads it."""
    return str(response.content.decode()).replace("\u00a0", " ").replace("&#x27;", "'")


def said_by(response: Any) -> list[str]:
    """Return the messages that the next page will show."""
    return [str(message).replace("\u00a0", " ") for message in response.wsgi_request._messages]

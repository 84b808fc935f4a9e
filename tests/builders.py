"""The cast and the things on the shelf, made by name. Everything here is invented."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone

from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity, parse_quantity
from labstock.people.models import LabGroup, User
from labstock.people.roles import Role
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.receiving import Arrival, receive
from labstock.stock.actions.reservations import plan_session
from labstock.stock.models import Container, Location, Lot, Session, Substance

CAST = {
    "marit": ("Marit", "Solberg", Role.MEMBER, "Plover group"),
    "tobias": ("Tobias", "Renn", Role.MEMBER, "Curlew group"),
    "wren": ("Wren", "Halloran", Role.STEWARD, "Plover group"),
    "sunniva": ("Sunniva", "Pryce", Role.SAFETY, "Sanderling group"),
    "kasimir": ("Kasimir", "Aldous", Role.VIEWER, "Sanderling group"),
}


def person(name: str = "marit") -> User:
    """Return one of the cast, made on first call."""
    first, last, role, group = CAST[name]
    user = User.objects.filter(username=name).first()
    if user is None:
        user = User(username=name, first_name=first, last_name=last, role=role)
        user.group = LabGroup.objects.get_or_create(name=group)[0]
        user.set_password("quay-side-tern")
        user.save()
    return user


def place(name: str = "cupboard 4", kind: str = "cupboard") -> Location:
    """Return a place in room 214."""
    room = Location.objects.get_or_create(
        parent=None, name="room 214", defaults={"kind": "room", "path": "room 214"}
    )[0]
    return Location.objects.get_or_create(
        parent=room, name=name, defaults={"kind": kind, "path": f"room 214, {name}"}
    )[0]


def hood() -> Location:
    """Return a hood to work in."""
    return place("hood 4", "hood")


ANHYDRIDE: dict[str, Any] = {
    "name": "acetic anhydride",
    "cas": "108-24-7",
    "formula": "C4H6O3",
    "smiles": "CC(=O)OC(C)=O",
    "molar_mass_g_per_mol": 102.089,
    "density_g_per_mL": 1.082,
    "density_u_g_per_mL": 0.001,
    "density_at_celsius": 20.0,
    "is_liquid": True,
    "is_moisture_sensitive": True,
    "moisture_because": "acid anhydride",
}
ANILINE: dict[str, Any] = {
    "name": "aniline",
    "cas": "62-53-3",
    "formula": "C6H7N",
    "smiles": "Nc1ccccc1",
    "molar_mass_g_per_mol": 93.129,
    "density_g_per_mL": 1.022,
    "density_at_celsius": 20.0,
    "is_liquid": True,
}
ACETANILIDE: dict[str, Any] = {
    "name": "acetanilide",
    "cas": "103-84-4",
    "formula": "C8H9NO",
    "smiles": "CC(=O)Nc1ccccc1",
    "molar_mass_g_per_mol": 135.166,
}
ACETIC_ACID: dict[str, Any] = {
    "name": "acetic acid",
    "cas": "64-19-7",
    "formula": "C2H4O2",
    "smiles": "CC(=O)O",
    "molar_mass_g_per_mol": 60.052,
    "density_g_per_mL": 1.049,
    "is_liquid": True,
}


def substance(about: dict[str, Any] = ANHYDRIDE) -> Substance:
    """Return a substance, made on first call."""
    found = Substance.objects.filter(name=about["name"]).first()
    if found is None:
        found = Substance(**about)
        found.search_text = found.words_to_search()
        found.save()
    return found


def lot(about: dict[str, Any] = ANHYDRIDE, **fields: Any) -> Lot:
    """Return a lot of a substance; at least 99 % unless said otherwise."""
    fields = {
        "number": "SK 40817",
        "supplier": "Skerrow (invented)",
        "purity_kind": "at least",
        "purity_percent": 99,
    } | fields
    return Lot.objects.create(substance=substance(about), **fields)


def amount(text: str) -> Quantity:
    """Return an amount as a person would type it."""
    return parse_quantity(text)


def container(
    about: dict[str, Any] = ANHYDRIDE, holds: str = "100 mL", capacity: str = "100 mL", **fields: Any
) -> Container:
    """Return a full container with its first ledger line, received by the steward."""
    quantity, at = amount(holds), fields.pop("at", None) or timezone.now()
    unit = {"mass": "g", "volume": "mL", "count": "piece"}[quantity.dimension]
    arrival = Arrival(
        unit=unit,
        capacity=amount(capacity if unit == "mL" else fields.pop("capacity", "100 g")),
        amount=quantity,
        lot=fields.pop("lot", None) or lot(about),
        location=fields.pop("location", None) or place(),
        heel=amount(fields.pop("heel", "1.5 mL")) if unit == "mL" else None,
        owner_group=person("wren").group,
        gross=amount(fields.pop("gross")) if "gross" in fields else None,
        received_on=date(2026, 9, 3),
        **fields,
    )
    return receive(arrival=arrival, doing=Doing(by=person("wren"), at=at))


def session(
    owner: User | None = None, start_hours: float = -1, hours: float = 3, title: str = "Acetanilide"
) -> Session:
    """Return a session that began an hour ago unless said otherwise."""
    now = timezone.now()
    start = now + timedelta(hours=start_hours)
    return plan_session(
        title=title,
        owner=owner or person(),
        place=hood(),
        starts_at=start,
        ends_at=start + timedelta(hours=hours),
    )


def noon() -> datetime:
    """Return a fixed moment."""
    return datetime(2026, 11, 25, 12, 0, tzinfo=timezone.get_default_timezone())


@contextmanager
def refused(pattern: str) -> Iterator[pytest.ExceptionInfo[LabError]]:
    """Expect a refusal whose text (no-break spaces read as spaces) holds the pattern."""
    with pytest.raises(LabError) as caught:
        yield caught
    text = str(caught.value).replace("\u00a0", " ")
    assert re.search(pattern, text), text

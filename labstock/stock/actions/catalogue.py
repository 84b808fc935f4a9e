"""Substances, their names, lots and places."""

from collections.abc import Callable, Iterable
from typing import Any

from django.db import IntegrityError

from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.stock.actions.receiving import ends_on, words_to_search
from labstock.stock.actions.threads import earliest
from labstock.stock.lots_in import went_on, worst_end
from labstock.stock.models import Container, Lineage, Location, Lot, Substance, Synonym
from labstock.stock.search_text import normalised
from labstock.writing import writing

AT_ONCE = 500
LONGEST_PATH = 400
# Apps above the stock bring what is found by a substance's names in step when these change.
WHEN_RENAMED: list[Callable[[Substance], None]] = []


def add_substance(*, by: User, synonyms: Iterable[str] = (), **fields: Any) -> Substance:
    """Add a substance with its other names."""
    return _keep(Substance(created_by=by, **fields), synonyms)


def change_substance(*, substance: Substance, by: User, synonyms: Iterable[str], **fields: Any) -> Substance:
    """Change what is known of a substance; its containers are found by the new names at once."""
    for name, value in fields.items():
        setattr(substance, name, value)
    return _keep(substance, synonyms)


def _keep(substance: Substance, synonyms: Iterable[str]) -> Substance:
    substance.name = " ".join(substance.name.split())
    try:
        with writing():
            _refuse_taken(substance, [substance.name, *synonyms])
            substance.save()
            _set_synonyms(substance, synonyms)
            return substance
    except IntegrityError as error:  # two people added it in the same instant
        raise LabError(
            "name-taken",
            "'{name}' was put on the list by somebody else just now: look for it there.",
            name=substance.name,
        ) from error


def _refuse_taken(substance: Substance, names: Iterable[str]) -> None:
    others = Substance.objects.exclude(pk=substance.pk)
    if substance.cas and (other := others.filter(cas=substance.cas).first()):
        raise LabError(
            "cas-taken",
            "CAS number {cas} belongs to {name}, which is on the list: open that one, or read the number again.",
            cas=substance.cas,
            name=other.name,
        )
    wanted = {normalised(name) for name in names if name.strip()}
    for other in others.filter(search_text__contains=normalised(substance.name)).prefetch_related("synonyms")[
        :AT_ONCE
    ]:
        _refuse_same_name(wanted, other)
    for other in others.filter(name__in=[name.strip() for name in names]).prefetch_related("synonyms"):
        _refuse_same_name(wanted, other)


def _refuse_same_name(wanted: set[str], other: Substance) -> None:
    for name in (other.name, *(synonym.name for synonym in other.synonyms.all())):
        if normalised(name) in wanted:
            raise LabError(
                "name-taken",
                "'{name}' is already {whose} on the list: open that one, or choose another name.",
                name=name,
                whose="the name of a substance" if name == other.name else f"another name of {other.name}",
            )


def _set_synonyms(substance: Substance, synonyms: Iterable[str]) -> None:
    wanted = {name.strip() for name in synonyms if name.strip() and name.strip() != substance.name}
    substance.synonyms.exclude(name__in=wanted).delete()
    known = set(substance.synonyms.values_list("name", flat=True))
    Synonym.objects.bulk_create(Synonym(substance=substance, name=name) for name in sorted(wanted - known))
    found_by = substance.words_to_search()
    if found_by != substance.search_text:
        substance.search_text = found_by
        substance.save(update_fields=["search_text"])
        _refresh(Container.objects.filter(substance=substance))
        for follow in WHEN_RENAMED:
            follow(substance)


def add_lot(*, by: User, **fields: Any) -> Lot:
    """Add a lot; describing the same one twice (a form sent twice) gives the one that is there."""
    with writing():
        if same := Lot.objects.filter(**fields).first():
            return same
        lot = Lot(**fields)
        _refuse_known_number(lot)
        lot.save()
        return lot


def change_lot(*, lot: Lot, by: User, **fields: Any) -> Lot:
    """Change what is known of a lot; the dates and names its containers are listed by follow."""
    with writing():
        for name, value in fields.items():
            setattr(lot, name, value)
        _refuse_known_number(lot)
        lot.save()
        holding = went_on(Container.objects.filter(lot=lot).values_list("pk", flat=True))
        _refresh(Container.objects.filter(pk__in=holding))
        return lot


def _refuse_known_number(lot: Lot) -> None:
    if not lot.number:
        return
    same = Lot.objects.filter(
        substance=lot.substance, number__iexact=lot.number, supplier__iexact=lot.supplier
    )
    if same.exclude(pk=lot.pk).exists():
        raise LabError(
            "lot-known",
            "Lot {number} of {substance} from {supplier} is on the list already: choose it there, or change it.",
            number=lot.number,
            substance=lot.substance.name,
            supplier=lot.supplier or "a supplier not named",
        )


def _refresh(containers: Any) -> None:
    """Bring what containers are listed and found by in step with their substance and lot."""
    rows = list(containers.select_related("lot", "substance").select_for_update(of=("self",)))
    filled = set(Lineage.objects.filter(child__in=rows).values_list("child_id", flat=True))
    for row in rows:
        row.ends_on = earliest(ends_on(row.lot), worst_end(row)) if row.pk in filled else ends_on(row.lot)
        row.search_text = words_to_search(row)
    Container.objects.bulk_update(rows, ["ends_on", "search_text"], batch_size=AT_ONCE)


def add_location(
    *, by: User, name: str, kind: str, parent: Location | None = None, offers: Iterable[str] = ()
) -> Location:
    """Add a place inside another."""
    name = " ".join(name.split())
    if "," in name:
        raise LabError(
            "comma-in-place",
            "'{name}' has a comma, and commas part the places of a path: leave it out.",
            name=name,
        )
    with writing():
        if Location.objects.filter(parent=parent, name__iexact=name).exists():
            raise LabError(
                "place-taken",
                "There is a {name} in {parent} already: choose another name.",
                name=name,
                parent=parent or "this building",
            )
        place = Location(name=name, kind=kind, parent=parent, offers=list(offers))
        place.path = place.full_path()
        if len(place.path) > LONGEST_PATH:
            raise LabError(
                "path-too-long",
                "'{path}…' is too long a way ({length} characters, {most} at most): use shorter names.",
                path=place.path[:60],
                length=len(place.path),
                most=LONGEST_PATH,
            )
        place.save()
        return place

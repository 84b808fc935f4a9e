"""The pages whose time is taken in a small lab and in a large one, each asking for something that is alike in both."""

from datetime import date, timedelta
from urllib.parse import urlencode

from django.db.models import Max, Min
from django.utils import timezone

from labstock.bench.speed.made_rows import ONE_BLOCKED_IN, ONE_HELD_IN, ONE_OF_THE_GIANT_IN
from labstock.people.models import User
from labstock.stock.models import Container, Entry, Location, LocationKind, Substance


def usual_containers(containers: int, many: int = 30) -> list[Container]:
    """Return containers in use of usual substances, without holds, from the later half."""
    first = containers // 2
    found = [
        pk
        for pk in range(first, containers)
        if pk % ONE_OF_THE_GIANT_IN != 1 and pk % ONE_HELD_IN and pk % ONE_BLOCKED_IN
    ][:many]
    return list(Container.objects.filter(pk__in=found).select_related("lot", "substance").order_by("pk"))


def pages(containers: int, person: User) -> dict[str, str]:
    """Return the address of each page by what it is called."""
    one = usual_containers(containers, 1)[0]
    giant = Substance.objects.order_by("pk")[0]
    room = Location.objects.filter(kind=LocationKind.ROOM).order_by("pk")[1]
    shelf = Location.objects.filter(parent=room).order_by("pk")[1]
    today = timezone.localdate()
    lot = one.lot.number if one.lot else ""

    def stock(**asked: object) -> str:
        return f"/stock/?{urlencode(asked)}"

    def where(**asked: object) -> str:
        return f"/where/?{urlencode(asked)}"

    return {
        "scan page": f"/C/{one.code}",
        "front page": "/",
        "stock list": "/stock/",
        "of a place": stock(location=shelf.pk),
        "of a room": stock(location=room.pk),
        "of a substance": stock(substance=one.substance_id),
        "of the giant": stock(substance=giant.pk),
        "by a common word": stock(q="benz"),
        "by two words": stock(q="benz generated"),
        "by a lot": stock(q=lot),
        "by part of a code": stock(q=one.code[2:-1]),
        "by no such word": stock(q="zzzz"),
        "expiring": stock(ends_before=today + timedelta(days=30)),
        "by code": stock(sort="code"),
        "page 40": stock(page=40),
        "samples": "/samples/",
        "samples, common word": "/samples/?q=maker",
        "samples, two words": "/samples/?q=maker+19",
        "samples, no such word": f"/samples/?{urlencode({'q': lot})}",
        "substances": "/substances/",
        "substance": f"/substances/{one.substance_id}/",
        "where: container": where(container=one.code),
        "where: lot": where(lot=one.lot_id),
        "where: substance": where(substance=one.substance_id),
        "where: person, 20 lines": where(person=person.pk, **_days_of(person, 20)),
        "where: person, 100 lines": where(person=person.pk, **_days_of(person, 100)),
    }


def _days_of(person: User, lines: int) -> dict[str, date]:
    """Return the first and the last day of so many lines that a person wrote, from the middle of the lab's life on."""
    theirs = Entry.objects.filter(by=person).order_by("recorded_at", "id")
    span = theirs.aggregate(first=Min("recorded_at"), last=Max("recorded_at"))
    middle = span["first"] + (span["last"] - span["first"]) / 2
    found = list(theirs.filter(recorded_at__gte=middle).values_list("recorded_at", flat=True)[:lines])
    return {"from": timezone.localdate(found[0]), "to": timezone.localdate(found[-1])}

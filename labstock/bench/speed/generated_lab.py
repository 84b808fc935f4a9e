"""A laboratory of any size with whole ledgers: every line hashed and chained as the real ones are.

What a page shows stays as long in a large lab as in a small one (sessions of a day, containers of a usual substance, lines of
a person and day), but for one giant substance, which a tenth of all containers hold, and one person who wrote a tenth of all lines.
"""

import multiprocessing
import os
import random
from collections import defaultdict
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from datetime import datetime, timedelta
from itertools import islice

from django.conf import settings
from django.contrib.auth.hashers import make_password
from django.db import connection
from django.utils import timezone
from tqdm import tqdm

from batches.retained.models import RetainedSample
from labstock.bench.speed.generated_batches import make_batches
from labstock.bench.speed.loading import count_on, load
from labstock.bench.speed.made_rows import ENTRIES_EACH, Maker, Meeting, OnShelf, Rows, Shelf, make, take_over
from labstock.people.models import LabGroup, User
from labstock.people.roles import Role
from labstock.stock import word_index
from labstock.stock.codes import next_number
from labstock.stock.heads import NOTHING_YET, folded, keep
from labstock.stock.models import (
    CodeSeries,
    Container,
    Entry,
    Location,
    Lot,
    Reservation,
    ReservationEvent,
    Session,
    StateChange,
    Substance,
)
from labstock.stock.search_text import normalised
from labstock.writing import writing

__all__ = ["ENTRIES_EACH", "generate_lab", "person_of"]

PLACES, HOODS, GROUPS, SESSIONS_A_DAY, LOTS_EACH, USUAL_CONTAINERS = 60, 8, 12, 8, 3, 20
NUMBERED_FROM = 1000
SYLLABLES = (
    "meth", "eth", "prop", "but", "pent", "hex", "benz", "phen", "naph", "acet", "form", "oxal", "succin", "male",
)  # fmt: skip
ENDINGS = (
    "ane", "ene", "anol", "anal", "anone", "oic acid", "anoic anhydride", "amide", "aniline", "yl acetate",
)  # fmt: skip
CHUNK = 2000
IN_ONE_PROCESS = 10_000  # below, starting more takes longer than they save
LOADED = (Container, Reservation, Entry, ReservationEvent, StateChange, RetainedSample)


def generate_lab(containers: int, *, quiet: bool = False, workers: int | None = None) -> User:
    """Fill an empty database with so many containers of ten ledger lines each; return a person who may draw."""
    chance = random.Random(1934)  # noqa: S311  # the same lab every time
    word_index.remove(connection)  # built at the end in one go
    shelf, person = _shelf(containers, chance)
    head = NOTHING_YET
    with tqdm(total=containers * ENTRIES_EACH, unit=" lines", disable=quiet) as bar:
        for rows in _made(shelf, os.cpu_count() or 1 if workers is None else workers):
            with writing():
                for model in LOADED:
                    load(model, rows.get(model, []))
            for last in folded(head, _hashes(rows)):  # noqa: B007  # the last is wanted
                pass
            head = last[1]
            bar.update(len(rows[Entry]))
    count_on(LOADED)
    CodeSeries.objects.create(prefix=shelf.prefix, last_number=Container.objects.latest("number").number)
    make_batches(containers // 200, quiet=quiet)
    word_index.install(connection)
    with connection.cursor() as cursor:
        cursor.execute("VACUUM ANALYZE" if connection.vendor == "postgresql" else "ANALYZE")
    keep(*last)
    return person


def person_of() -> User:
    """Return the person of a generated lab who may draw."""
    return User.objects.filter(username__startswith="bench").order_by("pk").last() or User()


def _hashes(rows: Rows) -> Iterator[tuple[int, str]]:
    names = [field.attname for field in Entry._meta.concrete_fields]
    row, digest = names.index("id"), names.index("hash")
    return ((line[row], line[digest]) for line in rows[Entry])


def _made(shelf: Shelf, workers: int) -> Iterator[Rows]:
    """Yield the rows of all containers in order, a chunk of containers at a time."""
    numbers = _numbers(shelf.prefix)
    parts = ((first + 1, list(islice(numbers, min(CHUNK, shelf.containers - first))))
             for first in range(0, shelf.containers, CHUNK))  # fmt: skip
    maker = Maker(shelf)
    if workers < 2 or shelf.containers < IN_ONE_PROCESS:
        yield from (maker.made(*part) for part in parts)
        return
    connection.close()  # the processes that branch off have nothing to do with it
    with ProcessPoolExecutor(workers, multiprocessing.get_context("fork"), take_over, (maker,)) as pool:
        waiting: list[Future[Rows]] = []
        for part in parts:
            waiting.append(pool.submit(make, *part))
            if len(waiting) > 2 * workers:
                yield waiting.pop(0).result()
        yield from (future.result() for future in waiting)


def _numbers(prefix: str) -> Iterator[int]:
    number = NUMBERED_FROM
    while True:
        number = next_number(prefix, number)
        yield number


# ---------------------------------------------------------------- what stands around the containers


def _shelf(containers: int, chance: random.Random) -> tuple[Shelf, User]:
    groups = LabGroup.objects.bulk_create(LabGroup(name=f"Generated group {n}") for n in range(GROUPS))
    people = _people(min(max(containers // 2500, 8), 400), groups)
    rooms = Location.objects.bulk_create(
        Location(name=f"room {n}", kind="room", path=f"room {n}") for n in range(PLACES // 10)
    )
    places = Location.objects.bulk_create(
        Location(name=f"shelf {n}", kind="shelf", parent=room, path=f"{room.path}, shelf {n}")
        for room in rooms
        for n in range(10)
    )
    days = min(max(containers // 250, 250), 2500)
    midnight = timezone.localtime().replace(hour=0, minute=0, second=0, microsecond=0)
    shelf = Shelf(
        prefix=settings.LABSTOCK_CODE_PREFIX,
        containers=containers,
        first_day=midnight - timedelta(days=days),
        days=days,
        groups=tuple(group.pk for group in groups),
        people=tuple((person.pk, str(person)) for person in people),
        places=tuple(place.pk for place in places),
        lots=_lots(containers, midnight, chance),
        meetings=_meetings(max(containers // 20, 1), midnight, people, rooms),
    )
    return shelf, people[-1]


def _people(many: int, groups: Sequence[LabGroup]) -> list[User]:
    return User.objects.bulk_create(
        User(
            username=f"bench{n}", password=make_password(None), role=Role.MEMBER, first_name="Gene", last_name=f"Rated {n}",
            group=groups[n % len(groups)],
        )
        for n in range(many)
    )  # fmt: skip


def _lots(containers: int, midnight: datetime, chance: random.Random) -> tuple[tuple[OnShelf, ...], ...]:
    names = _names(1 + max(containers // USUAL_CONTAINERS, 2))
    substances = Substance.objects.bulk_create(
        (
            Substance(
                name=name, molar_mass_g_per_mol=100.0, density_g_per_mL=0.9, is_liquid=True, search_text=normalised(name)
            )
            for name in names
        ),
        batch_size=CHUNK,
    )  # fmt: skip
    first = midnight.date() - timedelta(days=30)
    giant = max(containers // 1000, LOTS_EACH)
    lots = Lot.objects.bulk_create(
        (
            Lot(
                substance=one, number=f"L{n:05d}-{m}", supplier="Generated (invented)", purity_kind="at least",
                purity_percent=98, expires_on=first + timedelta(days=chance.randrange(2000)),
            )
            for n, one in enumerate(substances)
            for m in range(LOTS_EACH if n else giant)
        ),
        batch_size=CHUNK,
    )  # fmt: skip
    found = defaultdict(list)
    for lot in lots:
        words = f"{lot.substance.search_text} {lot.number} {lot.supplier} {lot.grade}"
        end = lot.expires_on or first
        found[lot.substance_id].append(OnShelf(lot.pk, lot.substance_id, lot.substance.name, words, end))
    return tuple(tuple(found[one.pk]) for one in substances)


def _names(many: int) -> list[str]:
    """Return so many names; the usual ones are mixed by a stride that is prime to their number."""
    whole = len(SYLLABLES) ** 2 * len(ENDINGS)
    return [
        f"{1 + n // whole}-{SYLLABLES[k % 14]}{SYLLABLES[k // 14 % 14]}{ENDINGS[k // 196]}"
        for n in range(many)
        for k in [n * 1237 % whole]
    ]


def _meetings(
    many: int, midnight: datetime, people: Sequence[User], rooms: Sequence[Location]
) -> tuple[Meeting, ...]:
    """Make sessions, so many a day, from tomorrow back."""
    hoods = Location.objects.bulk_create(
        Location(name=f"hood {n}", kind="hood", parent=rooms[0], path=f"{rooms[0].path}, hood {n}")
        for n in range(HOODS)
    )
    now, rows = timezone.now(), []
    for n in range(many):
        start = midnight + timedelta(days=1 - n // SESSIONS_A_DAY, hours=9)
        rows.append(
            Session(
                title="generated", owner=people[n % len(people)], place=hoods[n % HOODS], starts_at=start,
                ends_at=start + timedelta(hours=3),
            )
        )  # fmt: skip
    Session.objects.bulk_create(rows, batch_size=CHUNK)
    return tuple(Meeting(row.pk, row.owner_id, row.starts_at, row.ends_at < now) for row in rows)

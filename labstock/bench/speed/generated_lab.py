"""A laboratory of any size, with whole ledgers: every line hashed and chained as the real ones are."""

import random
import uuid
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from itertools import islice

from django.conf import settings
from django.db import connection
from tqdm import tqdm

from batches.retained.models import KeptFor, RetainedSample
from labstock.people.models import LabGroup, User
from labstock.people.roles import Role
from labstock.stock.codes import make_code, next_number
from labstock.stock.heads import site_head
from labstock.stock.models import Container, Entry, Kind, Location, Lot, Purpose, Substance
from labstock.stock.models.container import MILLION
from labstock.stock.models.facts import said_of
from labstock.stock.search_text import normalised

ENTRIES_EACH = 10
SUBSTANCES, PLACES, ONE_SAMPLE_IN = 400, 60, 10
FIRST_DAY = datetime(2026, 1, 5, 9, tzinfo=UTC)
SYLLABLES = (
    "meth",
    "eth",
    "prop",
    "but",
    "pent",
    "hex",
    "benz",
    "phen",
    "naph",
    "acet",
    "form",
    "oxal",
    "succin",
    "male",
)
ENDINGS = (
    "ane",
    "ene",
    "anol",
    "anal",
    "anone",
    "oic acid",
    "anoic anhydride",
    "amide",
    "aniline",
    "yl acetate",
)
CHUNK = 2000


def generate_lab(containers: int, *, quiet: bool = False) -> User:
    """Fill an empty database with so many containers of ten ledger lines each; return a person who may draw."""
    chance = random.Random(1934)  # noqa: S311  # the same lab every time
    group = LabGroup.objects.create(name="Generated group")
    person = User.objects.create_user(
        "bench", password=None, role=Role.MEMBER, first_name="Gene", last_name="Rated", group=group
    )
    places = [Location(name=f"place {n}", kind="cupboard", path=f"place {n}") for n in range(PLACES)]
    Location.objects.bulk_create(places)
    lots = _lots(chance)
    with tqdm(total=containers, unit=" containers", disable=quiet) as bar:
        numbers = _numbers()
        for start in range(0, containers, CHUNK):
            many = min(CHUNK, containers - start)
            rows = [
                _container(number, chance, lots, places, group, person) for number in islice(numbers, many)
            ]
            Container.objects.bulk_create(rows)
            entries = [entry for row in rows for entry in _ledger(row, chance, person)]
            Entry.objects.bulk_create(entries)
            _keep_in_step(rows)
            _keep_some(rows, chance, person)
            bar.update(many)
    site_head()  # folds every line once, so that no page has to
    return person


def _numbers() -> Iterator[int]:
    number = 1000
    while True:
        number = next_number(settings.LABSTOCK_CODE_PREFIX, number)
        yield number


def _lots(chance: random.Random) -> list[Lot]:
    names = [
        f"{n}-{a}{b}{ending}"
        for n in range(1, 4)
        for a in SYLLABLES
        for b in SYLLABLES[:4]
        for ending in ENDINGS
    ]
    chance.shuffle(names)
    substances = [
        Substance(
            name=name,
            molar_mass_g_per_mol=100.0,
            density_g_per_mL=0.9,
            is_liquid=True,
            search_text=normalised(name),
        )
        for name in names[:SUBSTANCES]
    ]
    Substance.objects.bulk_create(substances)
    lots = [
        Lot(
            substance=one,
            number=f"L{n:05d}",
            supplier="Generated (invented)",
            purity_kind="at least",
            purity_percent=98,
        )
        for n, one in enumerate(substances * 3)
    ]
    Lot.objects.bulk_create(lots)
    return lots


def _container(
    number: int, chance: random.Random, lots: list[Lot], places: list[Location], group: LabGroup, person: User
) -> Container:
    lot = chance.choice(lots)
    is_kept = number % ONE_SAMPLE_IN == 0
    code = make_code(settings.LABSTOCK_CODE_PREFIX, number)
    return Container(
        code=code,
        number=number,
        substance=lot.substance,
        lot=lot,
        purpose=Purpose.RETAINED if is_kept else Purpose.REAGENT,
        unit="mL",
        capacity=500 * MILLION,
        heel=5 * MILLION,
        received_on=FIRST_DAY.date(),
        opened_on=FIRST_DAY.date(),
        location=chance.choice(places),
        owner_group=group,
        ends_on=date(2027, 1, 1) + timedelta(days=chance.randrange(2000)),
        search_text=normalised(f"{code} {lot.substance.search_text} {lot.number} {lot.supplier}"),
        band={"random2": 1.0, "commons": {}},
        created_by=person,
    )


def _ledger(container: Container, chance: random.Random, person: User) -> Iterator[Entry]:
    previous = ""
    for seq in range(1, ENTRIES_EACH + 1):
        change = 500 * MILLION if seq == 1 else -chance.randrange(1, 30) * MILLION
        container.remaining += change
        container.last_seq = seq
        at = FIRST_DAY + timedelta(days=20 * seq, seconds=container.number)
        entry = Entry(
            container=container,
            seq=seq,
            key=uuid.UUID(int=chance.getrandbits(128)),
            kind=Kind.RECEIVED if seq == 1 else Kind.DRAWN,
            change=change,
            after=container.remaining,
            typed=f"{abs(change) // MILLION} mL",
            device="" if seq == 1 else "cylinder-50-b",
            u_random=MILLION // 10,
            u_after=MILLION,
            done_at=at,
            recorded_at=at,
            by=person,
            by_name=str(person),
            about=said_of(container),
            previous_hash=previous,
        )
        entry.hash = previous = entry.digest()
        yield entry
    container.received, container.last_hash = 500 * MILLION, previous


def _keep_in_step(rows: list[Container]) -> None:
    """Write what the ledgers add up to; plain SQL, because a million rows pass here."""
    with connection.cursor() as cursor:
        cursor.executemany(
            "UPDATE stock_container SET remaining = %s, received = %s, last_seq = %s, last_hash = %s WHERE id = %s",
            [(row.remaining, row.received, row.last_seq, row.last_hash, row.pk) for row in rows],
        )


def _keep_some(rows: list[Container], chance: random.Random, person: User) -> None:
    """Make the containers kept as retained samples into samples with a year each."""
    samples = []
    for row in rows:
        if row.purpose != Purpose.RETAINED or row.substance is None:
            continue
        year = chance.randrange(1890, 2026)
        samples.append(
            RetainedSample(
                container=row,
                substance=row.substance,
                name=row.substance.name,
                kept_for=KeptFor.HISTORY,
                date_as_written=str(year),
                date_edtf=str(year),
                earliest_on=date(year, 1, 1),
                latest_on=date(year, 12, 31),
                maker=f"maker {chance.randrange(40)}",
                catalogued_by=person,
                catalogued_at=FIRST_DAY,
                search_text=normalised(f"{row.substance.name} {row.code} {year}"),
            )
        )
    RetainedSample.objects.bulk_create(samples)

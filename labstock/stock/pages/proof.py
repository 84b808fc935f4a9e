"""What a report carries so that it can be confirmed later: the head of the whole ledger when it was made."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone

from labstock.people.models import User
from labstock.stock.heads import Head, head_of_this_moment, in_eights
from labstock.stock.snapshot import one_moment
from labstock.stock.workbooks import write_table

HOW = "manage.py verify --head with this number"


@dataclass(frozen=True)
class Proof:
    """The head [hex digits in groups of eight] and when it was read."""

    head: str
    at: datetime


def proof_of_now() -> Proof:
    """Return the head as it stands; not inside `one_moment`."""
    return proof_by(head_of_this_moment())


def proven_table(
    rows: Iterable[Sequence[object]], headings: Sequence[str], title: str, person: User
) -> bytes:
    """Return a workbook of rows read in one moment, with the head of that moment on a sheet of its own."""
    with one_moment():
        told, head = list(rows), head_of_this_moment()
    return write_table(told, headings, title, proof=_proof_rows(proof_by(head), person))


def proof_by(head: Head) -> Proof:
    """Return a head as it is printed, and keep it now and then; not inside `one_moment`."""
    head.keep_now_and_then()
    return Proof(in_eights(head.head), timezone.now())


def _proof_rows(proof: Proof, person: User) -> Iterator[Sequence[object]]:
    yield "Made", timezone.localtime(proof.at)
    yield "By", str(person)
    yield "Head of the whole ledger", proof.head
    yield "To confirm it", HOW

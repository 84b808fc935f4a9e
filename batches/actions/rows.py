"""What every act on a batch shares: lock its row, and refuse who may not or what is closed."""

from batches.models import (
    Batch,
)
from labstock.chemistry.errors import LabError
from labstock.people.models import User
from labstock.people.roles import Act, may


def lock(batch: Batch, by: User) -> Batch:
    locked = Batch.objects.select_for_update(of=("self",)).select_related("owner", "session").get(pk=batch.pk)
    check_open(locked)
    check_owner(locked, by)
    return locked


def check_owner(batch: Batch, by: User) -> None:
    if batch.owner_id != by.pk and not may(by, Act.CORRECT):
        raise LabError(
            "not-yours",
            "Batch {number} is {owner}'s: add an observation, or ask {owner}.",
            number=batch.number,
            owner=batch.owner,
        )


def check_open(batch: Batch) -> None:
    if not batch.is_open:
        raise LabError(
            "frozen",
            "Batch {number} is {state} since {when:%d %b %Y} and cannot be changed: write an addition instead.",
            number=batch.number,
            state=batch.get_state_display(),
            when=batch.finished_at or batch.planned_at,
        )

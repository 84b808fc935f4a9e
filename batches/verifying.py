"""What `manage.py verify` checks of the batch records."""

from collections.abc import Iterator

from django.db.models import Q
from django.utils import timezone

from batches.digests import digest
from batches.models import Batch, BatchState
from labstock.stock.verifying import Fault


def find_changed_batches(using: str) -> Iterator[Fault]:
    """Yield each finished batch whose record is not what it was when it was finished."""
    closed = Batch.objects.using(using).filter(Q(state=BatchState.FINISHED) | ~Q(digest="")).order_by("pk")
    for batch in closed.iterator(chunk_size=500):
        if batch.state != BatchState.FINISHED:
            yield Fault(f"batch {batch.number}", f"has the digest of a finished record and is {batch.state}")
        elif digest(batch) != batch.digest:
            yield Fault(f"batch {batch.number}", "was changed after it was finished")


def confirm_digest(digits: str) -> str:
    """Say of which finished batch a number on a print-out is the digest; `find_changed_batches` has found it unchanged."""
    batch = Batch.objects.filter(digest__startswith=digits).first()
    if batch is None or batch.finished_at is None:
        return ""
    return (
        f"That is the digest of batch {batch.number}, {batch.title}, finished "
        f"{timezone.localtime(batch.finished_at):%d %b %Y %H:%M %Z}. Its record is what it was then."
    )

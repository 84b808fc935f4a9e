"""Putting samples aside and cataloguing old ones."""

import uuid
from dataclasses import dataclass, replace
from datetime import date

from django.utils import timezone

from batches.models import Batch, BatchProduct
from batches.retained.edtf import EdtfDate, read_edtf
from batches.retained.label_cautions import cautions_of
from batches.retained.models import KeptFor, ProvenanceNote, RetainedSample
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity
from labstock.people.models import LabGroup, User
from labstock.stock.actions.amounts import in_ledger_unit
from labstock.stock.actions.keeping import change_state
from labstock.stock.actions.lines import Doing, add_line, check_may_take, lock
from labstock.stock.actions.receiving import Arrival, receive
from labstock.stock.models import Container, Kind, Location, Purpose, State, Substance, VesselKind
from labstock.stock.models.container import MILLION
from labstock.stock.search_text import normalised
from labstock.writing import writing


@dataclass(frozen=True)
class Keeping:
    """How a sample is kept."""

    kept_for: str = KeptFor.RETENTION
    location: Location | None = None
    owner_group: LabGroup | None = None
    vessel: str = VesselKind.TUBE
    keep_until: date | None = None
    review_on: date | None = None


@dataclass(frozen=True)
class Statement:
    """What somebody says about where a sample has been, and on what evidence."""

    text: str
    subject: str = ProvenanceNote.Subject.FOUND
    date_edtf: str = ""
    evidence: str = ""


@dataclass(frozen=True)
class OldLabel:
    """What is known of a historic sample: as written, and as understood."""

    name: str
    label_as_written: str = ""
    date_as_written: str = ""
    date_edtf: str = ""
    maker: str = ""
    other_numbers: str = ""
    substance: Substance | None = None


def put_aside(
    *, product: Container, amount: Quantity, keeping: Keeping, doing: Doing, number: int | None = None
) -> RetainedSample:
    """Take a portion of a batch's product and keep it, linked both ways: one act, two ledgers."""
    made = BatchProduct.objects.select_related("batch").filter(container=product).first()
    if made is None:
        raise LabError(
            "no-batch",
            "{name} was not made in a batch here: catalogue the sample by hand instead.",
            name=product.name,
        )
    with writing():
        # asked for after the lock: a second sending waits there until the first is written
        locked = lock(product)
        done = RetainedSample.objects.filter(container__entries__key=doing.key).first()
        if done is not None:
            return done
        check_may_take(locked)
        portion = in_ledger_unit(locked, amount)
        if portion > locked.remaining:
            raise LabError(
                "more-than-is-left",
                "{amount} is more than the {left:g} {unit} of product left. Put less aside.",
                amount=amount.typed,
                left=locked.remaining / MILLION,
                unit=locked.unit,
            )
        doubt = locked.doubt_at(doing.at)
        share = doubt.u * portion / max(locked.remaining, 1)
        locked.opened_on = locked.opened_on or timezone.localdate(doing.at)
        out = replace(
            doing, key=uuid.uuid5(doing.key, "out"), purpose=f"retained sample, batch {made.batch.number}"
        )
        add_line(locked, out, kind=Kind.TRANSFERRED_OUT, change=-portion, band=doubt, typed=amount.typed)
        container = _tube(locked, amount, keeping, doing, share, number)
        batch = made.batch
        return _catalogue(container, batch, _label_of(batch, locked), keeping, doing)


def _tube(
    product: Container, amount: Quantity, keeping: Keeping, doing: Doing, u: float, number: int | None
) -> Container:
    return receive(
        arrival=Arrival(
            unit=product.unit,
            capacity=amount,
            amount=amount,
            lot=product.lot,
            substance=product.substance,
            described_as=product.described_as,
            purpose=Purpose.RETAINED,
            vessel=keeping.vessel,
            location=keeping.location,
            owner_group=keeping.owner_group or product.owner_group,
            u_amount=u,
            number=number,
        ),
        doing=doing,
    )


def _label_of(batch: Batch, product: Container) -> OldLabel:
    made_on = timezone.localdate(batch.finished_at or batch.planned_at)
    return OldLabel(
        name=product.name,
        date_as_written=f"{made_on:%d %b %Y}",
        date_edtf=made_on.isoformat(),
        maker=str(batch.owner),
        substance=product.substance,
    )


def catalogue_old(
    *,
    label: OldLabel,
    arrival: Arrival,
    keeping: Keeping,
    doing: Doing,
    provenance: Statement | None = None,
) -> RetainedSample:
    """Catalogue a historic sample that has no batch record here.

    A label that names something nobody should open blocks the container until the safety officer frees it.
    """
    if not label.name.strip():
        raise LabError("nameless", "A sample needs a name: write what the label says, or 'unknown'.")
    with writing():
        done = RetainedSample.objects.filter(container__entries__key=doing.key).first()
        if done is not None:
            return done
        arrival = replace(
            arrival,
            substance=label.substance,
            described_as=label.name,
            purpose=Purpose.RETAINED,
            vessel=keeping.vessel,
            location=keeping.location,
            owner_group=keeping.owner_group,
        )
        sample = _catalogue(receive(arrival=arrival, doing=doing), None, label, keeping, doing)
        if provenance is not None and provenance.text.strip():
            add_provenance(sample=sample, by=doing.by, **vars(provenance))
        _keep_shut(sample, doing)
        return sample


def _keep_shut(sample: RetainedSample, doing: Doing) -> None:
    found = cautions_of(normalised(f"{sample.name} {sample.label_as_written}"))
    if not found:
        return
    reason = f"Do not open or move it: the label says “{found[0].word}”, it may be {found[0].may_be}. Ask the safety officer."
    blocking = replace(doing, reason=reason, key=uuid.uuid4())
    sample.container = change_state(container=sample.container, to=State.BLOCKED, doing=blocking)


def _catalogue(
    container: Container, batch: Batch | None, label: OldLabel, keeping: Keeping, doing: Doing
) -> RetainedSample:
    understood = read_edtf(label.date_edtf) if label.date_edtf.strip() else None
    sample = RetainedSample(
        container=container,
        batch=batch,
        substance=label.substance,
        name=label.name.strip(),
        kept_for=keeping.kept_for,
        label_as_written=label.label_as_written,
        date_as_written=label.date_as_written,
        maker=label.maker,
        other_numbers=label.other_numbers,
        keep_until=keeping.keep_until,
        review_on=keeping.review_on,
        catalogued_by=doing.by,
        catalogued_at=doing.at,
    )
    if understood is not None:
        _set_date(sample, understood)
    sample.search_text = words_to_search(sample)
    sample.save()
    return sample


def _set_date(sample: RetainedSample, understood: EdtfDate) -> None:
    first, last = understood.earliest, understood.latest
    sample.date_edtf, sample.earliest_on, sample.latest_on = understood.text, first, last
    sample.sorted_on = first or last or date.max


def words_to_search(sample: RetainedSample) -> str:
    """Return everything a sample is found by."""
    parts = [
        sample.name,
        sample.substance.search_text if sample.substance else "",
        sample.container.code,
        sample.other_numbers,
        sample.maker,
        sample.label_as_written,
        sample.date_as_written,
        sample.date_edtf,
        sample.batch.number if sample.batch else "",
    ]
    return normalised(" ".join(part for part in parts if part))


def add_provenance(
    *,
    sample: RetainedSample,
    by: User,
    subject: str,
    text: str,
    date_edtf: str = "",
    evidence: str = "",
    understood_as: str = "",
    key: uuid.UUID | None = None,
) -> ProvenanceNote:
    """Add a statement about where a sample has been.

    `date_edtf` says when that was. `understood_as` is a new reading of the date of the sample itself: it becomes the
    date as understood, and how it was understood before stays in the record.
    """
    if not text.strip():
        raise LabError("nothing-written", "Nothing was written: say what is known and how.")
    happened = read_edtf(date_edtf).text if date_edtf.strip() else ""
    understood = read_edtf(understood_as) if understood_as.strip() else None
    with writing():
        done = ProvenanceNote.objects.filter(key=key, by=by).first() if key else None
        if done is not None:
            return done
        if understood is not None:
            _understand_date(sample, understood)
            text = f"Date understood as {understood.text}: {text.strip()}"
        return ProvenanceNote.objects.create(
            sample=sample, subject=subject, date_edtf=happened, text=text.strip(), evidence=evidence.strip(),
            by=by, at=timezone.now(), key=key,
        )  # fmt: skip


def _understand_date(sample: RetainedSample, understood: EdtfDate) -> None:
    """Change the date as understood, after writing down how it was understood when it was catalogued."""
    locked = RetainedSample.objects.select_for_update().get(pk=sample.pk)
    first = f"Date understood as {locked.date_edtf} when it was catalogued."
    is_first_change = not locked.provenance.filter(text__startswith="Date understood as ").exists()
    if locked.date_edtf and is_first_change:
        ProvenanceNote.objects.create(
            sample=locked, subject=ProvenanceNote.Subject.READING, text=first,
            by=locked.catalogued_by, at=locked.catalogued_at,
        )  # fmt: skip
    for row in (locked, sample):
        _set_date(row, understood)
    locked.search_text = words_to_search(locked)
    locked.save(update_fields=["date_edtf", "earliest_on", "latest_on", "sorted_on", "search_text"])


def learn_names(substance: Substance) -> None:
    """Let samples be found by the names their substance has now, too; they keep those it had when they were catalogued."""
    names = substance.search_text.split()
    rows = list(RetainedSample.objects.filter(substance=substance).select_for_update(of=("self",)))
    for row in rows:
        new = [name for name in names if name not in row.search_text]
        row.search_text = " ".join([row.search_text, *new])
    RetainedSample.objects.bulk_update(rows, ["search_text"], batch_size=500)

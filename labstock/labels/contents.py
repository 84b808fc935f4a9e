"""From a container to what its label says."""

from dataclasses import replace
from datetime import date, datetime
from typing import Any

from django.conf import settings
from django.utils import timezone

from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.chemistry.hazards import LabelElements, label_elements
from labstock.labels.content import Kind, LabelContent, show_date
from labstock.stock.codes import show_code
from labstock.stock.models import Container, LedgerUnit, Need, Purpose, VesselKind, Went
from labstock.stock.models.container import MILLION

# A label along a thin vessel, a label on a bottle; what is older than its label wears a tag.
KIND_OF: dict[str, Kind] = {VesselKind.VIAL: "vial", VesselKind.AMPOULE: "vial", VesselKind.TUBE: "vial"}
NOT_ON_RECORD = "Hazards not on record"
QUOTED_AT_MOST = 300
SHIFT = "THIS SHIFT ONLY"
# How loosely a solid lies in its jar where no density is known [g/mL]; common practice, no source.
BULK_DENSITY_G_PER_ML = 0.5


def content_of(container: Container, kind: Kind | None = None, is_full: bool = False) -> LabelContent:
    """Gather what a container's label says, for its own kind of label or the one asked for."""
    sample = getattr(container, "retained_sample", None)
    elements = elements_of(container)
    hazard_words = tuple(text for _, text in elements.statements) if elements else ()
    return LabelContent(
        code=container.code,
        url=address("S" if sample is not None else "C", container.code),
        name=container.name if sample is None else sample.name,
        kind=kind or _own_kind(container),
        lines=tuple(line for line in _lines(container) if line),
        # what an old sample holds is not for its tag
        strength=_strength(container) if sample is None else "",
        signal_word=elements.signal_word if elements else "",
        hazard_words=hazard_words or (NOT_ON_RECORD,),
        pictograms=elements.pictograms if elements else (),
        dates=_dates(container),
        quoted="" if sample is None else _shortened(sample.label_as_written),
        banner="WASTE" if container.purpose == Purpose.WASTE else "",
        is_full=is_full,
        capacity_mL=capacity_mL(container) if is_full else None,
        hazards=hazards_of(container) if is_full else (),
    )


def shift_content(container: Container, by: str, at: datetime) -> LabelContent:
    """Gather the label of what the person who poured it uses up in the same shift: name, who, when, no hazards.

    29 CFR 1910.1200(f)(8) asks for no label at all on such a vessel; the name of who stands by it is common practice.
    """
    content = content_of(container)
    hours = f"{timezone.localtime(at):%H:%M}, {show_date(timezone.localtime(at).date())}"
    return replace(
        content,
        banner=SHIFT,
        lines=(f"{by}, {hours}",),
        strength="",
        signal_word="",
        hazard_words=(),
        pictograms=(),
        dates=(),
        quoted="",
    )


def address(letter: str, code: str) -> str:
    """Return what a code on a label says: the site's short address, in capitals for large dots."""
    return f"{settings.PUBLIC_URL.upper()}/{letter}/{code}"


def hazards_of(container: Container) -> tuple[tuple[str, str], ...]:
    """Return the statements and categories on record."""
    if container.substance is None:
        return ()
    return tuple((str(code), str(category)) for code, category in container.substance.hazards)


def capacity_mL(container: Container) -> float | None:
    """Return how much room a container has [mL]; by its mass where it is kept by mass, None for pieces."""
    size = container.capacity / MILLION
    if container.unit == LedgerUnit.GRAM:
        density = container.lot.density if container.lot else None
        return float(size / (density.nominal_value if density is not None else BULK_DENSITY_G_PER_ML))
    return size if container.unit == LedgerUnit.MILLILITRE else None


def _own_kind(container: Container) -> Kind:
    if hasattr(container, "retained_sample"):
        return "tag"
    if container.vessel in KIND_OF:
        return KIND_OF[container.vessel]
    if container.purpose == Purpose.WASTE:
        return "waste"
    if container.purpose == Purpose.SOLUTION:
        return "solution"
    return "decanted" if _parent(container) is not None else "bottle"


def _parent(container: Container) -> Container | None:
    """Return what a container was decanted from; it reads from rows that were fetched with it."""
    return next((row.parent for row in container.came_from.all() if row.what == Went.DECANTED), None)


def elements_of(container: Container) -> LabelElements | None:
    """Return the label elements, or None where nothing is on record; wrong data stops the label."""
    if container.substance is None or not container.substance.hazards:
        return None
    try:
        return label_elements([(str(code), str(category)) for code, category in container.substance.hazards])
    except (LabError, ValueError, TypeError) as error:
        raise LabError(
            "label-hazards",
            "The label of {shown} is not printed, because the hazards of {substance} cannot be read: {why} "
            "Put them right on the substance's page, then print.",
            shown=show_code(container.code),
            substance=container.substance,
            why=str(error),
        ) from error


def _strength(container: Container) -> str:
    """Return the concentration, and the newest assay with its day and who made it; else what the lot claims."""
    lot, assay = container.lot, next(iter(container.assays.all()), None)
    parts = []
    if lot is not None and lot.concentration_mol_per_L is not None:
        parts.append(show(lot.concentration_mol_per_L, "mol/L", lot.concentration_u_mol_per_L))
    if assay is not None:
        found = show(assay.percent, "%", assay.u_percent)
        parts.append(f"{found} by assay of {show_date(assay.measured_on)}, {assay.by.short_name}")
    elif not parts and lot is not None and lot.purity_percent is not None:
        parts.append(lot.claim.words)
    return "; ".join(parts)


def _lines(container: Container) -> list[str]:
    sample = getattr(container, "retained_sample", None)
    if sample is not None:
        return _tag_lines(container, sample)
    lot, size = container.lot, show(container.capacity / MILLION, container.unit)
    where = "; ".join(
        str(part) for part in (container.location, container.owner_group, _storage(container)) if part
    )
    if container.purpose == Purpose.SOLUTION:
        by = f"made by {container.created_by.short_name}" if container.created_by else ""
        return [", ".join(part for part in (size, by) if part), where]
    if container.purpose == Purpose.WASTE:
        return [size, where, "Closed except while filling. Not into the drain."]
    parent = _parent(container)
    return [
        ", ".join(part for part in (lot.grade if lot else "", size) if part),
        f"decanted from {show_code(parent.code)}" if parent else "",
        ", ".join(part for part in (f"lot {lot.number}" if lot.number else "", lot.supplier) if part)
        if lot
        else "",
        where,
    ]


def _storage(container: Container) -> str:
    """Return how it must be kept, in the words of its needs; nothing where it needs nothing in particular."""
    needs = ", ".join(Need(need).label for need in container.needs)
    return f"keep {needs}" if needs else ""


def _tag_lines(container: Container, sample: Any) -> list[str]:
    """Return the small print of a retained sample's tag; the sample is known here by its words alone."""
    made = made_words(sample.earliest_on, sample.latest_on, sample.date_edtf)
    review = f"review {show_date(sample.review_on)}" if sample.review_on else ""
    return [
        ", ".join(
            part for part in (made, f"also {sample.other_numbers}" if sample.other_numbers else "") if part
        ),
        "; ".join(part for part in (str(container.location or ""), _storage(container)) if part),
        ", ".join(part for part in (f"kept by {sample.catalogued_by.short_name}", review) if part),
    ]


def _dates(container: Container) -> tuple[tuple[str, date | None], ...]:
    """Return the dates in their boxes; one that is not known yet is a box to write in."""
    lot = container.lot
    ends = (lot.expires_on if lot else None) or container.ends_on
    if hasattr(container, "retained_sample"):
        return ()
    if container.purpose == Purpose.SOLUTION:
        return (("made", container.received_on), ("use before", ends))
    if container.purpose == Purpose.WASTE:
        return (("begun", container.received_on), ("full", None))
    is_filled_here = container.purpose != Purpose.REAGENT or _parent(container) is not None
    stated = (
        ("filled" if is_filled_here else "received", container.received_on),
        ("opened", container.opened_on),
    )
    if lot is None:
        return stated
    limits = (("retest by", lot.retest_on), ("expiry", lot.expires_on))
    return (*stated, *((word, day) for word, day in limits if day is not None))


def made_words(earliest: date | None, latest: date | None, edtf: str) -> str:
    """Say when a sample was made, in as few words as a tag has room for.

    >>> made_words(date(1934, 1, 1), date(1934, 12, 31), "1934~"), made_words(None, date(1939, 12, 31), "../1939")
    ('made about 1934', 'made 1939 or before')
    """
    about = "about " if "~" in edtf or "%" in edtf else "perhaps " if "?" in edtf else ""
    if earliest is None and latest is None:
        return "date not known"
    if earliest is None or latest is None:
        return f"made {about}{latest.year} or before" if latest else f"made {about}{earliest.year} or later"  # type: ignore[union-attr]
    if earliest == latest:
        return f"made {about}{show_date(latest)}"
    years = str(latest.year) if earliest.year == latest.year else f"{earliest.year} to {latest.year}"
    return f"made {about}{years}"


def _shortened(text: str) -> str:
    text = " ".join(text.split())
    return text if len(text) <= QUOTED_AT_MOST else f"{text[:QUOTED_AT_MOST].rstrip()} …"

"""Labels of what is no container: places, badges, cards, blanks, boxes that hold several containers."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.conf import settings

from labstock.chemistry.errors import LabError
from labstock.chemistry.hazards import label_elements
from labstock.labels.codes_read import (
    ACTS,
    AMOUNTS,
    location_code,
    person_code,
    show_short_code,
)
from labstock.labels.content import LabelContent, Plate
from labstock.labels.contents import NOT_ON_RECORD, address, elements_of, hazards_of
from labstock.people.models import Badge
from labstock.stock.codes import make_code, show_code
from labstock.stock.models import Container, Location

DIFFER = "Hazards differ: read each label"


@dataclass(frozen=True)
class Box:
    """The label of a rack or box, and what its reader must know about the differences in it."""

    content: LabelContent
    warnings: tuple[str, ...] = ()


def location_plate(location: Location) -> Plate:
    """Return the label of a place: its name large, the way to it in small print."""
    code = location_code(location.pk)
    path = str(location.parent) if location.parent else ""
    offers = ", ".join(location.offers)
    return Plate(
        "location",
        address("L", code),
        code,
        show_short_code(code),
        location.name,
        tuple(line for line in (path, offers) if line),
    )


def badge_plate(badge: Badge) -> Plate:
    """Return a badge: it says who somebody is at a shared tablet, and opens nothing by itself."""
    code = person_code(badge.number)
    person = badge.person
    lines = tuple(line for line in (str(person.group or ""), "") if line)
    return Plate("person", code, code, "", str(person), lines)


def card_plates() -> list[Plate]:
    """Return the fields of the cards for a fixed scanner: what happened, done and undo first, then amounts."""
    acts = [Plate("act", f"ACT/{key}", f"ACT/{key}", "", words) for key, words in ACTS.items()]
    return acts + [
        Plate("amount", f"AMOUNT/{key}", f"AMOUNT/{key}", "", words) for key, words in AMOUNTS.items()
    ]


def blank_plate(number: int) -> Plate:
    """Return a label whose container is still to come: a code, and a line to write on."""
    code = make_code(settings.LABSTOCK_CODE_PREFIX, number)
    return Plate("blank", address("C", code), code, show_code(code))


def box_of(location: Location, containers: Sequence[Container]) -> Box:
    """Unite the hazards of everything in a box, and say where they differ."""
    if not containers:
        raise LabError(
            "box-empty",
            "Nothing stands in {place}, so its label has no hazards to show. Scan the containers into it first, "
            "or print the plain label of the place.",
            place=location,
        )
    hazards = {pair for container in containers for pair in hazards_of(container)}
    for container in containers:
        elements_of(container)  # hazards that cannot be read stop the label and name their substance
    elements = label_elements(sorted(hazards)) if hazards else None
    warnings = _differences(containers)
    names = list(dict.fromkeys(container.name for container in containers))
    unrecorded = any(not hazards_of(container) for container in containers)
    said = tuple(text for _, text in elements.statements) if elements else ()
    code = location_code(location.pk)
    return Box(
        LabelContent(
            code=code,
            url=address("L", code),
            name=location.name,
            shown=show_short_code(code),
            lines=(f"{len(containers)} container{'s' if len(containers) != 1 else ''}: {', '.join(names)}",),
            strength="",
            signal_word=elements.signal_word if elements else "",
            hazard_words=((DIFFER,) if warnings else ())
            + said
            + ((NOT_ON_RECORD + " for some" if said else NOT_ON_RECORD,) if unrecorded else ()),
            pictograms=elements.pictograms if elements else (),
        ),
        warnings,
    )


def _differences(containers: Sequence[Container]) -> tuple[str, ...]:
    """Say what each group of containers has, where not all have the same."""
    groups: dict[frozenset[tuple[str, str]], list[Container]] = {}
    for container in containers:
        groups.setdefault(frozenset(hazards_of(container)), []).append(container)
    if len(groups) < 2:
        return ()
    said = []
    for hazards, members in groups.items():
        codes = ", ".join(show_code(container.code) for container in members[:5])
        more = f" and {len(members) - 5} more" if len(members) > 5 else ""
        what = ", ".join(sorted(code for code, _ in hazards)) or "no hazards on record"
        said.append(f"{codes}{more} ({members[0].name}): {what}")
    return tuple(said)

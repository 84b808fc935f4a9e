"""Which containers a person means when labels are wanted."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.conf import settings
from django.db.models import Q, QuerySet

from labstock.chemistry.errors import LabError
from labstock.labels.models import LabelPrint
from labstock.stock.codes import narrow_mistake, read_code, show_code
from labstock.stock.models import Container, Location, State
from labstock.stock.search_text import normalised
from labstock.stock.word_index import holding

BETWEEN_CODES = re.compile(r"[\n\r,;]+")
SHOWN_PRINTS = 12


@dataclass(frozen=True)
class Printing:
    """How often a label was printed, and by whom and when last."""

    times: int
    by: str
    at: datetime


def printings_of(codes: Sequence[str]) -> dict[str, Printing]:
    """Return for each code that was printed before how often, and the last time; the newest line decides."""
    found: dict[str, Printing] = {}
    lines = LabelPrint.objects.filter(code__in=codes).select_related("by").order_by("-id")
    for line in lines:
        known = found.get(line.code)
        found[line.code] = (
            Printing(known.times + 1, known.by, known.at)
            if known
            else Printing(1, line.by.short_name, line.at)
        )
    return found


def last_prints() -> list[LabelPrint]:
    """Return the labels printed last."""
    return list(LabelPrint.objects.select_related("by")[:SHOWN_PRINTS])


def contents_of_place(location: Location) -> list[Container]:
    """Return what stands in a place itself, as far as anybody knows."""
    return list(
        to_be_labelled()
        .filter(location=location)
        .exclude(state__in=(State.DISPOSED, State.EMPTY))
        .order_by("number")
    )


def split_codes(typed: str) -> list[str]:
    """Part what was typed or scanned into codes: by lines, commas or semicolons; spaces belong to a code."""
    return [piece.strip() for piece in BETWEEN_CODES.split(typed) if piece.strip()]


def to_be_labelled() -> QuerySet[Container]:
    """Return containers with all that a label says; a retained sample is met by its name alone."""
    return Container.objects.select_related(
        "substance",
        "lot__substance",
        "location",
        "owner_group",
        "created_by",
        "retained_sample__catalogued_by",
    ).prefetch_related("came_from__parent", "assays__by")


def find_containers(pieces: list[str]) -> tuple[list[Container], list[LabError]]:
    """Return the containers meant, each once and in the order given, and what could not be read."""
    codes, refusals = _read(pieces)
    found = {container.code: container for container in to_be_labelled().filter(code__in=codes)}
    refusals += [_unknown(code) for code in codes if code not in found]
    return [found[code] for code in codes if code in found], refusals


def newest_first(search: str = "") -> QuerySet[Container]:
    """Return containers that are still there, latest arrivals first, that hold every word looked for."""
    rows = Container.objects.exclude(state=State.DISPOSED).select_related("substance", "location")
    return holding(rows.order_by("-id"), normalised(search).split()).rows


def _read(pieces: list[str]) -> tuple[list[str], list[LabError]]:
    codes: dict[str, None] = {}
    refusals = []
    for piece in pieces:
        try:
            codes[read_code(piece, settings.LABSTOCK_CODE_PREFIX)] = None
        except LabError as error:
            refusals.append(error)
    return list(codes), _narrowed(refusals)


def _narrowed(refusals: list[LabError]) -> list[LabError]:
    """Say each refusal again with those readings that exist; one query for all of them."""
    wanted: list[str] = []
    for error in refusals:
        candidates = error.parts.get("candidates", [])
        wanted += candidates if isinstance(candidates, list) else []
    known = set(Container.objects.filter(code__in=wanted).values_list("code", flat=True))
    return [narrow_mistake(error, known) for error in refusals]


def _unknown(code: str) -> LabError:
    return LabError(
        "unknown-code",
        "{shown} is written like one of our codes, but no container has it. Compare it with the label.",
        shown=show_code(code),
    )


def everything_in(path: str) -> list[Container]:
    """Return what stands in a place and in the places inside it, by its whole way from the room."""
    place = Location.objects.filter(path=path).first()
    if place is None:
        raise LabError(
            "unknown-place",
            "There is no place “{path}”. Write the whole way from the room, as in “room 214, cupboard 4”.",
            path=path,
        )
    inside = Q(location=place) | Q(location__path__startswith=f"{path}, ")
    return list(
        to_be_labelled()
        .filter(inside)
        .exclude(state__in=(State.DISPOSED, State.EMPTY))
        .order_by("location__path", "number")
    )

"""All that the page of other labels shows, worked out before the template."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Count, Q
from django.utils.safestring import SafeString

from labstock.chemistry.errors import LabError
from labstock.labels.forms import OtherForm
from labstock.labels.making import Box, box_of
from labstock.labels.preview import label_svg
from labstock.labels.queries import contents_of_place
from labstock.people.models import User
from labstock.people.queries import badge_of
from labstock.stock.models import Location, State


@dataclass(frozen=True)
class OtherPage:
    """The page: the box that was chosen as it will look, and whether the person has a badge."""

    box: Box | None
    drawing: SafeString
    refusal: str
    has_badge: bool
    filled: Sequence[Location]


def other_page(form: OtherForm, person: User) -> OtherPage:
    """Gather the page; a box that cannot be labelled says why."""
    place = _place(form)
    box, drawing, refusal = None, SafeString(""), ""
    if place is not None:
        try:
            box = box_of(place, contents_of_place(place))
            drawing = SafeString(label_svg(box.content))
        except LabError as error:
            refusal = error.message
    return OtherPage(box, drawing, refusal, badge_of(person) is not None, _filled())


def _place(form: OtherForm) -> Location | None:
    typed = str(form["box"].value() or "")
    if not typed.isascii() or not typed.isdigit() or len(typed) > 18:
        return None
    return Location.objects.select_related("parent").filter(pk=int(typed)).first()


def _filled() -> list[Location]:
    """Return the places with something in them, the fullest first."""
    there = Count("containers", filter=~Q(containers__state__in=(State.DISPOSED, State.EMPTY)))
    return list(Location.objects.annotate(number=there).filter(number__gt=1).order_by("-number", "path")[:8])

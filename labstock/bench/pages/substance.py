"""What is in it: identity, hazards, and where it came from and went."""

from dataclasses import dataclass
from typing import Any

from django.utils.safestring import SafeString

from labstock.chemistry.drawing import draw
from labstock.chemistry.errors import LabError
from labstock.chemistry.hazards import LabelElements, label_elements
from labstock.stock.models import Container


@dataclass(frozen=True)
class About:
    """The facts about the contents, and the records this container belongs to."""

    structure: SafeString
    hazards: tuple[tuple[str, str], ...]
    signal_word: str
    made_in: Any
    retained: Any


def about(container: Container) -> About:
    """Gather the facts that are on record; what is not known stays empty and the page says so."""
    made = getattr(container, "made_in", None)
    retained = getattr(container, "retained_sample", None)
    label = label_of(container)
    return About(
        _structure(container), label.statements, label.signal_word, made.batch if made else None, retained
    )


def _structure(container: Container) -> SafeString:
    substance = container.substance
    if substance is None or not substance.smiles:
        return SafeString()
    try:
        return SafeString(draw(substance.smiles, 180, 120, substance.name))
    except LabError:
        # a structure that cannot be drawn was let in by an older version; the page is worth more than the picture
        return SafeString()


def label_of(container: Container) -> LabelElements:
    """Return the hazards of the contents in words; statements that the table does not know stay as entered."""
    rows = (
        [(str(code), str(category)) for code, category in container.substance.hazards]
        if container.substance
        else []
    )
    try:
        return label_elements(rows)
    except LabError:
        # statements the table does not know are shown as they were entered
        return LabelElements((), (), "", tuple(rows))

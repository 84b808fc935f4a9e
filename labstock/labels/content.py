"""What a label says, before anybody decides where it stands."""

from dataclasses import dataclass
from datetime import date
from typing import Literal, get_args

from labstock.chemistry.errors import LabError
from labstock.labels.fonts import clean
from labstock.labels.pictograms import PICTOGRAMS
from labstock.labels.qr import is_alphanumeric
from labstock.stock.codes import show_code

Kind = Literal["vial", "cap", "bottle", "tag", "decanted", "solution", "waste"]
PlateKind = Literal["location", "person", "amount", "act", "blank"]


@dataclass(frozen=True)
class LabelContent:
    """Everything one label may say; templates leave out what does not fit and say so.

    `lines` is small print (grade, lot, place, group); `strength` is purity or concentration in words.
    A date that is None becomes a box to write in. `quoted` is the text on an old label, as written.
    `shown` is the code as people read it, where it is not a container's. With `is_full`, the label is drawn only
    where all of it stands at the sizes that the rules ask for; `capacity_mL` and `hazards` are what they go by.
    """

    code: str
    url: str
    name: str
    kind: Kind = "bottle"
    lines: tuple[str, ...] = ()
    strength: str = ""
    signal_word: str = ""
    hazard_words: tuple[str, ...] = ()
    pictograms: tuple[str, ...] = ()
    dates: tuple[tuple[str, date | None], ...] = ()
    quoted: str = ""
    shown: str = ""
    banner: str = ""
    is_full: bool = False
    capacity_mL: float | None = None
    hazards: tuple[tuple[str, str], ...] = ()

    def __post_init__(self) -> None:
        shown = self.shown_code
        if not clean(self.name):
            raise LabError(
                "label-without-name",
                "The label of {shown} has no name in words. Give the substance or the sample a name.",
                shown=shown,
            )
        if self.kind not in get_args(Kind):
            raise LabError(
                "label-kind",
                "“{kind}” is not a kind of label; there are {kinds}.",
                kind=self.kind,
                kinds=", ".join(get_args(Kind)),
            )
        if not is_alphanumeric(self.url):
            raise LabError(
                "label-address",
                "The address {url} on the label of {shown} has characters that make its code too fine. "
                "Write it in capital letters, such as HTTPS://STOCK.EXAMPLE/C/{stored}.",
                url=self.url[:80],
                shown=shown,
                stored=self.code,
            )
        if unknown := [code for code in self.pictograms if code not in PICTOGRAMS]:
            raise LabError(
                "label-pictogram",
                "The label of {shown} asks for the hazard picture {unknown}; known are {known}.",
                shown=shown,
                unknown=unknown[0],
                known=", ".join(PICTOGRAMS),
            )

    @property
    def shown_code(self) -> str:
        """Return the code in groups, as people read it."""
        return self.shown or show_code(self.code)

    @property
    def name_with_banner(self) -> str:
        """Return the name, behind the banner where that has no line of its own."""
        return f"{self.banner}: {self.name}" if self.banner else self.name

    @property
    def hazard_text(self) -> str:
        return " ".join(words if words.endswith((".", "!")) else f"{words}." for words in self.hazard_words)

    @property
    def small_print(self) -> tuple[str, ...]:
        """Strength goes before the first line, on the same one."""
        first = ", ".join(part for part in (self.strength, *self.lines[:1]) if part)
        return tuple(line for line in (first, *self.lines[1:]) if line)


@dataclass(frozen=True)
class Plate:
    """A label without hazards: a place, a badge, a field of an amount card, a blank for a later container.

    `text` is what the code says where there is room, `code` what it says where there is not, `shown` what people
    read. A name that is empty becomes a line to write on.
    """

    kind: PlateKind
    text: str
    code: str
    shown: str
    name: str = ""
    lines: tuple[str, ...] = ()

    @property
    def shown_code(self) -> str:
        """Return the code as people read it; a card's field has only its words."""
        return self.shown


Printable = LabelContent | Plate


def show_date(day: date) -> str:
    """A date as it stands on labels: day, month in letters, full year."""
    return f"{day.day} {day:%b} {day.year}"

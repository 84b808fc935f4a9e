"""What labels are printed on: sheets bought or cut, rolls, sizes of one's own."""

import re
from dataclasses import dataclass
from math import ceil

from labstock.chemistry.errors import LabError
from labstock.labels.measures import LabelSize, check_size


@dataclass(frozen=True)
class Sheet:
    """A page of equal labels [mm]; a sheet without die-cut labels gets marks to cut along."""

    words: str
    template: str
    width: float
    height: float
    columns: int
    rows: int
    gap: float = 0.0
    has_cut_marks: bool = False
    page: tuple[float, float] = (210.0, 297.0)

    @property
    def label(self) -> LabelSize:
        """Return the size of one label [mm]."""
        return LabelSize(self.width, self.height)

    @property
    def places(self) -> int:
        return self.columns * self.rows

    def pages(self, labels: int, start: int = 1) -> int:
        """Return how many sheets so many labels take from place `start` on."""
        return ceil((labels + start - 1) / self.places)

    def corner(self, place: int) -> tuple[float, float]:
        """Left and top edge of a place, counted from 0, row by row."""
        row, column = divmod(place, self.columns)
        left = (self.page[0] - self.columns * self.width - (self.columns - 1) * self.gap) / 2
        top = (self.page[1] - self.rows * self.height - (self.rows - 1) * self.gap) / 2
        return (left + column * (self.width + self.gap), top + row * (self.height + self.gap))


SHEETS = {
    "24-up": Sheet("A4, 24 self-sticking labels of 70 × 37 mm", "cell", 70, 37, 3, 8),
    "vial": Sheet("A4 to cut, 60 vial labels of 38 × 13 mm", "vial", 38, 13, 4, 15, 4, True),
    "cap": Sheet("A4 to cut, 88 cap labels of 20 mm across", "cap", 20, 20, 8, 11, 4, True),
    "bottle": Sheet("A4 to cut, 10 bottle labels of 74 × 52 mm", "bottle", 74, 52, 2, 5, 4, True),
    "tag": Sheet("A4 to cut, 12 tie-on tags of 86 × 40 mm", "tag", 86, 40, 2, 6, 4, True),
    "card": Sheet("A4 to cut, 8 fields of 90 × 60 mm", "", 90, 60, 2, 4, 6, True),
}
ONE_PER_PAGE = "one-per-page"
OWN_SIZE = re.compile(
    r"(?P<width>[0-9]{1,3}(?:\.[0-9]{1,2})?)x(?P<height>[0-9]{1,3}(?:\.[0-9]{1,2})?)(?P<sheet>-sheet)?"
)
OWN_GAP_MM, OWN_MARGIN_MM, FOOT_MM = 4.0, 8.0, 10.0


def is_sheet(size: str) -> bool:
    """Say whether a size means sheets of paper, and not a roll of labels."""
    return (
        size in SHEETS or size.endswith("-sheet") or (size != ONE_PER_PAGE and not OWN_SIZE.fullmatch(size))
    )


def own_size(size: str) -> LabelSize | None:
    """Return the size freely given for a roll ("57x32") [mm], or None where each label has that of its kind."""
    found = OWN_SIZE.fullmatch(size)
    return check_size(float(found["width"]), float(found["height"])) if found else None


def sheet_named(size: str) -> Sheet:
    """Return a sheet by its name, or lay out A4 for labels of a size freely given ("57x32-sheet")."""
    if size in SHEETS:
        return SHEETS[size]
    found = OWN_SIZE.fullmatch(size)
    if found is None or not found["sheet"]:
        raise LabError(
            "unknown-sheet",
            "“{size}” is not a sheet of labels; there are {sheets}. A size of your own is written like 57x32-sheet.",
            size=size[:40],
            sheets=", ".join([*SHEETS, ONE_PER_PAGE]),
        )
    return _sheet_to_cut(check_size(float(found["width"]), float(found["height"])))


def _sheet_to_cut(label: LabelSize) -> Sheet:
    columns = int((210 - 2 * OWN_MARGIN_MM + OWN_GAP_MM) / (label.width + OWN_GAP_MM))
    rows = int((297 - 2 * FOOT_MM + OWN_GAP_MM) / (label.height + OWN_GAP_MM))
    if not columns or not rows:
        raise LabError(
            "label-size",
            "A label of {size} has no room on A4 to cut: at most 194 × 277 mm. Print it one per page.",
            size=label,
        )
    words = f"A4 to cut, {columns * rows} labels of {label}"
    return Sheet(words, "", label.width, label.height, columns, rows, OWN_GAP_MM, True)


def check_start(size: str, start: int) -> Sheet:
    sheet = sheet_named(size)
    if not 1 <= start <= sheet.places:
        raise LabError(
            "start-off-sheet",
            "Place {start} is not on the sheet: its labels are counted from 1 to {places}, row by row.",
            start=start,
            places=sheet.places,
        )
    return sheet


def template_and_size(size: str) -> tuple[str, LabelSize | None]:
    """Return the template that a paper asks for and the size of one label; nothing where each has its own."""
    if is_sheet(size):
        sheet = sheet_named(size)
        return sheet.template, sheet.label
    return "", own_size(size)

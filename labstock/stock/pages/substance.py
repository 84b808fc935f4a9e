"""One substance: how much of it is usable in all, in which containers, and what is known of it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import SafeString

from labstock.chemistry.display import MINUS, show
from labstock.chemistry.drawing import draw
from labstock.chemistry.errors import LabError
from labstock.chemistry.hazards import PICTOGRAM_NAMES, LabelElements, hazard, label_elements
from labstock.look import words
from labstock.stock.account_sums import Doubt
from labstock.stock.models import Container, Lot, State, Substance
from labstock.stock.models.container import MILLION
from labstock.stock.queries import held_by_container

SOON = timedelta(days=60)
MOST_SHOWN = 100
GONE = (State.DISPOSED, State.EMPTY)


@dataclass(frozen=True)
class Fact:
    """One thing that is known, and who says so."""

    name: str
    value: SafeString | str
    source: str


@dataclass(frozen=True)
class Standing:
    """One container with what can be got out of it."""

    container: Container
    held: int
    why: str

    @property
    def usable(self) -> float:
        """Return what is neither heel nor held [container's unit]; nothing where it may not be used."""
        row = self.container
        left = row.remaining - row.heel - self.held
        return max(left, 0) / MILLION if row.state == State.IN_USE else 0.0

    @property
    def amount(self) -> tuple[float, float]:
        """Return what is left with its standard uncertainty [container's unit]."""
        return self.container.amount, self.container.doubt.u

    @property
    def capacity(self) -> float:
        """Return the size [container's unit]."""
        return self.container.capacity / MILLION

    @property
    def heel(self) -> float:
        """Return what cannot be got out [container's unit]."""
        return self.container.heel / MILLION

    @property
    def held_amount(self) -> float:
        """Return what is promised to sessions [container's unit]."""
        return self.held / MILLION


@dataclass(frozen=True)
class LotRow:
    """One lot with its claims in words."""

    lot: Lot
    purity: str
    dates: str

    @property
    def concentration(self) -> tuple[float, float] | None:
        """Return the concentration with its standard uncertainty [mol/L], if it is a solution."""
        found = self.lot.concentration
        return None if found is None else (found.nominal_value, found.std_dev)


@dataclass(frozen=True)
class SubstancePage:
    """A substance as its page shows it."""

    substance: Substance
    drawing: SafeString
    totals: tuple[str, ...]
    standing: tuple[Standing, ...]
    more: int
    lots: tuple[LotRow, ...]
    facts: tuple[Fact, ...]
    label: LabelElements | None
    hazards: tuple[tuple[str, str, str], ...]

    @property
    def sign(self) -> str:
        """Return the sign of the answer."""
        return "yes" if self.totals else "no"

    @property
    def answer(self) -> str:
        """Say how much can be used."""
        if self.totals:
            return f"{' and '.join(self.totals)} usable in all"
        return "Nothing usable on the shelf"

    @property
    def receive_url(self) -> str:
        """Return where more of it is received."""
        return f"{reverse('container-receive')}?substance={self.substance.pk}"

    @property
    def pictograms(self) -> str:
        """Name the pictograms of its label."""
        shown = self.label.pictograms if self.label else ()
        return ", ".join(PICTOGRAM_NAMES[code] for code in shown)

    @property
    def usable_count(self) -> int:
        """Return in how many containers something can be used."""
        return sum(1 for row in self.standing if row.usable > 0)


def substance_page(substance: Substance) -> SubstancePage:
    """Gather the page."""
    today = timezone.localdate()
    containers = list(
        Container.objects.filter(substance=substance)
        .exclude(state__in=GONE)
        .select_related("lot", "location", "owner_group")
        .defer("search_text")
        .order_by("number")
    )
    for container in containers:
        container.substance = substance
    held = held_by_container([row.pk for row in containers])
    standing = sorted(
        (Standing(row, held.get(row.pk, 0), why_here(row, today)) for row in containers),
        key=lambda row: _place_in_line(row, today),
    )
    return SubstancePage(
        substance=substance,
        drawing=drawing_of(substance.smiles, substance.name),
        totals=tuple(_totals(standing)),
        standing=tuple(standing[:MOST_SHOWN]),
        more=max(len(standing) - MOST_SHOWN, 0),
        lots=tuple(_lot_row(lot) for lot in substance.lots.order_by("-id")[:MOST_SHOWN]),
        facts=tuple(_facts(substance)),
        label=_label(substance),
        hazards=tuple(_hazard_words(substance)),
    )


def drawing_of(smiles: str, name: str = "") -> SafeString:
    """Draw a structure, or nothing where none is known or it cannot be drawn."""
    if not smiles:
        return SafeString("")
    try:
        return SafeString(draw(smiles, 220, 150, name))
    except LabError:
        # a structure let in by another door; the page is worth more than the picture
        return SafeString("")


def _place_in_line(row: Standing, today: date) -> tuple[object, ...]:
    """First expired, first out, with lab sense (PRACTICE D8): what is past its date comes after what is not."""
    container = row.container
    is_past = container.ends_on is not None and container.ends_on < today
    end = container.ends_on or date.max
    return (row.usable <= 0, is_past, end, container.opened_on is None, row.usable, container.number)


def why_here(container: Container, today: date) -> str:
    """Say in a few words what speaks for or against a container."""
    if container.state != State.IN_USE:
        because = f": {container.state_because}" if container.state_because else ""
        return f"{container.get_state_display()}{because}"
    parts = []
    if container.ends_on is not None and container.ends_on < today:
        parts.append(f"past its date of {container.ends_on:%d %b %Y}")
    elif container.ends_on is not None and container.ends_on <= today + SOON:
        parts.append(f"ends soon, {container.ends_on:%d %b %Y}")
    elif container.ends_on is not None:
        parts.append(f"good until {container.ends_on:%d %b %Y}")
    parts.append(f"open since {container.opened_on:%d %b %Y}" if container.opened_on else "sealed")
    return ", ".join(parts)


def _totals(standing: Iterable[Standing]) -> Iterable[str]:
    """Add up what is usable, unit by unit; doubts of one device go together, the rest add in squares."""
    rows = [row for row in standing if row.usable > 0]
    for unit in sorted({row.container.unit for row in rows}):
        of_unit = [row for row in rows if row.container.unit == unit]
        u = Doubt.of(row.container.doubt for row in of_unit).u
        yield show(sum(row.usable for row in of_unit), unit, u or None)


def _lot_row(lot: Lot) -> LotRow:
    dates = [
        f"{word} {day:%d %b %Y}"
        for word, day in (("expires", lot.expires_on), ("retest", lot.retest_on))
        if day
    ]
    return LotRow(lot, lot.claim.words, ", ".join(dates) or "no expiry or retest on record")


def _facts(substance: Substance) -> Iterable[Fact]:
    sources = substance.sources
    yield Fact("CAS number", substance.cas or words.UNKNOWN, sources.get("cas", ""))
    formula = words.formula(substance.formula) if substance.formula else words.UNKNOWN
    yield Fact("Formula", formula, sources.get("formula", ""))
    mass = substance.molar_mass
    shown = words.UNKNOWN if mass is None else words.amount((mass.nominal_value, mass.std_dev), "g/mol")
    yield Fact("Molar mass", shown, sources.get("molar_mass", ""))
    yield Fact("Density", _density(substance), sources.get("density", ""))
    yield Fact("Boiling point", *_boiling_point(substance))
    yield _flag(
        "Moisture",
        substance.is_moisture_sensitive,
        "sensitive: keep dry",
        substance.moisture_because,
        substance,
    )
    yield _flag(
        "Peroxides", substance.is_peroxide_former, "forms them in air", substance.peroxide_because, substance
    )


def _density(substance: Substance) -> SafeString | str:
    density = substance.density
    if density is None:
        return words.UNKNOWN
    at = substance.density_at_celsius
    where = "" if at is None else f" at {at:g} °C"
    return SafeString(f"{words.amount((density.nominal_value, density.std_dev), 'g/mL')}{where}")


def _boiling_point(substance: Substance) -> tuple[str, str]:
    """Return the boiling point with its source; without it nothing is expected to evaporate, and that is said."""
    celsius = substance.boiling_point_celsius
    if celsius is not None:
        return f"{celsius:.4g} °C".replace("-", MINUS), str(substance.sources.get("boiling_point", ""))
    return words.UNKNOWN, "no allowance for evaporation is made" if substance.is_liquid else ""


def _flag(name: str, is_set: bool, said: str, because: str, substance: Substance) -> Fact:
    if is_set:
        return Fact(name, said, because)
    nothing = "nothing in the structure suggests it" if substance.smiles else "no structure to judge by"
    return Fact(name, "not flagged", because or nothing)


def _label(substance: Substance) -> LabelElements | None:
    try:
        return label_elements((str(code), str(category)) for code, category in substance.hazards)
    except LabError:
        # a pair let in by another door; the statements are listed all the same
        return None


def _hazard_words(substance: Substance) -> Iterable[tuple[str, str, str]]:
    for code, category in substance.hazards:
        try:
            text = "; ".join(hazard(part, "" if "+" in code else category).text for part in code.split("+"))
        except LabError:
            text = ""
        yield str(code), str(category), text

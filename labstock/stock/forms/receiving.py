"""A delivery at the door: which substance and lot, how many, how much in each, and where it goes."""

import uuid
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity, parse_quantity
from labstock.people.models import LabGroup, User
from labstock.stock.actions.amounts import UNIT_OF
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.receiving import Arrival
from labstock.stock.forms.fields import DayField, LinesField, QuantityField
from labstock.stock.forms.lots import LotForm
from labstock.stock.makers_code import MakersCode
from labstock.stock.models import LedgerUnit, Location, Lot, Need, Substance, VesselKind
from labstock.stock.models.container import MILLION
from labstock.stock.queries import came_under

LEDGER_DIMENSIONS = ("volume", "mass", "count")
BROKEN = "This form lost a part of itself on the way: open the page again and enter it anew."


@dataclass(frozen=True)
class ProposedNeed:
    """What the substance asks of its place, and why."""

    need: Need
    because: str


# Hazard statements that ask for a ventilated place; common practice, no source.
VENTED_FOR = {
    "H224": "extremely flammable", "H225": "highly flammable", "H330": "fatal if inhaled",
    "H331": "toxic if inhaled",
}  # fmt: skip


def proposed_needs(substance: Substance) -> list[ProposedNeed]:
    """Propose storage needs from what is known of the substance; the person decides."""
    needs = []
    if substance.is_moisture_sensitive:
        needs.append(ProposedNeed(Need.DRY, "moisture-sensitive"))
    if substance.is_peroxide_former:
        needs.append(ProposedNeed(Need.DARK, "light starts peroxides"))
    codes = [part for pair in substance.hazards for part in str(pair[0]).split("+")]
    vented = next((VENTED_FOR[code] for code in codes if code in VENTED_FOR), "")
    if vented:
        needs.append(ProposedNeed(Need.VENTED, vented))
    return needs


class ReceiveForm(forms.Form):
    """Equal containers of one lot."""

    key = forms.UUIDField(
        initial=uuid.uuid4, widget=forms.HiddenInput, error_messages={"required": BROKEN, "invalid": BROKEN}
    )
    lot = forms.ModelChoiceField(
        Lot.objects.none(), required=False, label="Lot", empty_label="another lot, described below"
    )
    capacity = QuantityField(
        dimensions=LEDGER_DIMENSIONS, label="How many, and how big",
        help_text="500 mL for one; 2 x 500 mL for two equal ones. Each gets its own code.",
    )  # fmt: skip
    amount = QuantityField(
        dimensions=LEDGER_DIMENSIONS, required=False, allow_zero=True, label="In each now",
        help_text="Left empty, they are full.",
    )  # fmt: skip
    unit = forms.ChoiceField(choices=LedgerUnit, widget=forms.RadioSelect, label="How it will be taken")
    vessel = forms.ChoiceField(choices=VesselKind, widget=forms.RadioSelect, label="Vessel")
    gross = LinesField(
        label="Gross mass of each, in g",
        help_text="One a line, in the order of the labels; cap on, a label stuck on. Five seconds that pay for "
        "years: afterwards the balance alone says how much is left.",
    )  # fmt: skip
    heel = QuantityField(
        dimensions=LEDGER_DIMENSIONS, required=False, allow_zero=True, label="Cannot be got out",
        help_text="Left empty: 2 % of the size for a liquid, nothing for a solid.",
    )  # fmt: skip
    labels = LinesField(
        widget=forms.Textarea(attrs={"data-takes-codes": ""}),
        label="Use the label already stuck on it",
        help_text="Scan the blank label on each, one a line, in the order of the containers. Left empty, new labels "
        "are printed.",
    )
    location = forms.ModelChoiceField(
        Location.objects.order_by("path"), required=False, label="It goes to", empty_label="not decided yet"
    )
    owner_group = forms.ModelChoiceField(
        LabGroup.objects.all(), required=False, label="Owned by", empty_label="the whole lab"
    )
    needs = forms.MultipleChoiceField(
        choices=Need, required=False, widget=forms.CheckboxSelectMultiple, label="What it needs of its place"
    )
    received_on = DayField(required=True, label="Received on")
    opened_on = DayField(label="Opened on", help_text="Only if it has been opened already.")

    def __init__(
        self,
        data: Any = None,
        *,
        substance: Substance,
        person: User,
        lot_pk: str = "",
        came: MakersCode | None = None,
        labels: str = "",
    ) -> None:
        lot_here = substance.lots.filter(number=came.lot).first() if came and came.lot else None
        start = _start(substance, person, str(lot_here.pk) if lot_here else lot_pk) | {"labels": labels}
        new: dict[str, Any] = {}
        if came:
            pack, maker = _as_before(substance, came.gtin)
            start |= pack
            new = maker | {
                "number": came.lot,
                "expires_on": came.expires_on,
                "product_number": came.gtin,
            }
        super().__init__(data, initial=start)
        self.substance, self.person = substance, person
        self.new_lot = LotForm(data, prefix="new", initial=new)
        lots = self.fields["lot"]
        assert isinstance(lots, forms.ModelChoiceField)
        lots.queryset = substance.lots.select_related("substance").order_by("-id")

    @property
    def sent_key(self) -> str:
        """Return the key to send again after a refusal; a new one where the old one was unreadable."""
        return str(uuid.uuid4() if "key" in self.errors else self["key"].value())

    def is_valid(self) -> bool:
        """Check both parts, so that all that is wrong is said at once."""
        return all([super().is_valid(), self.lot_is_chosen or self.new_lot.is_valid()])

    @property
    def lot_is_chosen(self) -> bool:
        """Say whether an existing lot was chosen; the new one is then not looked at."""
        return bool(self["lot"].value())

    def clean(self) -> dict[str, Any]:
        """Read the masses and see that the size is in a unit that the ledger can be kept in."""
        said = super().clean() or {}
        if "gross" in said:
            said["gross"] = self._masses(said["gross"])
        size, unit = said.get("capacity"), said.get("unit")
        if size and unit and "piece" in (unit, size.unit.symbol) and size.dimension != UNIT_OF[unit]:
            self.add_error(
                "unit",
                f"'{size.typed}' is {_a(size.dimension)}, and it is to be taken in {unit}: change one of them.",
            )
        return said

    def _masses(self, lines: list[str]) -> list[Quantity]:
        masses = []
        for place, line in enumerate(self.data.get("gross", "").split("\n"), start=1):
            if not line.strip():
                continue
            try:
                masses.append(
                    parse_quantity(line.strip(), dimensions=("mass",), default_unit="g", allow_zero=False)
                )
            except LabError as error:
                self.add_error("gross", ValidationError(f"Line {place}: {error.message}", code=error.code))
        return masses

    def arrival(self) -> Arrival:
        """Return one of the equal containers as it comes in."""
        said = self.cleaned_data
        size = said["capacity"].each
        return Arrival(
            unit=said["unit"],
            capacity=size,
            amount=said["amount"].each if said["amount"] is not None else size,
            substance=self.substance,
            lot=said["lot"],
            vessel=said["vessel"],
            heel=said["heel"],
            location=said["location"],
            owner_group=said["owner_group"],
            needs=said["needs"],
            received_on=said["received_on"],
            opened_on=said["opened_on"],
        )

    @property
    def count(self) -> int:
        """Return how many came."""
        return int(self.cleaned_data["capacity"].count)

    def lot_to_add(self) -> dict[str, Any] | None:
        """Return the columns of the new lot, or None where one was chosen or nothing is known of it."""
        if self.lot_is_chosen or not self.new_lot.has_changed():
            return None
        return self.new_lot.fields_of_lot()

    def doing(self) -> Doing:
        """Return who receives, and what makes it this one act."""
        return Doing(by=self.person, key=self.cleaned_data["key"])


def _start(substance: Substance, person: User, lot_pk: str) -> dict[str, Any]:
    today: date = timezone.localdate()
    return {
        "lot": lot_pk,
        "unit": LedgerUnit.MILLILITRE if substance.is_liquid else LedgerUnit.GRAM,
        "vessel": VesselKind.BOTTLE if substance.is_liquid else VesselKind.JAR,
        "owner_group": person.group_id,
        "needs": [row.need for row in proposed_needs(substance)],
        "received_on": today,
    }


def _as_before(substance: Substance, product_number: str) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return what a product is like each time it comes: its pack, and who makes it in which grade."""
    last = came_under(product_number).filter(substance=substance).first()
    if last is None or last.lot is None:
        return {}, {}
    size = f"{Decimal(last.capacity) / MILLION:f} {last.unit}"
    return (
        {"capacity": size, "unit": last.unit, "vessel": last.vessel},
        {"supplier": last.lot.supplier, "grade": last.lot.grade},
    )


def _a(dimension: str) -> str:
    return f"{'an' if dimension[0] in 'aeiou' else 'a'} {dimension}"

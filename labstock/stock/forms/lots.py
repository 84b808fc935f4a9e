"""One maker's production: what its label and certificate claim, and its two dates."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from labstock.chemistry.errors import LabError
from labstock.chemistry.purity import Claim
from labstock.chemistry.quantities import Quantity
from labstock.stock.forms.fields import DayField, QuantityField, typed_again
from labstock.stock.makers_code import find_makers_code
from labstock.stock.models import Lot, PurityKind

PLUS_MINUS_KINDS = (PurityKind.CERTIFICATE, PurityKind.ASSAY)


class LotForm(forms.Form):
    """A lot of a substance that is known already."""

    supplier = forms.CharField(max_length=120, required=False, label="Supplier")
    number = forms.CharField(max_length=80, required=False, label="Lot number")
    product_number = forms.CharField(
        max_length=200, required=False, label="Number of the maker’s bar code",
        help_text="Scan it, or type its 12 to 14 digits: the next delivery under it is known at once.",
        widget=forms.TextInput(attrs={"data-takes-codes": "", "inputmode": "numeric", "autocomplete": "off"}),
    )  # fmt: skip
    grade = forms.CharField(max_length=80, required=False, label="Grade", help_text="As on the label.")
    purity_kind = forms.ChoiceField(
        choices=PurityKind, widget=forms.RadioSelect, initial=PurityKind.UNKNOWN, required=False,
        label="What the purity on the label means",
    )  # fmt: skip
    purity_percent = QuantityField(
        dimensions=("fraction",), default_unit="%", required=False, label="Purity",
        widget=forms.TextInput(attrs={"data-unit": "%", "inputmode": "decimal"}),
    )  # fmt: skip
    purity_half_width = QuantityField(
        dimensions=("fraction",), default_unit="%", required=False, label="±, as certified (k = 2)",
        widget=forms.TextInput(attrs={"data-unit": "%", "inputmode": "decimal"}),
    )  # fmt: skip
    expires_on = DayField(label="Expires on", help_text="The maker’s last day of use.")
    retest_on = DayField(label="Retest on", help_text="The day to measure it again; it may go on after that.")
    density = QuantityField(
        dimensions=("density",), default_unit="g/mL", low=0.01, high=25, required=False,
        label="Density of this lot", help_text="Only if its certificate gives one; else the substance’s counts.",
    )  # fmt: skip
    concentration = QuantityField(
        dimensions=("concentration",), default_unit="mol/L", low=1e-9, high=60, required=False,
        label="Concentration", help_text="For a solution: 2.50 ± 0.05 mol/L.",
    )  # fmt: skip

    def clean_product_number(self) -> str:
        """Take the product's number out of whatever the maker's code says."""
        typed = self.cleaned_data["product_number"].strip()
        if not typed:
            return ""
        if said := find_makers_code(typed, timezone.localdate()):
            return said.gtin
        raise ValidationError(
            f"‘{typed}’ is no number of a product: give the 12 to 14 digits under the maker’s bar code, of which the "
            "last one is a check on the others. If they do not fit, leave it empty.",
            code="no-product-number",
        )

    def clean(self) -> dict[str, Any]:
        """Check that number and meaning belong together, and the two dates to each other."""
        said = super().clean() or {}
        said["purity_kind"] = said.get("purity_kind") or PurityKind.UNKNOWN
        if not self.errors.keys() & {"purity_percent", "purity_half_width", "purity_kind"}:
            self._check_purity(said)
        expires, retest = said.get("expires_on"), said.get("retest_on")
        if expires and retest and retest > expires:
            self.add_error(
                "retest_on",
                f"A retest on {retest:%d %b %Y} comes after it expires ({expires:%d %b %Y}): check the two days.",
            )
        return said

    def _check_purity(self, said: dict[str, Any]) -> None:
        kind, percent, half = (
            said["purity_kind"],
            _percent(said["purity_percent"]),
            _percent(said["purity_half_width"]),
        )
        if kind == PurityKind.UNKNOWN and (percent or half):
            given = said["purity_percent"] or said["purity_half_width"]
            self.add_error(
                "purity_kind", f"'{given.typed}' is given: say what it means, or leave the number empty."
            )
        elif percent is not None and percent > 100:
            self.add_error("purity_percent", f"{percent:g} % is over 100 %: enter 100 and widen the ±.")
        elif half is not None and kind not in PLUS_MINUS_KINDS:
            self.add_error(
                "purity_half_width",
                "A ± belongs to a certificate or a measurement: choose that, or leave it empty.",
            )
        else:
            try:
                Claim(kind, percent, None if half is None else half / 2)
            except LabError as error:
                self.add_error("purity_percent", ValidationError(error.message, code=error.code))

    def fields_of_lot(self) -> dict[str, Any]:
        """Return the cleaned form as the columns of a lot."""
        said = self.cleaned_data
        density, concentration = said["density"], said["concentration"]
        return {
            "supplier": said["supplier"].strip(),
            "number": said["number"].strip(),
            "product_number": said["product_number"],
            "grade": said["grade"].strip(),
            "purity_kind": said["purity_kind"],
            "purity_percent": None if said["purity_percent"] is None else said["purity_percent"].in_unit("%"),
            "purity_half_width": None
            if said["purity_half_width"] is None
            else said["purity_half_width"].in_unit("%"),
            "expires_on": said["expires_on"],
            "retest_on": said["retest_on"],
            "density_g_per_mL": _number(density, "g/mL"),
            "density_u_g_per_mL": _u(density, "g/mL"),
            "concentration_mol_per_L": _number(concentration, "mol/L"),
            "concentration_u_mol_per_L": _u(concentration, "mol/L"),
        }


def lot_as_typed(lot: Lot) -> dict[str, Any]:
    """Return a lot as the form would have been filled in."""
    own_density = lot.density if lot.density_g_per_mL is not None else None
    return {
        "supplier": lot.supplier,
        "number": lot.number,
        "product_number": lot.product_number,
        "grade": lot.grade,
        "purity_kind": lot.purity_kind,
        "purity_percent": "" if lot.purity_percent is None else f"{lot.purity_percent.normalize():f}",
        "purity_half_width": ""
        if lot.purity_half_width is None
        else f"{lot.purity_half_width.normalize():f}",
        "expires_on": lot.expires_on,
        "retest_on": lot.retest_on,
        "density": typed_again(own_density, "g/mL"),
        "concentration": typed_again(lot.concentration, "mol/L"),
    }


def _percent(quantity: Quantity | None) -> float | None:
    return None if quantity is None else float(quantity.in_unit("%"))


def _number(quantity: Quantity | None, unit: str) -> float | None:
    return None if quantity is None else float(quantity.in_unit(unit))


def _u(quantity: Quantity | None, unit: str) -> float | None:
    if quantity is None or quantity.u is None:
        return None
    u = quantity.to(unit).u
    return None if u is None else float(u)

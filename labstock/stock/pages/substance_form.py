"""The form of a substance with what is suggested and proposed beside each field."""

from dataclasses import dataclass
from typing import Any

from django.utils.safestring import SafeString

from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.chemistry.formula import parse_formula
from labstock.chemistry.structure import formula_of, propose_moisture, propose_peroxide
from labstock.stock.forms.substances import SubstanceForm, words_of
from labstock.stock.models import Substance
from labstock.stock.pages.substance import drawing_of
from labstock.stock.prefill import Looked


@dataclass(frozen=True)
class Proposed:
    """What the structure in the field says."""

    drawing: SafeString
    formula: str
    molar_mass: str
    moisture: str
    peroxide: str


@dataclass(frozen=True)
class SubstanceFormPage:
    """The page with the form."""

    form: SubstanceForm
    substance: Substance | None
    looked: Looked
    offered: dict[str, dict[str, object]]
    proposed: Proposed | None
    known: Substance | None

    @property
    def look_first(self) -> str:
        """Return what to look an existing substance up by."""
        return "" if self.substance is None else self.substance.cas or self.substance.name


def substance_form_page(form: SubstanceForm) -> SubstanceFormPage:
    """Gather the page."""
    smiles = str(form["smiles"].value() or "").strip()
    proposed = _proposed(smiles, form["name"].value())
    return SubstanceFormPage(form, form.substance, form.looked, form.offered(), proposed, _known(form))


def _known(form: SubstanceForm) -> Substance | None:
    """Return the substance on the list that was looked up as if it were new."""
    record = form.looked.record
    if form.substance is not None or record is None:
        return None
    return Substance.objects.filter(cas=record.cas).first()


def _proposed(smiles: str, name: Any) -> Proposed | None:
    if not smiles:
        return None
    try:
        formula = formula_of(smiles).hill
        mass = parse_formula(formula).molar_mass
        moisture, peroxide = propose_moisture(smiles), propose_peroxide(smiles)
    except LabError:
        # the field itself says what is wrong with it
        return None
    return Proposed(
        drawing=drawing_of(smiles, str(name or "")),
        formula=formula,
        molar_mass=show(mass.nominal_value, "g/mol", mass.std_dev),
        moisture=words_of(moisture) if moisture else "",
        peroxide=words_of(peroxide) if peroxide else "",
    )

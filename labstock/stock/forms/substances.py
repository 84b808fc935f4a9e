"""What is known of a substance. Flags are proposed from the structure and stay the person's to decide."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, cast

from django import forms
from django.http import QueryDict

from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.chemistry.formula import parse_formula
from labstock.chemistry.structure import (
    Proposal,
    canonical_smiles,
    formula_of,
    propose_moisture,
    propose_peroxide,
)
from labstock.people.models import User
from labstock.stock.forms.fields import (
    HazardsField,
    LinesField,
    QuantityField,
    cas_field,
    formula_field,
    said_by_the_field,
    smiles_field,
    typed_again,
)
from labstock.stock.models import Substance
from labstock.stock.prefill import Looked, Suggestion

WORKED_OUT = "worked out from the formula, standard atomic weights of 2021 (CIAAW)"
CHOICES = [("proposed", "As the structure says"), ("yes", "Yes"), ("no", "No")]
# A molar mass typed beside a formula may differ from it by this share, no more.
MOLAR_MASS_SHARE = 0.002


@dataclass(frozen=True)
class Flag:
    """One of the two flags: what it is called on the form and in the table, and who proposes it."""

    key: str
    column: str
    propose: Any
    words: str


MOISTURE = Flag("moisture", "is_moisture_sensitive", propose_moisture, "moisture-sensitive")
PEROXIDE = Flag("peroxide", "is_peroxide_former", propose_peroxide, "a peroxide former")


class SubstanceForm(forms.Form):
    """A substance by name."""

    look = forms.CharField(required=False, max_length=300, widget=forms.HiddenInput)
    name = forms.CharField(max_length=200, label="Name")
    synonyms = LinesField(label="Other names", help_text="One a line: people find it by any of them.")
    cas = cas_field(label="CAS number", help_text="The check digit is verified.")
    smiles = smiles_field(label="Structure (SMILES)", help_text="For instance CC(=O)OC(C)=O.")
    formula = formula_field(label="Formula", help_text="Left empty, it is read off the structure.")
    molar_mass = QuantityField(
        dimensions=("molar mass",), default_unit="g/mol", low=1, high=10_000_000, required=False,
        label="Molar mass", help_text="Left empty, it is worked out from the formula, with its uncertainty.",
    )  # fmt: skip
    density = QuantityField(
        dimensions=("density",), default_unit="g/mL", low=0.01, high=25, required=False,
        label="Density", help_text="With ± if you know it: 1.082 ± 0.001 g/mL.",
    )  # fmt: skip
    density_at = QuantityField(
        dimensions=("temperature",), default_unit="°C", low=-200, high=400, allow_zero=True, required=False,
        label="Density holds at",
    )  # fmt: skip
    density_source = forms.CharField(max_length=200, required=False, label="Density is from")
    is_liquid = forms.BooleanField(required=False, label="Liquid at room temperature")
    boiling_point = QuantityField(
        dimensions=("temperature",), default_unit="°C", low=-270, high=3000, allow_zero=True, required=False,
        label="Boiling point", help_text="Without it nothing is expected to evaporate from an opened bottle.",
    )  # fmt: skip
    hazards = HazardsField(
        rows=5, label="Hazard statements",
        help_text="One a line, with the category: H314 1B. From section 2 of the safety data sheet.",
    )  # fmt: skip
    moisture = forms.ChoiceField(choices=CHOICES, widget=forms.RadioSelect, label="Moisture-sensitive?")
    moisture_because = forms.CharField(max_length=300, required=False, label="Why (moisture)")
    peroxide = forms.ChoiceField(choices=CHOICES, widget=forms.RadioSelect, label="Forms peroxides?")
    peroxide_because = forms.CharField(max_length=300, required=False, label="Why (peroxides)")
    note = forms.CharField(
        required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3}), label="Note"
    )

    def __init__(
        self,
        data: QueryDict | None = None,
        *,
        substance: Substance | None = None,
        looked: Looked | None = None,
    ) -> None:
        self.looked = looked or Looked("")
        self.substance = substance
        start = {"moisture": "proposed", "peroxide": "proposed", "look": self.looked.typed}
        start |= as_typed(substance) if substance else {}
        self.taken: list[Suggestion] = []
        filled = None if data is None else self._with_taken(data)
        if filled is not None and "fill" in filled:
            # asked to fill in and look, not to save: what was typed comes back unjudged
            start, filled = {name: filled.get(name, "") for name in self.base_fields}, None
        super().__init__(filled, initial=start)

    def _with_taken(self, data: QueryDict) -> QueryDict:
        """Put ticked suggestions into fields that are empty; what was typed is never overwritten."""
        filled = data.copy()
        for key, suggestion in self.looked.suggestions.items():
            if f"take_{key}" not in data:
                continue
            if not any(filled.get(name, "").strip() for name in suggestion.fills):
                for name, value in suggestion.fills.items():
                    filled[name] = value
            if all(filled.get(name, "") == value for name, value in suggestion.fills.items()):
                self.taken.append(suggestion)
        return filled

    @property
    def is_to_save(self) -> bool:
        """Say whether the person asked to keep it, not only to fill in."""
        return self.is_bound

    def offered(self) -> dict[str, dict[str, object]]:
        """Return each suggestion beside what stands in its field now."""
        taken = {row.key for row in self.taken}
        return {
            key: {
                "row": row,
                "is_taken": key in taken,
                "is_same": all(_same(name, self[name].value(), value) for name, value in row.fills.items()),
                "is_typed": bool(_bare(self[key].value())) and key not in taken,
            }
            for key, row in self.looked.suggestions.items()
        }

    def clean(self) -> dict[str, Any]:
        """Check the fields against each other, work out what was left empty, settle the flags."""
        said = super().clean() or {}
        if not {"smiles", "formula", "molar_mass"} & self.errors.keys():
            self._settle_formula(said)
        if said.get("density") and not said.get("density_at") and "density_at" not in self.errors:
            self.add_error("density_at", "A density holds at a temperature: give it, such as 20 °C.")
        if not self.errors.keys() & {"smiles", "moisture", "peroxide"}:
            for flag in (MOISTURE, PEROXIDE):
                self._settle_flag(flag, said)
        return said

    def _settle_formula(self, said: dict[str, Any]) -> None:
        if said["smiles"] and not said["formula"]:
            said["formula"] = formula_of(said["smiles"]).hill
        if said["smiles"] and _differ(said["formula"], said["smiles"]):
            self.add_error(
                "formula",
                f"The formula {said['formula']} and the structure ({formula_of(said['smiles']).hill}) are two different "
                "things: correct one, or leave the formula empty. Water of a hydrate is written into the structure as .O",
            )
        elif said["formula"] and said["molar_mass"]:
            self._check_molar_mass(said)

    def _check_molar_mass(self, said: dict[str, Any]) -> None:
        with said_by_the_field():
            worked_out = parse_formula(said["formula"]).molar_mass
        typed = float(said["molar_mass"].in_unit("g/mol"))
        if abs(typed / worked_out.nominal_value - 1) > MOLAR_MASS_SHARE:
            expected = show(worked_out.nominal_value, "g/mol", worked_out.std_dev)
            self.add_error(
                "molar_mass",
                f"'{said['molar_mass'].typed}' does not fit the formula {said['formula']}, which weighs {expected}: "
                "correct one of them, or leave the molar mass empty.",
            )

    def _settle_flag(self, flag: Flag, said: dict[str, Any]) -> None:
        proposal: Proposal | None = flag.propose(said["smiles"]) if said["smiles"] else None
        choice, because = said[flag.key], said.get(f"{flag.key}_because", "").strip()
        is_set = proposal is not None if choice == "proposed" else choice == "yes"
        if is_set != (proposal is not None) and not because:
            self.add_error(f"{flag.key}_because", _why_wanted(flag, proposal, bool(said["smiles"])))
        if is_set and proposal is not None and (choice == "proposed" or not because):
            because = words_of(proposal)
        elif choice == "proposed":
            because = ""
        said[flag.column], said[f"{flag.key}_because"] = is_set, because

    def facts(self, by: User, today: date) -> dict[str, Any]:
        """Return the cleaned form as the columns of a substance, each number with where it came from."""
        said = self.cleaned_data
        density, molar_mass = said["density"], self._molar_mass()
        return {
            "name": said["name"],
            "cas": said["cas"],
            "smiles": said["smiles"],
            "formula": said["formula"],
            "molar_mass_g_per_mol": molar_mass[0],
            "molar_mass_u_g_per_mol": molar_mass[1],
            "density_g_per_mL": None if density is None else float(density.in_unit("g/mL")),
            "density_u_g_per_mL": None
            if density is None or density.u is None
            else float(density.to("g/mL").u),
            "density_at_celsius": None
            if said["density_at"] is None
            else float(said["density_at"].in_unit("°C")),
            "is_liquid": said["is_liquid"],
            "boiling_point_celsius": None
            if said["boiling_point"] is None
            else float(said["boiling_point"].in_unit("°C")),
            "hazards": said["hazards"],
            "note": said["note"].strip(),
            "sources": self._sources(by, today),
            **{
                name: said[name]
                for flag in (MOISTURE, PEROXIDE)
                for name in (flag.column, f"{flag.key}_because")
            },
        }

    def _molar_mass(self) -> tuple[float | None, float | None]:
        typed, formula = self.cleaned_data["molar_mass"], self.cleaned_data["formula"]
        if typed is not None:
            u = None if typed.u is None else float(typed.to("g/mol").u)
            return float(typed.in_unit("g/mol")), u
        if not formula:
            return None, None
        worked_out = parse_formula(formula).molar_mass
        return float(worked_out.nominal_value), float(worked_out.std_dev)

    def _sources(self, by: User, today: date) -> dict[str, str]:
        """Say of each field where it came from; what was changed by hand loses the source it had."""
        said = self.cleaned_data
        kept = dict(self.substance.sources) if self.substance else {}
        before = as_typed(self.substance) if self.substance else {}
        entered = f"entered by {by.short_name}, {today:%d %b %Y}"
        for key in ("name", "cas", "smiles", "formula", "synonyms", "hazards", "boiling_point"):
            if self.data.get(key, "").strip() != before.get(key, ""):
                kept[key] = entered if self.data.get(key, "").strip() else ""
        if said["smiles"] and not self.data.get("formula", "").strip():
            kept["formula"] = "read off the structure"
        kept["molar_mass"] = entered if said["molar_mass"] else (WORKED_OUT if said["formula"] else "")
        kept["density"] = (said["density_source"].strip() or entered) if said["density"] else ""
        for row in self.taken:
            kept[row.key] = f"{row.source}; confirmed by {by.short_name}, {today:%d %b %Y}"
        return {key: source for key, source in kept.items() if source}


def as_typed(substance: Substance) -> dict[str, Any]:
    """Return a substance as the form would have been filled in."""
    sources = cast(dict[str, str], substance.sources)
    is_worked_out = sources.get("molar_mass", "") == WORKED_OUT
    return {
        "name": substance.name,
        "synonyms": "\n".join(synonym.name for synonym in substance.synonyms.all()),
        "cas": substance.cas,
        "smiles": substance.smiles,
        "formula": "" if sources.get("formula") == "read off the structure" else substance.formula,
        "molar_mass": "" if is_worked_out else typed_again(substance.molar_mass, "g/mol"),
        "density": typed_again(substance.density, "g/mL"),
        "density_at": "" if substance.density_at_celsius is None else f"{substance.density_at_celsius:g} °C",
        "density_source": sources.get("density", ""),
        "is_liquid": substance.is_liquid,
        "boiling_point": ""
        if substance.boiling_point_celsius is None
        else f"{substance.boiling_point_celsius:g} °C",
        "hazards": "\n".join(" ".join(pair).strip() for pair in substance.hazards),
        "note": substance.note,
        **_flag_as_typed(MOISTURE, substance),
        **_flag_as_typed(PEROXIDE, substance),
    }


def _flag_as_typed(flag: Flag, substance: Substance) -> Mapping[str, str]:
    proposal = flag.propose(substance.smiles) if substance.smiles else None
    is_set, because = getattr(substance, flag.column), getattr(substance, f"{flag.key}_because")
    if is_set == (proposal is not None):
        return {flag.key: "proposed", f"{flag.key}_because": ""}
    return {flag.key: "yes" if is_set else "no", f"{flag.key}_because": because}


def _differ(formula: str, smiles: str) -> bool:
    typed, drawn = parse_formula(formula), formula_of(smiles)
    return (typed.counts, typed.charge) != (drawn.counts, drawn.charge)


def words_of(proposal: Proposal) -> str:
    """Write a proposal as it is kept: the class, its grade, and the reason."""
    grade = f", class {proposal.grade}" if proposal.grade else ""
    return f"{proposal.name}{grade}: {proposal.because}"[:300]


def _why_wanted(flag: Flag, proposal: Proposal | None, is_drawn: bool) -> str:
    if proposal is not None:
        return f"The structure says it is {flag.words} ({words_of(proposal)}): say why it is not."
    if is_drawn:
        return f"Nothing in the structure says it is {flag.words}: say how you know."
    return f"Without a structure nothing is proposed: say how you know it is {flag.words}."


def _same(name: str, mine: object, suggested: str) -> bool:
    """Say whether a field holds what is suggested; a structure has many spellings."""
    if name == "smiles" and mine:
        try:
            return canonical_smiles(str(mine)) == canonical_smiles(suggested)
        except LabError:
            return False
    return _bare(mine) == _bare(suggested)


def _bare(value: object) -> str:
    return "" if value in (None, False) else "on" if value is True else str(value).strip()

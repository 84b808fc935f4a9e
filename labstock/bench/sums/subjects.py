"""The bench sums: what each asks, what it works out, and what it can start from."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django import forms

from labstock.bench.sums import prefill
from labstock.bench.sums.forms import age as age_forms
from labstock.bench.sums.forms import amounts as amount_forms
from labstock.bench.sums.forms import doubt as doubt_forms
from labstock.bench.sums.forms import isolation as isolation_forms
from labstock.bench.sums.forms import preparation as preparation_forms
from labstock.bench.sums.forms import quench as quench_forms
from labstock.bench.sums.forms import shelf_life as shelf_life_forms
from labstock.bench.sums.forms import solution as solution_forms
from labstock.bench.sums.forms import species as species_forms
from labstock.bench.sums.forms import strength as strength_forms
from labstock.bench.sums.pages import (
    age,
    amounts,
    doubt,
    isolation,
    preparation,
    quench,
    shelf_life,
    solution,
    species,
    strength,
)
from labstock.bench.sums.worked import Worked


@dataclass(frozen=True)
class Part:
    """One form of a subject, and the sum behind it."""

    key: str
    title: str
    form: type[forms.Form]
    work: Callable[[dict[str, Any]], Worked]
    note: str = ""
    from_container: Callable[[str], dict[str, Any]] | None = None
    from_batch: Callable[[str], dict[str, Any]] | None = None


@dataclass(frozen=True)
class Subject:
    """One page of sums."""

    slug: str
    title: str
    question: str
    parts: tuple[Part, ...]
    example: str = ""

    def part(self, key: str) -> Part | None:
        """Return the form with this key, if there is one."""
        return next((part for part in self.parts if part.key == key), None)


SUBJECTS = (
    Subject(
        "amounts", "Amounts", "How much is it in another unit, and how well does a device measure it?",
        (
            Part("read", "An amount", amount_forms.ReadForm, amounts.read, "In every unit, with the devices that fit"),
            Part("turn", "Mass, volume, moles", amount_forms.TurnForm, amounts.turn, "Through purity, density, concentration"),
        ),
        "ask=read&amount=6+drops",
    ),
    Subject(
        "formula", "Formula", "What is it made of, and what is its molar mass?",
        (Part("formula", "Composition", species_forms.FormulaForm, species.composition, "Hydrates, charges, isotopes"),),
        "ask=formula&kind=CuSO4%C2%B75H2O",
    ),
    Subject(
        "equation", "Equation", "Does it balance, and is there only one way?",
        (Part("check", "Balance", species_forms.EquationForm, species.check, "Atoms and charge, exactly"),),
        "ask=check&equation=KMnO4+%2B+H2O2+%2B+H2SO4+-%3E+K2SO4+%2B+MnSO4+%2B+O2+%2B+H2O",
    ),
    Subject(
        "solution", "Solutions", "How much for a solution, a dilution, from a concentrated acid?",
        (
            Part("acid", "Concentrated acid or base", solution_forms.AcidForm, solution.acid, "From the label’s percent"),
            Part("dilute", "Dilution", solution_forms.DiluteForm, solution.dilute, "Leave out what is wanted"),
            Part("make", "Solution of a solid", solution_forms.MakeForm, solution.make, "How much to weigh"),
            Part("weighed", "What it has become", solution_forms.WeighedForm, solution.weighed, "From what was weighed"),
            Part("by-mass", "Dilution by mass", solution_forms.ByMassForm, solution.by_mass, "Percent w/w"),
            Part("titre", "Titration", solution_forms.TitreForm, solution.titre, "Concentration from a titrant"),
        ),
        "ask=acid&kind=HCl&strength=37+%25+w%2Fw&density=1.18+g%2FmL&wanted=1.0+mol%2FL&final=250+mL",
    ),
    Subject(
        "preparation", "Yield", "Which reagent limits, what is the yield, and how sure is it?",
        (Part("yield", "What went in, what came out", preparation_forms.PreparationForm, preparation.outcome, "From an equation and amounts"),),
        "ask=yield&equation=C6H7N+%2B+C4H6O3+-%3E+C8H9NO+%2B+C2H4O2&portions=C6H7N%3B+5.00+g+%C2%B1+0.03+g%3B+%E2%89%A5+99+%25%0AC4H6O3%3B+5.5+mL+%C2%B1+0.2+mL%3B+97.1+%C2%B1+0.8+%25%3B+1.082+g%2FmL&wanted=C8H9NO&mass=5.61+g+%C2%B1+0.03+g&purity=98+%C2%B1+1+%25",
    ),
    Subject(
        "strength", "Strength", "How strong is a bottle that takes up water, and is it still enough?",
        (Part("strength", "Claim, assay, exposure", strength_forms.StrengthForm, strength.strength, "A model, never instead of an assay", from_container=prefill.strength_of_container),),
        "ask=strength&kind=C4H6O3&water=anhydride&claim=%E2%89%A5+99+%25&opened_on=2026-03-02&content=400+g&openings=20&headspace=150+mL&cap=worn&planned=1.05&dispensed=10+g",
    ),
    Subject(
        "quench", "Quench and heat", "How much water, heat and gas, how fast, in which vessel?",
        (Part("quench", "What is left, how it is quenched", quench_forms.QuenchForm, quench.quench, "All on the safe side", from_batch=prefill.quench_of_batch),),
        "ask=quench&reagent=acetic+anhydride&charged=10+mL+%C2%B1+0.2+mL&density=1.082+g%2FmL&neutraliser=sodium+hydrogen+carbonate&cooling=20+W",
    ),
    Subject(
        "isolation", "Isolation", "What comes back, what is lost, and how green was it?",
        (
            Part("crystals", "Recrystallisation", isolation_forms.RecrystalliseForm, isolation.recrystallise, "From two solubilities"),
            Part("drying", "Loss on drying", isolation_forms.DryingForm, isolation.drying),
            Part("balance", "Mass balance", isolation_forms.BalanceForm, isolation.balance, "The unexplained part", from_batch=prefill.balance_of_batch),
            Part("melting", "Melting range", isolation_forms.MeltingForm, isolation.melting, "Against literature and reference"),
            Part("green", "Greenness", isolation_forms.GreenForm, isolation.green, "Atom economy, E, mass intensity", from_batch=prefill.green_of_batch),
        ),
        "ask=crystals&mass=5.0+g&solvent=100+mL&hot=5.5&cold=0.53&washes=20+mL",
    ),
    Subject(
        "doubt", "Uncertainty", "How sure is a result, and where does the doubt come from?",
        (Part("budget", "Budget", doubt_forms.DoubtForm, doubt.budget, "A closed list of expressions"),),
        "ask=budget&expression=over+last&terms=mass%3B+100.28+mg+%C2%B1+0.1+mg+%28k%3D2%29%0Apurity%3B+99.99+%25+%C2%B1+0.01+%25%0Avolume%3B+100.0+mL+%C2%B1+0.14+mL+%28k%3D2%29&coverage=0.95",
    ),
    Subject(
        "shelf-life", "Shelf life", "How long does kept material stay within its limit?",
        (Part("fit", "Values over time", shelf_life_forms.ShelfLifeForm, shelf_life.evaluate, "After ICH Q1E; a model"),),
        "ask=fit&rows=A%3B+0%3B+100.0%0AA%3B+3%3B+99.1%0AA%3B+6%3B+98.3%0AA%3B+9%3B+96.8%0AA%3B+12%3B+96.1%0AA%3B+18%3B+94.2&limit=90&unit=%25&side=lower&limits=one&storage=room",
    ),
    Subject(
        "age", "Age and dates", "How old is a sample whose date is in doubt, and which of two is the older?",
        (
            Part("age", "One date", age_forms.AgeForm, age.age, "EDTF, as a range"),
            Part("order", "Two dates", age_forms.OrderForm, age.in_order, "Which is the earlier"),
            Part("label", "A label’s words", age_forms.LabelForm, age.from_label, "What they may mean"),
        ),
        "ask=age&edtf=193X",
    ),
)  # fmt: skip
BY_SLUG = {subject.slug: subject for subject in SUBJECTS}

"""How strong the contents are now, and what says so."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from django.utils.html import format_html
from django.utils.safestring import SafeString

from labstock.chemistry.display import NO_BREAK, show, show_percent
from labstock.chemistry.moisture import decision_line, extra_base_mmol
from labstock.chemistry.purity import Effective, newest_valid
from labstock.chemistry.uncertain import UFloat
from labstock.look.drawing.strength import Claim, Measured, Modelled, strength_picture
from labstock.look.drawing.strength import Strength as Drawn
from labstock.stock.models import Assay, Container, PurityKind
from labstock.stock.strength import claims_about, effective_purity, kind_of_moisture

# The excess that the advice speaks of: 1.05 equiv of an acylating agent is common; common practice, no source.
USUAL_EXCESS = 1.05


@dataclass(frozen=True)
class Found:
    """One assay with its value and doubt as a pair."""

    row: Assay
    found: tuple[float, float]


@dataclass(frozen=True)
class Strength:
    """The strength to dose by, what the label says, and every assay."""

    effective: Effective
    label: str
    found: tuple[Found, ...]
    picture: SafeString
    advice: str = ""
    acid: str = ""

    @property
    def number(self) -> str:
        """Return the strength in per cent with its doubt."""
        return (
            modelled(self.effective.fraction)
            if self.effective.is_model
            else show_percent(self.effective.fraction)
        )

    @property
    def is_measured(self) -> bool:
        """Say whether an assay of this very container decides."""
        return "by assay" in self.effective.words and not self.effective.is_model and bool(self.found)

    @property
    def is_assumed(self) -> bool:
        """Say whether nothing is on record and it is taken as pure."""
        return self.effective.words.startswith("taken as")

    @property
    def sentence(self) -> str:
        """Return what to dose by, in one line."""
        if self.is_assumed:
            return "No purity on record: taken as 100 %"
        if self.effective.is_model:
            return format_html(
                "Dose by <b>{}</b> (model), label says {}", self.number, self.label or "nothing"
            )
        if self.is_measured and self.label:
            return format_html("Dose by <b>{}</b>, label says {}", self.number, self.label)
        return format_html("Dose by <b>{}</b> ({})", self.number, self.effective.words)


def modelled(fraction: UFloat) -> str:
    """Write a modelled strength: never finer than a tenth of a per cent, because it is a model."""
    return f"{fraction.n * 100:.1f}{NO_BREAK}±{NO_BREAK}{max(2 * fraction.s * 100, 0.1):.1f}{NO_BREAK}%"


def strength_of(container: Container, on: date) -> Strength:
    """Gather the claims about what is in a container."""
    assays = tuple(container.assays.all())
    label = container.lot.claim.words if container.lot and container.lot.purity_percent is not None else ""
    now = effective_purity(container, on)
    drawn = list(_drawn(container, assays))
    if now.is_model:
        words = f"now, by model, {modelled(now.fraction)}"
        drawn.append(Modelled(now.fraction.n * 100, now.fraction.s * 100, words))
    picture = SafeString(strength_picture(drawn)) if drawn else SafeString()
    found = tuple(Found(assay, (assay.percent, assay.u_percent)) for assay in assays)
    return Strength(now, label, found, picture, *_consequences(container, now))


def _consequences(container: Container, now: Effective) -> tuple[str, str]:
    """Say what a modelled loss does to a usual excess, and what the acid that formed eats."""
    substance = container.substance
    before = newest_valid(claims_about(container), date.max)
    if not now.is_model or before is None or substance is None or substance.molar_mass is None:
        return "", ""
    then = before.claim.fraction
    base = extra_base_mmol(10.0, then, now.fraction, substance.molar_mass, kind_of_moisture(container))
    acid = (
        f"The acid that formed eats {show(base.n, 'mmol', base.s)} of base for each 10 g dispensed."
        if base.n
        else ""
    )
    return f"{decision_line(USUAL_EXCESS, now.fraction, then)}.".capitalize(), acid


def _drawn(container: Container, assays: tuple[Assay, ...]) -> Iterator[Drawn]:
    lot = container.lot
    if lot is not None and lot.purity_percent is not None:
        percent, words = float(lot.purity_percent), f"label, {lot.claim.words}"
        if lot.purity_kind == PurityKind.AT_LEAST:
            yield Claim(percent, 100.0, words)
        elif lot.claim.u:
            yield Measured(percent, lot.claim.u, words)
        else:
            yield Claim(percent - 0.05, percent + 0.05, words)
    for assay in assays[:3]:
        doubt = show_percent(assay.percent / 100, assay.u_percent / 100)
        yield Measured(
            assay.percent,
            assay.u_percent,
            f"measured {assay.measured_on.day} {assay.measured_on:%b}, {doubt}",
        )

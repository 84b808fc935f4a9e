"""How strong the contents are now, and what says so."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from django.utils.html import format_html
from django.utils.safestring import SafeString

from labstock.chemistry.display import show_percent
from labstock.chemistry.purity import Effective
from labstock.look.drawing.strength import Claim, Measured, strength_picture
from labstock.look.drawing.strength import Strength as Drawn
from labstock.stock.models import Assay, Container, PurityKind
from labstock.stock.strength import effective_purity


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

    @property
    def number(self) -> str:
        """Return the strength in per cent with its doubt."""
        return show_percent(self.effective.fraction)

    @property
    def is_measured(self) -> bool:
        """Say whether an assay of this very container decides."""
        return "by assay" in self.effective.words and bool(self.found)

    @property
    def is_assumed(self) -> bool:
        """Say whether nothing is on record and it is taken as pure."""
        return self.effective.words.startswith("taken as")

    @property
    def sentence(self) -> str:
        """Return what to dose by, in one line."""
        if self.is_assumed:
            return "No purity on record: taken as 100 %"
        if self.is_measured and self.label:
            return format_html("Dose by <b>{}</b>, label says {}", self.number, self.label)
        return format_html("Dose by <b>{}</b> ({})", self.number, self.effective.words)


def strength_of(container: Container, on: date) -> Strength:
    """Gather the claims about what is in a container."""
    assays = tuple(container.assays.all())
    label = container.lot.claim.words if container.lot and container.lot.purity_percent is not None else ""
    drawn = list(_drawn(container, assays))
    picture = SafeString(strength_picture(drawn)) if drawn else SafeString()
    found = tuple(Found(assay, (assay.percent, assay.u_percent)) for assay in assays)
    return Strength(effective_purity(container, on), label, found, picture)


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

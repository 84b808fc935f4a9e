"""Making a solution: from one or more containers into a new one, with its strength and where it came from."""

import uuid
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from django.utils import timezone

from labstock.chemistry.amounts import density
from labstock.chemistry.devices import device
from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity
from labstock.chemistry.solutions import concentration_mol_per_L, diluted_mol_per_L
from labstock.chemistry.uncertain import UFloat, normal
from labstock.stock.actions.amounts import density_of, in_ledger_unit, in_unit
from labstock.stock.actions.ledger import doubt_of_reading, draw
from labstock.stock.actions.lines import Doing, check_may_take, lock
from labstock.stock.actions.receiving import Arrival, receive, received_before
from labstock.stock.actions.threads import check_strength_known, earliest, tie
from labstock.stock.codes import show_code
from labstock.stock.models import (
    Container,
    Location,
    Lot,
    Origin,
    PurityKind,
    Purpose,
    VesselKind,
    Went,
)
from labstock.stock.models.container import MILLION
from labstock.stock.strength import effective_purity
from labstock.writing import writing


@dataclass(frozen=True)
class Part:
    """An amount out of one container, and what it was measured with."""

    container: Container
    amount: Quantity
    device_code: str


@dataclass(frozen=True)
class Solution:
    """What is made: how much, in what, until when it may be used."""

    volume: Quantity
    volume_device: str
    use_by: date | None = None
    name: str = ""
    vessel: str = VesselKind.BOTTLE
    capacity: Quantity | None = None
    location: Location | None = None


def make_solution(*, parts: Sequence[Part], solution: Solution, doing: Doing) -> Container:
    """Draw the parts, write their lines, and return the new container. The first part is what is dissolved."""
    _check_parts(parts)
    with writing():
        locked = {pk: lock(Container(pk=pk)) for pk in sorted({part.container.pk for part in parts})}
        if done := received_before(doing):
            return done
        taken = [replace(part, container=locked[part.container.pk]) for part in parts]
        for part in taken:
            check_may_take(part.container)
        solute = taken[0].container
        check_strength_known(solute)
        volume, u_volume = _volume(solution)
        strength = _strength(taken, normal(volume, u_volume), timezone.localdate(doing.at))
        child = receive(
            arrival=Arrival(
                unit="mL",
                capacity=solution.capacity or solution.volume,
                amount=solution.volume,
                lot=_lot(solute, strength, _ends(taken, solution.use_by)),
                described_as=solution.name.strip() or name_of(taken, strength),
                purpose=Purpose.SOLUTION,
                vessel=solution.vessel,
                location=solution.location or solute.location,
                owner_group=solute.owner_group,
                needs=sorted({need for part in taken for need in part.container.needs}),
                u_amount=u_volume,
            ),
            doing=replace(doing, seen_seq=None),
        )
        for number, part in enumerate(taken):
            _use_up(part, child, number, doing)
        return child


def _check_parts(parts: Sequence[Part]) -> None:
    keys = [part.container.pk for part in parts]
    if len(set(keys)) < len(keys):
        raise LabError("twice", "The same container is given twice: add the two amounts up.")
    if parts[0].container.substance is None:
        raise LabError(
            "no-substance",
            "Nobody knows what is in {code}: a solution of it could not be named.",
            code=show_code(parts[0].container.code),
        )


def _use_up(part: Part, child: Container, number: int, doing: Doing) -> None:
    line = draw(
        container=part.container,
        amount=part.amount,
        device_code=part.device_code,
        doing=replace(
            doing,
            key=uuid.uuid5(doing.key, f"part {number}"),
            purpose=f"for {show_code(child.code)}".replace("\u00a0", " "),
            seen_seq=doing.seen_seq if number == 0 else None,
        ),
    )
    tie(parent=part.container, child=child, what=Went.DISSOLVED, entry=line, doing=doing)


def _volume(solution: Solution) -> tuple[float, float]:
    """Return the volume made up to, with its standard uncertainty [mL]."""
    volume = in_unit(solution.volume, "mL", None, "a solution") / MILLION
    if volume <= 0:
        raise LabError(
            "nothing", "{typed} is no volume: give what it was made up to.", typed=solution.volume.typed
        )
    return volume, float(device(solution.volume_device).uncertainty(volume, vessel=volume).u)


def _strength(parts: Sequence[Part], volume_mL: UFloat, on: date) -> UFloat | None:
    """Return the concentration of what is dissolved [mol/L], or None where a number is missing for it."""
    solute = parts[0].container.substance
    found = [_share(part, volume_mL, on) for part in parts if part.container.substance == solute]
    known = [one for one in found if one is not None]
    return sum(known[1:], known[0]) if len(known) == len(found) else None


def _share(part: Part, volume_mL: UFloat, on: date) -> UFloat | None:
    """Return what one part brings to the concentration [mol/L]."""
    container = part.container
    amount = in_ledger_unit(container, part.amount)
    random, common = doubt_of_reading(container, part.amount, amount, part.device_code)
    measured = normal(amount / MILLION, (random**2 + common**2) ** 0.5)
    lot, molar_mass = container.lot, container.substance.molar_mass if container.substance else None
    if lot is not None and lot.concentration is not None:
        return diluted_mol_per_L(lot.concentration, measured, volume_mL) if container.unit == "mL" else None
    if molar_mass is None or container.unit not in ("g", "mL"):
        return None
    if container.unit == "mL":
        known = density_of(container)
        if known is None:
            return None
        measured = measured * density(known)
    return concentration_mol_per_L(measured, molar_mass, volume_mL, effective_purity(container, on).fraction)


def _lot(solute: Container, strength: UFloat | None, ends: date | None) -> Lot:
    """Return a lot of its own: a solution made here is like no other."""
    assert solute.substance is not None  # looked at before anything was locked
    return Lot.objects.create(
        substance=solute.substance,
        origin=Origin.MADE_HERE,
        supplier="made here",
        purity_kind=PurityKind.UNKNOWN,
        expires_on=ends,
        concentration_mol_per_L=None if strength is None else strength.nominal_value,
        concentration_u_mol_per_L=None if strength is None else strength.std_dev,
    )


def _ends(parts: Sequence[Part], use_by: date | None) -> date | None:
    """Return the day it may be used until: never longer than what it was made from."""
    return earliest(use_by, *(part.container.ends_on for part in parts))


def name_of(parts: Sequence[Part], strength: UFloat | None) -> str:
    """Return what the label says in words: what, in what, how strong."""
    others = [
        part.container.name
        for part in parts[1:]
        if part.container.substance_id != parts[0].container.substance_id
    ]
    within = f" in {' and '.join(others)}" if others else " solution"
    much = "" if strength is None else f", {show(strength.nominal_value, 'mol/L', strength.std_dev)}"
    return f"{parts[0].container.substance}{within}{much}".replace("\u00a0", " ")[:200]

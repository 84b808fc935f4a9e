"""From one container into another: one act, a line in each ledger, and the lot goes along."""

from dataclasses import dataclass, replace

from django.utils import timezone

from labstock.chemistry.display import show
from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity
from labstock.people.models import LabGroup
from labstock.stock.actions.amounts import in_ledger_unit
from labstock.stock.actions.ledger import doubt_of_reading
from labstock.stock.actions.lines import (
    Doing,
    add_line,
    already_done,
    check_may_take,
    check_not_stale,
    check_time,
    lock,
    more_than_is_left,
    use_again,
)
from labstock.stock.actions.receiving import Arrival, receive, received_before
from labstock.stock.actions.threads import earliest, tie
from labstock.stock.codes import show_code
from labstock.stock.lots_in import worst_end
from labstock.stock.models import Container, Entry, Kind, Location, Lot, State, VesselKind, Went
from labstock.stock.models.container import MILLION
from labstock.stock.queries import key_of_out
from labstock.writing import writing


@dataclass(frozen=True)
class Vessel:
    """An empty vessel to decant into."""

    capacity: Quantity
    vessel: str = VesselKind.BOTTLE
    heel: Quantity | None = None
    gross: Quantity | None = None
    location: Location | None = None
    owner_group: LabGroup | None = None


def decant(
    *, container: Container, amount: Quantity, device_code: str, into: Vessel, doing: Doing
) -> Container:
    """Fill a new container from another; it gets its own code and keeps lot, opening and end. Return the new one."""
    with writing():
        locked = lock(container)
        if done := received_before(doing):
            return done
        line = _take_out(locked, amount, device_code, doing)
        child = receive(
            arrival=Arrival(
                unit=locked.unit,
                capacity=into.capacity,
                amount=amount,
                substance=locked.substance,
                lot=locked.lot,
                described_as=locked.described_as,
                purpose=locked.purpose,
                vessel=into.vessel,
                heel=into.heel,
                gross=into.gross,
                location=into.location or locked.location,
                owner_group=into.owner_group or locked.owner_group,
                needs=locked.needs,
                received_on=timezone.localdate(doing.at),
                opened_on=locked.opened_on,
                ends_on=locked.ends_on,
                u_amount=(line.u_random**2 + line.u_common**2) ** 0.5 / MILLION,
            ),
            doing=replace(doing, purpose=f"from {_plain(locked)}", seen_seq=None),
            kind=Kind.TRANSFERRED_IN,
        )
        tie(parent=locked, child=child, what=Went.DECANTED, entry=line, doing=doing)
        return child


def top_up(
    *, container: Container, into: Container, amount: Quantity, device_code: str, doing: Doing
) -> Container:
    """Pour one container onto another of the same substance: the lots mix and the worst date rules."""
    return transfer(
        container=container, into=into, amount=amount, device_code=device_code, doing=doing, mixes=True
    )


def transfer(
    *,
    container: Container,
    into: Container,
    amount: Quantity,
    device_code: str,
    doing: Doing,
    mixes: bool = False,
) -> Container:
    """Pour from one container into another, of the same lot unless it `mixes`. Return the one that was filled."""
    with writing():
        both = {pk: lock(Container(pk=pk)) for pk in sorted({container.pk, into.pk})}
        source, target = both[container.pk], both[into.pk]
        if already_done(target, doing, Kind.TRANSFERRED_IN, amount.typed):
            return target
        _check_pair(source, target, mixes)
        moved = in_ledger_unit(source, amount)
        if target.remaining + moved > target.capacity * 1.1:
            raise LabError(
                "beyond-capacity",
                "{amount} more does not fit: {code} holds {capacity} and {left} is in it. Pour less, or into a larger "
                "one.",
                amount=amount.typed,
                code=show_code(target.code),
                capacity=show(target.capacity / MILLION, target.unit),
                left=show(target.remaining / MILLION, target.unit),
            )
        random, common = doubt_of_reading(source, amount, moved, device_code)
        out = _take_out(source, amount, device_code, replace(doing, purpose=f"into {_plain(target)}"))
        if target.state != State.IN_USE:
            use_again(target, doing)
        # what was open longest rules: a fresh bottle is no fresher for what was poured onto it
        target.opened_on = earliest(target.opened_on, source.opened_on)
        add_line(
            target,
            replace(doing, purpose=f"from {_plain(source)}"),
            kind=Kind.TRANSFERRED_IN,
            change=moved,
            band=target.doubt_at(doing.at).after_removal(-moved / MILLION, device_code, random, common),
            typed=amount.typed,
            device=device_code,
            u_random=round(random * MILLION),
            u_common=round(common * MILLION),
        )
        tie(parent=source, child=target, what=Went.TOPPED_UP, entry=out, doing=doing)
        target.ends_on = earliest(target.ends_on, source.ends_on, worst_end(target))
        target.save(update_fields=["ends_on"])
        return target


def _take_out(locked: Container, amount: Quantity, device_code: str, doing: Doing) -> Entry:
    """Write the line that takes out."""
    check_not_stale(locked, doing)
    check_time(locked, doing)
    check_may_take(locked)
    moved = in_ledger_unit(locked, amount)
    if moved > locked.remaining:
        raise more_than_is_left(locked, amount, moved)
    random, common = doubt_of_reading(locked, amount, moved, device_code)
    locked.opened_on = locked.opened_on or timezone.localdate(doing.at)
    return add_line(
        locked,
        replace(doing, key=key_of_out(doing.key)),
        kind=Kind.TRANSFERRED_OUT,
        change=-moved,
        band=locked.doubt_at(doing.at).after_removal(moved / MILLION, device_code, random, common),
        typed=amount.typed,
        device=device_code,
        u_random=round(random * MILLION),
        u_common=round(common * MILLION),
    )


def _check_pair(source: Container, target: Container, mixes: bool) -> None:
    if source.pk == target.pk:
        raise LabError(
            "same-container",
            "{code} cannot be poured into itself: scan the container it went into.",
            code=show_code(source.code),
        )
    is_same_lot = source.lot_id == target.lot_id and (source.substance_id, source.unit) == (
        target.substance_id,
        target.unit,
    )
    if not is_same_lot and not mixes:
        raise LabError(
            "another-lot",
            "{source} holds {what} and {target} holds {other}, of another lot or kept in another unit: poured together "
            "neither label would be true. Decant into an empty container.",
            source=show_code(source.code),
            target=show_code(target.code),
            what=source.name,
            other=target.name,
        )
    if not is_same_lot:
        _check_mixes(source, target)
    if target.state in (State.BLOCKED, State.DISPOSED):
        raise LabError(
            "not-usable",
            "{code} is {state}: nothing is poured into it. Choose another container.",
            code=show_code(target.code),
            state=target.get_state_display(),
        )


def _check_mixes(source: Container, target: Container) -> None:
    """Refuse to mix what no label could name afterwards: two substances, two strengths, two units."""
    both = {"source": show_code(source.code), "target": show_code(target.code)}
    if source.substance_id is None or source.substance_id != target.substance_id:
        raise LabError(
            "another-substance",
            "{source} holds {what} and {target} holds {other}: no label would be true of the mixture. Scan a container "
            "of the same substance, or make a solution.",
            what=source.name,
            other=target.name,
            **both,
        )
    if source.unit != target.unit:
        raise LabError(
            "another-unit",
            "{source} is kept in {unit} and {target} in {other}: pour onto one that is kept in {unit}, or decant.",
            unit=source.unit,
            other=target.unit,
            **both,
        )
    if _strength(source.lot) != _strength(target.lot):
        raise LabError(
            "another-strength",
            "{source} and {target} are not equally strong ({one} and {two}): poured together neither label would be "
            "true. Make a solution from both instead.",
            one=_strength(source.lot) or "neat",
            two=_strength(target.lot) or "neat",
            **both,
        )


def _strength(lot: Lot | None) -> str:
    return f"{lot.concentration_mol_per_L:g} mol/L" if lot and lot.concentration_mol_per_L else ""


def _plain(container: Container) -> str:
    """Return the code as it is searched for, with plain spaces."""
    return show_code(container.code).replace("\u00a0", " ")

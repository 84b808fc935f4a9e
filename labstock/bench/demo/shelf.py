"""Substances, lots and containers of the demo, and everything that was drawn from them."""

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone

from labstock.bench.demo.people_and_places import place_called
from labstock.bench.demo.scenario import Scenario
from labstock.chemistry.formula import parse_formula
from labstock.chemistry.quantities import parse_quantity
from labstock.chemistry.structure import propose_moisture, propose_peroxide
from labstock.people.models import LabGroup, User
from labstock.stock.actions import keeping, ledger, reversing, weighing
from labstock.stock.actions.catalogue import add_lot, add_substance
from labstock.stock.actions.lines import Doing
from labstock.stock.actions.receiving import Arrival, receive
from labstock.stock.models import Assay, Container, Kind, Lot, State, Substance

People = dict[str, User]


def load_substances(scenario: Scenario, steward: User) -> Iterator[Substance]:
    """Describe the substances; flags are those the structure proposes."""
    for about in scenario.substances["substance"]:
        mass = parse_formula(about["formula"]).molar_mass
        smiles = about.get("smiles", "")
        moisture = propose_moisture(smiles) if smiles else None
        peroxide = propose_peroxide(smiles) if smiles else None
        density, density_u = about.get("density", (None, None))
        yield add_substance(
            by=steward,
            name=about["name"],
            synonyms=about.get("synonyms", []),
            cas=about.get("cas", ""),
            formula=about["formula"],
            smiles=smiles,
            molar_mass_g_per_mol=float(mass.nominal_value),
            molar_mass_u_g_per_mol=float(mass.std_dev),
            density_g_per_mL=density,
            density_u_g_per_mL=density_u,
            density_at_celsius=20.0 if density else None,
            is_liquid=about.get("liquid", False),
            boiling_point_celsius=about.get("boils"),
            sources={"molar mass": "from the formula, CIAAW 2021 atomic weights"}
            | ({"density": "handbook value at 20 °C, from memory"} if density else {})
            | ({"boiling_point": "handbook value, from memory"} if "boils" in about else {}),
            hazards=about.get("hazards", []),
            is_moisture_sensitive=moisture is not None,
            moisture_because=moisture.because if moisture else "",
            is_peroxide_former=peroxide is not None,
            peroxide_because=peroxide.because if peroxide else "",
        )


def load_lots(scenario: Scenario, steward: User) -> Iterator[tuple[str, Lot]]:
    """Make the lots; yields the fixture's key with each."""
    today = timezone.localdate(scenario.now)
    for about in scenario.shelf["lot"]:
        kind, percent, half_width = (*about["purity"], None, None)[:3]
        density, density_u = about.get("density", (None, None))
        yield (
            about["key"],
            add_lot(
                by=steward,
                substance=Substance.objects.get(name=about["substance"]),
                number=about.get("number", ""),
                supplier=about.get("supplier", ""),
                grade=about.get("grade", ""),
                product_number=about.get("product_number", ""),
                purity_kind=kind,
                purity_percent=percent,
                purity_half_width=half_width,
                density_g_per_mL=density,
                density_u_g_per_mL=density_u,
                expires_on=_in_days(today, about.get("expires_in")),
                retest_on=_in_days(today, about.get("retest_in")),
            ),
        )


def _in_days(today: Any, days: int | None) -> Any:
    return None if days is None else today + timedelta(days=days)


def load_containers(scenario: Scenario, lots: dict[str, Lot], people: People) -> Iterator[Container]:
    """Receive the containers. What happened to them is loaded later, in the order of time."""
    for about in scenario.shelf["container"]:
        days_ago, clock = about["received"]
        at = scenario.on(days_ago, clock)
        capacity = parse_quantity(about["capacity"])
        lot = lots[about["lot"]]
        yield receive(
            arrival=Arrival(
                unit={"mass": "g", "volume": "mL"}[capacity.dimension],
                capacity=capacity,
                amount=capacity,
                lot=lot,
                vessel=about.get("vessel", "bottle"),
                heel=parse_quantity(about["heel"]) if "heel" in about else None,
                gross=parse_quantity(about["gross"]) if "gross" in about else None,
                location=place_called(about["place"]),
                owner_group=LabGroup.objects.get(name=about["group"]),
                needs=about.get("needs", []),
                received_on=timezone.localdate(at),
                number=about["number"],
            ),
            doing=past(people["wren"], at),
        )


def past(by: User, at: datetime, reason: str = "", purpose: str = "") -> Doing:
    """Return a doing of the invented past, recorded when it was done."""
    return Doing(by=by, at=at, recorded_at=at, reason=reason, purpose=purpose)


def events(scenario: Scenario, people: People) -> list[tuple[datetime, Callable[[], object]]]:
    """Return everything that happened to the containers, each with its moment."""
    found: list[tuple[datetime, Callable[[], object]]] = []
    for about in scenario.shelf["container"]:
        for days_ago, clock, who, what, amount, device, remark in about.get("history", []):
            at = scenario.on(days_ago, clock)
            found.append((at, _event(about["number"], people[who], at, what, amount, device, remark)))
    return found


def _event(
    number: int, by: User, at: datetime, what: str, amount: str, device: str, remark: str
) -> Callable[[], object]:
    def happen() -> object:
        container = Container.objects.get(number=number)
        if what == "assay":
            return _assay(container, by, at, amount, device)
        if what in ("blocked", "not seen"):
            return keeping.change_state(container=container, to=State(what), doing=past(by, at, remark))
        if what == "reversed":
            last = container.entries.filter(by=by).order_by("-seq")[0]
            return reversing.reverse(entry=last, doing=past(by, at, remark))
        quantity = parse_quantity(amount)
        if what == "weighed":
            doing = past(by, at, remark)
            return weighing.weigh(container=container, gross=quantity, device_code=device, doing=doing)
        if what == "spilt":
            doing = past(by, at, remark)
            return ledger.record_loss(
                container=container, kind=Kind.SPILT, amount=quantity, device_code=device, doing=doing
            )
        doing = past(by, at, purpose=remark)
        return ledger.draw(container=container, amount=quantity, device_code=device, doing=doing)

    return happen


def _assay(container: Container, by: User, at: datetime, percent: str, method: str) -> Assay:
    value, _, half = percent.partition(" ± ")
    return Assay.objects.create(
        container=container, percent=float(value), u_percent=float(half) / 2, method=method,
        measured_on=timezone.localdate(at), by=by,
    )  # fmt: skip

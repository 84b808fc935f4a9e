"""What else happened to the bottles of the demo: poured over, dissolved, looked at, found without a label."""

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from functools import partial
from typing import Any

from django.utils import timezone

from labstock.bench.demo.people_and_places import place_called
from labstock.bench.demo.scenario import Scenario
from labstock.bench.demo.shelf import People, past
from labstock.chemistry.quantities import parse_quantity
from labstock.stock.actions import dissolving, looking, transferring, unknown
from labstock.stock.actions.lines import Doing
from labstock.stock.models import Container


def act_events(scenario: Scenario, people: People) -> Iterator[tuple[datetime, Callable[[], object]]]:
    """Yield each act with its moment."""
    for name, act in (("decant", decant), ("solution", dissolve), ("look", look), ("unknown", find)):
        for about in scenario.acts[name]:
            at = scenario.on(*about["when"])
            yield at, partial(act, about, past(people[about["who"]], at))


def decant(about: dict[str, Any], doing: Doing) -> Container:
    """Fill a smaller bottle."""
    return transferring.decant(
        container=Container.objects.get(number=about["from"]),
        amount=parse_quantity(about["amount"]),
        device_code=about["device"],
        into=transferring.Vessel(
            capacity=parse_quantity(about["capacity"]),
            heel=parse_quantity(about["heel"]),
            gross=parse_quantity(about["gross"]),
            location=place_called(about["place"]),
        ),
        doing=doing,
    )


def dissolve(about: dict[str, Any], doing: Doing) -> Container:
    """Make a solution up to a mark."""
    parts = [
        dissolving.Part(Container.objects.get(number=number), parse_quantity(amount), device)
        for number, amount, device in about["parts"]
    ]
    solution = dissolving.Solution(
        volume=parse_quantity(about["volume"]),
        volume_device=about["flask"],
        use_by=timezone.localdate(doing.at) + timedelta(days=about["days"]),
        capacity=parse_quantity(about["capacity"]),
        location=place_called(about["place"]),
    )
    return dissolving.make_solution(parts=parts, solution=solution, doing=doing)


def look(about: dict[str, Any], doing: Doing) -> object:
    """Look for signs of trouble before pouring."""
    answers = dict.fromkeys(about["seen"], True) | dict.fromkeys(about["not_seen"], False)
    container = Container.objects.get(number=about["number"])
    return looking.record_look(
        container=container, answers=answers, doing=past(doing.by, doing.at, about["words"])
    )


def find(about: dict[str, Any], doing: Doing) -> object:
    """Find a bottle that nobody can name."""
    found = unknown.Find(
        size=parse_quantity(about["size"]),
        appearance=about["appearance"],
        place=place_called(about["place"]),
        vessel=about["vessel"],
    )
    return unknown.log_unknown(find=found, doing=doing)

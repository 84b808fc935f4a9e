"""Who works at Tern Quay, and where things stand there."""

from collections.abc import Iterator

from labstock.bench.demo.scenario import Scenario
from labstock.people.models import LabGroup, User
from labstock.stock.actions.catalogue import add_location
from labstock.stock.models import Location


def load_people(scenario: Scenario) -> dict[str, User]:
    """Make the groups and the people, each with the demo's password."""
    groups = {name: LabGroup.objects.create(name=name) for name in scenario.people["groups"]}
    people = {}
    for about in scenario.people["person"]:
        user = User(
            username=about["username"],
            first_name=about["name"][0],
            last_name=about["name"][1],
            role=about["role"],
            group=groups[about["group"]],
        )
        user.set_password(scenario.people["password"])
        user.save()
        people[user.username] = user
    return people


def load_places(scenario: Scenario, steward: User) -> Iterator[Location]:
    """Make the tree of places; yields one place at a time."""
    made: dict[str, Location] = {}
    for path, kind, offers in scenario.places["place"]:
        parent, _, name = path.rpartition(" / ")
        made[path] = add_location(by=steward, name=name, kind=kind, parent=made.get(parent), offers=offers)
        yield made[path]


def place_called(path: str) -> Location:
    """Return a place by the path the fixture files use."""
    return Location.objects.get(path=path.replace(" / ", ", "))

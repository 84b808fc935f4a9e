"""Load the whole demo through the same actions that people use: its ledger is as honest as any other."""

from collections.abc import Iterable

from tqdm import tqdm

from labstock.bench.demo import acts, shelf, work
from labstock.bench.demo.people_and_places import load_people, load_places
from labstock.bench.demo.scenario import Scenario
from labstock.stock.models import CodeSeries
from labstock.writing import writing

LAST_NUMBER = 5100


def load_demo(scenario: Scenario, *, quiet: bool = False) -> None:
    """Fill an empty database with the invented laboratory."""
    with writing(), tqdm(total=scenario.steps, unit=" things", disable=quiet) as bar:
        CodeSeries.objects.update_or_create(prefix="TQ", defaults={"last_number": LAST_NUMBER})
        people = load_people(scenario)
        wren = people["wren"]
        _count(load_places(scenario, wren), bar)
        _count(shelf.load_substances(scenario, wren), bar)
        lots = {}
        for key, lot in shelf.load_lots(scenario, wren):
            lots[key] = lot
            bar.update()
        _count(shelf.load_containers(scenario, lots, people), bar)
        happenings = [
            *shelf.events(scenario, people),
            *acts.act_events(scenario, people),
            *work.batch_events(scenario, people),
        ]
        for _, happen in sorted(happenings, key=lambda pair: pair[0]):
            happen()
        bar.update(len(scenario.batches["batch"]))
        _count(work.load_samples(scenario, people), bar)
        _count(work.load_sessions(scenario, people), bar)


def _count(things: Iterable[object], bar: "tqdm[object]") -> None:
    for _ in things:
        bar.update()

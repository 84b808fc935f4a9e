"""The invented laboratory of fixtures/demo, read and brought onto today's calendar."""

import tomllib
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.utils import timezone

FILES = ("people", "places", "substances", "shelf", "batches", "samples", "acts")


@dataclass(frozen=True)
class Scenario:
    """All the tables of the demo, and the day its history counts back from."""

    people: dict[str, Any]
    places: dict[str, Any]
    substances: dict[str, Any]
    shelf: dict[str, Any]
    batches: dict[str, Any]
    samples: dict[str, Any]
    acts: dict[str, Any]
    now: datetime

    def on(self, days_ago: float, clock: str) -> datetime:
        """Return a moment so many days ago at a time of day; never later than now."""
        day = timezone.localdate(self.now) - timedelta(days=days_ago)
        hour, minute = map(int, clock.split(":"))
        return min(timezone.make_aware(datetime.combine(day, time(hour, minute))), self.now)

    @property
    def steps(self) -> int:
        """Return how many things are loaded: the length of the progress bar."""
        return (
            len(self.places["place"])
            + len(self.substances["substance"])
            + len(self.shelf["lot"])
            + len(self.shelf["container"])
            + len(self.batches["batch"])
            + len(self.batches["session"])
            + len(self.samples["sample"])
        )


def read_scenario(now: datetime | None = None) -> Scenario:
    """Read the files of the demo."""
    folder = Path(settings.BASE_DIR) / "fixtures" / "demo"
    tables = {name: tomllib.loads((folder / f"{name}.toml").read_text(encoding="utf-8")) for name in FILES}
    return Scenario(**tables, now=now or timezone.now())

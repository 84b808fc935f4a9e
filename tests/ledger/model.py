"""What a shelf of containers must do, in the fewest lines that say it: whole millionths, no database, no chains."""

from dataclasses import dataclass, field
from datetime import datetime


@dataclass
class Bottle:
    """A container as the model sees it."""

    left: int
    heel: int
    state: str = "in use"
    lines: int = 1


@dataclass
class Promise:
    """An amount held for a session."""

    bottle: int
    session: int
    left: int
    is_held: bool = True


@dataclass
class Shelf:
    """All bottles and all promises; `ends` says when each session is over."""

    bottles: dict[int, Bottle] = field(default_factory=dict)
    promises: dict[int, Promise] = field(default_factory=dict)
    ends: dict[int, datetime] = field(default_factory=dict)

    def change(self, bottle: int, by: int) -> None:
        """Write one line."""
        self.bottles[bottle].left += by
        self.bottles[bottle].lines += 1

    def held(self, bottle: int, at: datetime) -> int:
        """Return what is promised of a bottle."""
        live = (row for row in self.promises.values() if row.is_held and self.ends[row.session] > at)
        return sum(max(row.left, 0) for row in live if row.bottle == bottle)

    def free(self, bottle: int, at: datetime) -> int:
        """Return what may still be promised."""
        return self.bottles[bottle].left - self.bottles[bottle].heel - self.held(bottle, at)

    def let_go(self, *, session: int | None = None, bottle: int | None = None) -> None:
        """End the promises of a session, or those on a bottle of which something is left."""
        for row in self.promises.values():
            if row.session == session or (row.bottle == bottle and row.left > 0):
                row.is_held = False

"""What the board of unknown bottles shows."""

from dataclasses import dataclass

from labstock.stock.candidates import Likeness, candidates_for, what_to_look_at
from labstock.stock.models import UnknownClaim, UnknownFind
from labstock.stock.models.container import MILLION
from labstock.stock.signs import SignRule, latest_signs, rule_for

MOST_SHOWN = 100


@dataclass(frozen=True)
class Found:
    """One bottle on the board."""

    find: UnknownFind
    claim: UnknownClaim | None

    @property
    def capacity(self) -> float:
        """Return its size [container's unit]."""
        return self.find.container.capacity / MILLION


@dataclass(frozen=True)
class FindPage:
    """One bottle with the missing containers it might be."""

    found: Found
    candidates: tuple[Likeness, ...]
    look_next: str
    stops: tuple[SignRule, ...]


def board() -> list[Found]:
    """Return the bottles, newest first, those that nobody has named before the others."""
    rows = UnknownFind.objects.select_related("container__location", "by", "claim__container", "claim__by")
    newest = [Found(find, getattr(find, "claim", None)) for find in rows.order_by("-id")[:MOST_SHOWN]]
    return sorted(newest, key=lambda one: one.claim is not None)


def find_page(find: UnknownFind) -> FindPage:
    """Gather one bottle's page; a claimed one has no candidates any more."""
    claim = getattr(find, "claim", None)
    candidates = [] if claim else candidates_for(find)
    seen = [rule_for(sign.what, None) for sign in latest_signs(find.container).values() if sign.is_seen]
    return FindPage(
        found=Found(find, claim),
        candidates=tuple(candidates),
        look_next=what_to_look_at(find, candidates),
        stops=tuple(rule for rule in seen if rule.grade == "stop"),
    )

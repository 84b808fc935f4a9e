"""Beginning a check, and counting one container: what the pages show, and what they must not."""

from dataclasses import dataclass

from labstock.chemistry.display import show
from labstock.stock.models import Container, Location, StockCheck
from labstock.stock.models.container import MILLION
from labstock.stock.pages.check_walk import place_walked, walk_address
from labstock.stock.queries_checks import expected_at, open_checks


@dataclass(frozen=True)
class StartPage:
    """What stands in the place asked for, and which checks go on."""

    place: Location | None
    expected: int
    going_on: tuple[StockCheck, ...]


def start_page(asked: str) -> StartPage:
    """Gather the page that begins a check."""
    is_number = asked.isascii() and asked.isdigit()
    place = Location.objects.filter(pk=min(int(asked), 2**62)).first() if is_number else None
    return StartPage(place, expected_at(place).count() if place else 0, tuple(open_checks()[:10]))


@dataclass(frozen=True)
class CountPage:
    """A container to be counted. Nothing here tells what the book says is in it."""

    stock_check: StockCheck
    container: Container
    back: str

    @property
    def size(self) -> str:
        """Return how much it holds when it is full."""
        return show(self.container.capacity / MILLION, self.container.unit)

    @property
    def can_weigh(self) -> bool:
        """Say whether a gross mass tells what is left: it was weighed when it came."""
        density = self.container.lot.density if self.container.lot else None
        has_density = self.container.unit == "g" or (self.container.unit == "mL" and density is not None)
        return self.container.gross_at_receipt_ug is not None and has_density


def count_page(stock_check: StockCheck, container: Container, at: str) -> CountPage:
    """Gather the page of a blind count."""
    finding = stock_check.findings.filter(container=container).values_list("pk", flat=True).first()
    back = walk_address(stock_check, place_walked(stock_check, at), finding or 0)
    return CountPage(stock_check, container, back)

"""A gloved thumb on a phone: it taps, types one number, and counts both."""

from dataclasses import dataclass, field
from typing import Any

from playwright.sync_api import Locator, Page, expect

from labstock.labels.codes_read import location_code
from labstock.stock.actions.keeping import move
from labstock.stock.actions.lines import Doing
from labstock.stock.models import Container, Location
from tests import builders
from tests.browser.scanner import handheld


@dataclass
class Thumb:
    """Does things on a page as a person would, and counts what it took.

    A number is typed where the cursor is: getting the cursor there is a tap if the page did not put it there. A code is
    scanned as a handheld scanner types it, without a tap.
    """

    page: Page
    taps: int = 0
    numbers: int = 0
    words: list[str] = field(default_factory=list)

    def tap(self, target: Locator) -> None:
        """Tap something once."""
        target.tap()
        self.taps += 1

    def press(self, name: str) -> None:
        """Tap a button or a link by its whole name."""
        page = self.page.locator("main")
        self.tap(
            page.get_by_role("button", name=name, exact=True).or_(
                page.get_by_role("link", name=name, exact=True)
            )
        )

    def number(self, label: str, digits: str) -> None:
        """Type a number into the field of that label, with a tap only if the cursor is not there."""
        into = self.page.get_by_label(label, exact=True)
        into.wait_for()
        if not into.evaluate("field => field === document.activeElement"):
            self.tap(into)
        self.page.keyboard.type(digits)
        self.numbers += 1

    def scan(self, code: str) -> None:
        """Let a scanner type a code wherever the cursor is."""
        handheld(self.page, code)


@dataclass(frozen=True)
class Scene:
    """What stands on the bench: the bottle that was scanned, another of the same stuff, and two places."""

    bottle: Container
    other: Container
    place: Location
    place_code: str


def set_scene(number: int | None = None) -> Scene:
    """Put two bottles on the bench; the steward was at the other place before."""
    bottle = builders.container(holds="53 mL", gross="286.40 g", number=number)
    other = builders.container(lot=builders.lot(number="TWO 2"), holds="50 mL")
    shelf = builders.place("shelf 3", "shelf")
    move(container=other, to=shelf, doing=Doing(by=builders.person("wren")))
    return Scene(bottle, other, shelf, location_code(shelf.pk))


@dataclass(frozen=True)
class BenchAct:
    """One act: what a person does once the bottle is scanned, what the site then says, and the name of its undo."""

    name: str
    said: str
    undo: str

    def do(self, thumb: Thumb, scene: Scene) -> None:
        """Do it, from the page of the scanned bottle."""
        STEPS[self.name](thumb, scene)

    def is_recorded(self, page: Page, timeout: float = 10_000) -> None:
        """Wait until the site says so."""
        expect(page.get_by_role("status")).to_contain_text(self.said, timeout=timeout)


def _used(thumb: Thumb, scene: Scene) -> None:
    thumb.number("How much did you take?", "5")
    thumb.tap(thumb.page.get_by_role("button", name="Record 5"))


def _used_by_a_tap(thumb: Thumb, scene: Scene) -> None:
    thumb.press("5")
    thumb.tap(thumb.page.get_by_role("button", name="Record 5"))


def _weighed(thumb: Thumb, scene: Scene) -> None:
    thumb.tap(thumb.page.get_by_role("radio", name="Gross mass now"))
    thumb.number("What does it weigh, cap on?", "286.2")
    thumb.tap(thumb.page.get_by_role("button", name="Record 286.2"))


def _otherwise(word: str) -> Any:
    def do(thumb: Thumb, scene: Scene) -> None:
        thumb.number("How much did you take?", "2")
        thumb.press(word)

    return do


def _decanted(thumb: Thumb, scene: Scene) -> None:
    thumb.press("Decant")
    thumb.number("How much?", "20")
    thumb.press("Decant it")


def _dissolved(thumb: Thumb, scene: Scene) -> None:
    thumb.press("Make a solution")
    thumb.number(f"How much {scene.bottle.name}?", "5")
    thumb.press("100\N{NO-BREAK SPACE}mL")


def _topped_up(thumb: Thumb, scene: Scene) -> None:
    thumb.press("Top up another")
    thumb.page.wait_for_url("**/topup")
    thumb.scan(scene.other.code)
    thumb.number("How much?", "10")
    thumb.press("Pour it")


def _moved(thumb: Thumb, scene: Scene) -> None:
    thumb.scan(scene.place_code)


def _moved_by_hand(thumb: Thumb, scene: Scene) -> None:
    thumb.press("Move")
    thumb.press(str(scene.place))


def _looked(thumb: Thumb, scene: Scene) -> None:
    thumb.press("Signs of trouble")
    thumb.press("Acid smell noticed")


def _emptied(thumb: Thumb, scene: Scene) -> None:
    thumb.press("Empty, not seen, block")
    thumb.press("Empty: used up")


def _disposed(thumb: Thumb, scene: Scene) -> None:
    thumb.press("Dispose of it")
    thumb.press("Used up and rinsed")


STEPS = {
    "use": _used,
    "use, amount tapped": _used_by_a_tap,
    "weigh back": _weighed,
    "decant": _decanted,
    "make a solution": _dissolved,
    "top up": _topped_up,
    "move, place scanned": _moved,
    "move, place tapped": _moved_by_hand,
    "spilt": _otherwise("Spilt"),
    "purged": _otherwise("Purged"),
    "evaporated": _otherwise("Evaporated"),
    "to waste": _otherwise("To waste"),
    "broken": _otherwise("Broken"),
    "found more": _otherwise("Found more"),
    "sign of trouble": _looked,
    "empty": _emptied,
    "dispose": _disposed,
}
ACTS = (
    BenchAct("use", "5 mL recorded", "Undo line 2"),
    BenchAct("use, amount tapped", "5 mL recorded", "Undo line 2"),
    BenchAct("weigh back", "Gross mass 286.2 g recorded", "Undo line 2"),
    BenchAct("decant", "lot, hazards, opening and end", "Undo line 1"),
    BenchAct("make a solution", "made in", "Undo line 1"),
    BenchAct("top up", "A recall of either lot finds it", "Undo line 2"),
    BenchAct("move, place scanned", "It stands in", "Undo the move"),
    BenchAct("move, place tapped", "It stands in", "Undo the move"),
    BenchAct("spilt", "2 mL spilt", "Undo line 2"),
    BenchAct("purged", "2 mL purged", "Undo line 2"),
    BenchAct("evaporated", "2 mL evaporated", "Undo line 2"),
    BenchAct("to waste", "2 mL poured to waste", "Undo line 2"),
    BenchAct("broken", "2 mL lost with the broken vessel", "Undo line 2"),
    BenchAct("found more", "2 mL more found", "Undo line 2"),
    BenchAct("sign of trouble", "Enter an assay before anybody counts on its strength", "Undo the look"),
    BenchAct("empty", "It is empty now", "Undo “empty”"),
    BenchAct("dispose", "Disposed of", "Undo line 2"),
)

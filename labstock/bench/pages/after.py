"""What is said after an act: what was recorded, what is left, and whose promise it cut into."""

from django.utils import timezone

from labstock.bench.pages.amounts import left_words
from labstock.chemistry.display import show
from labstock.people.models import User
from labstock.stock.found import share_left, weighings_after
from labstock.stock.models import Container, Entry, Kind, Reservation
from labstock.stock.models.container import MILLION
from labstock.stock.queries import holding, holds_on

DONE = {
    Kind.DRAWN: "{amount} recorded",
    Kind.WEIGHED_BACK: "{gross} recorded",
    Kind.SPILT: "{amount} spilt",
    Kind.EVAPORATED: "{amount} evaporated",
    Kind.WASTED: "{amount} poured to waste",
    Kind.PURGED: "{amount} purged",
    Kind.BROKEN: "{amount} lost with the broken vessel",
    Kind.FOUND: "{amount} more found",
    Kind.REVERSED: "Line {reverses} reversed",
    Kind.STANDS: "The weighing stands",
}


def said_after(entry: Entry) -> str:
    """Return one sentence: what was recorded and what is left."""
    container = entry.container
    amount = show(abs(entry.change) / MILLION, container.unit)
    words = DONE.get(Kind(entry.kind), entry.get_kind_display()).format(
        amount=_typed(entry) or amount,
        gross=f"Gross mass {_typed(entry, 'g')}",
        reverses=entry.reverses.seq if entry.reverses else "",
    )
    purpose = f" for {entry.purpose}" if entry.purpose and entry.kind == Kind.DRAWN else ""
    return f"{words}{purpose}, {left_words(container)} left."


def stands_and_is(container: Container) -> str:
    """Say where a container stands and what state it is in."""
    where = f"it stands in {container.location}" if container.location else "its place is not known"
    return f"{where} and is {container.get_state_display()}"


def line_words(entry: Entry) -> str:
    """Return what a line says, for the page that asks why it is wrong."""
    change = show(entry.change / MILLION, entry.container.unit)
    done = timezone.localtime(entry.done_at)
    words = f"{entry.get_kind_display()} {change} on {done:%a %d %b %Y %H:%M}, by {entry.by_name}. Both lines stay readable."
    return f"{words} {_weighing_stands(entry)}".strip()


def _weighing_stands(entry: Entry) -> str:
    """Say that a later weighing keeps what is left as it is, and how much of the line it had not put right."""
    weighings = weighings_after(entry.container, entry.seq)
    if not weighings:
        return ""
    last = weighings[-1].entry
    on = f"{timezone.localtime(last.done_at):%a %d %b %Y}"
    open_still = entry.change * share_left(weighings) / MILLION
    moved = show(abs(open_still), entry.container.unit, abs(open_still) / 10) if open_still else ""
    left = f"only changes by about {moved}" if round(open_still, 2) else "stays as that found"
    return (
        f"Line {last.seq} of {on} ({last.get_kind_display().lower()}) came after it and has put the amount right: what is "
        f"left {left}, and this corrects what was used. If it came out of another container, enter it there."
    )


def cut_into(container: Container, person: User) -> str:
    """Say whose held amount is no longer all there, how much, and until when; empty where all promises stand."""
    if not Reservation.objects.filter(holding(), container=container).exists():
        return ""
    holds = [hold for hold in holds_on(container) if hold.session.owner_id != person.pk]
    there = container.remaining - container.heel
    if sum(hold.left for hold in holds) <= there:
        return ""
    who = "; ".join(
        f"{hold.session.owner} holds {show(hold.left / MILLION, container.unit)} until "
        f"{timezone.localtime(hold.session.ends_at):%a %d %b %H:%M}"
        for hold in holds
    )
    return (
        f"This cuts into what is held: {who}, and {show(max(there, 0) / MILLION, container.unit, container.doubt.u)} can be got out. "
        "Tell them now, or put it back and reverse the line."
    )


def _typed(entry: Entry, unit: str = "") -> str:
    """Return what the person typed, with its unit behind a bare number."""
    text = entry.typed.strip()
    bare = text.replace(".", "").replace(",", "").isdigit()
    return f"{text}\N{NO-BREAK SPACE}{unit or entry.container.unit}" if bare else text

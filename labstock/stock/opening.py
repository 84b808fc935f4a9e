"""What to know before a container is opened: cold glass draws water out of the air."""

from labstock.stock.models import Container, Location, Need, State

# Common practice, no source.
WARM_SHUT = "It comes from the cold: let it warm up shut, until the glass is dry, before you open it."
TAKES_UP = "Water from the air condenses in it, and it takes up water."
CONDENSES = "Water from the air condenses in it and is weighed and measured with it."


def opening_note(container: Container) -> str:
    """Return what to do before it is opened, or "" where it does not stand cold."""
    if container.state == State.DISPOSED or container.location is None or not is_cold(container.location):
        return ""
    is_wary = container.substance is not None and container.substance.is_moisture_sensitive
    return f"{WARM_SHUT} {TAKES_UP if is_wary else CONDENSES}"


def is_cold(place: Location) -> bool:
    """Say whether a place, or one around it, offers cold."""
    names = place.path.split(", ")
    around = [", ".join(names[: number + 1]) for number in range(len(names))]
    return any(
        Need.COLD in offers
        for offers in Location.objects.filter(path__in=around).values_list("offers", flat=True)
    )

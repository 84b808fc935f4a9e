"""What every template may ask about the reader."""

from django.http import HttpRequest

from labstock.people import roles, tablet


def may(request: HttpRequest) -> dict[str, object]:
    """Give templates `may.draw`, `may.stock` and so on."""
    user = getattr(request, "user", None)
    return {"may": {act.name.lower(): user is not None and roles.may(user, act) for act in roles.Act}}


def shared_tablet(request: HttpRequest) -> dict[str, object]:
    """Give templates the name of the shared tablet they are shown on, and when it locks [s]; nothing elsewhere."""
    name = tablet.tablet_name(request)
    return {"tablet": name, "tablet_locks_after": tablet.seconds_to_lock(request)} if name else {}

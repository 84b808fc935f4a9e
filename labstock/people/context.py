"""What every template may ask about the reader."""

from django.http import HttpRequest

from labstock.people import roles


def may(request: HttpRequest) -> dict[str, object]:
    """Give templates `may.draw`, `may.stock` and so on."""
    user = getattr(request, "user", None)
    return {"may": {act.name.lower(): user is not None and roles.may(user, act) for act in roles.Act}}

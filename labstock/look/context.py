"""What every template may ask about the lab."""

from django.conf import settings
from django.http import HttpRequest


def lab(request: HttpRequest) -> dict[str, str]:
    """Give templates the lab's name and the line under it."""
    return {"LAB_NAME": settings.LABSTOCK_LAB_NAME, "LAB_SUBTITLE": settings.LABSTOCK_LAB_SUBTITLE}

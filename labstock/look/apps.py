"""The house's look: what every page shares."""

from django.apps import AppConfig
from django.forms import Field


class LookConfig(AppConfig):
    """Style sheets, drawings and template tags; no tables."""

    name = "labstock.look"
    label = "look"
    verbose_name = "look"

    def ready(self) -> None:
        """Let every form say the same about a field that was left empty."""
        Field.default_error_messages["required"] = "It is empty: fill it in."

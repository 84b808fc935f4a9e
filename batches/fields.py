"""Form fields that read what people type at a batch or a sample; a refusal becomes the field's error."""

import uuid
from typing import Any

from django import forms

from labstock.stock.forms.fields import QuantityField

BROKEN = "This form lost a part of itself on the way: open the page again and enter it anew."


class PercentField(QuantityField):
    """A number of per cent, with or without the sign."""

    def __init__(self, **options: Any) -> None:
        super().__init__(default_unit="%", dimensions=("fraction",), **options)

    def clean(self, value: Any) -> Any:
        """Return the number of per cent, or None."""
        quantity = super().clean(value)
        return None if quantity is None else float(quantity.in_unit("%"))


class MomentField(forms.DateTimeField):
    """A moment on the lab's clock."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("required", False)
        widget = forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M")
        options.setdefault("widget", widget)
        super().__init__(**options)


class SentOnce(forms.Form):
    """A form with a key made when its page was, so that sending it twice does the thing once."""

    key = forms.UUIDField(
        initial=uuid.uuid4, widget=forms.HiddenInput, error_messages={"required": BROKEN, "invalid": BROKEN}
    )

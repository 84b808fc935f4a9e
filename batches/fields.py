"""Form fields that read what people type at a batch or a sample; a refusal becomes the field's error."""

import uuid
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from labstock.chemistry.errors import LabError
from labstock.chemistry.quantities import Quantity, parse_quantity

BROKEN = "This form lost a part of itself on the way: open the page again and enter it anew."


class AmountField(forms.CharField):
    """An amount with its unit; a bare number is in `default_unit`."""

    def __init__(
        self,
        *,
        default_unit: str = "",
        dimensions: Sequence[str] | None = None,
        allow_zero: bool = False,
        **options: Any,
    ) -> None:
        super().__init__(**({"max_length": 80} | options))
        self.default_unit, self.dimensions, self.allow_zero = default_unit, dimensions, allow_zero
        self.widget.attrs.update({"inputmode": "decimal", "autocomplete": "off"})

    def clean(self, value: Any) -> Any:
        """Return a Quantity, or None where nothing was typed and nothing is needed."""
        text = super().clean(value)
        return self._read(text) if text else None

    def _read(self, text: str) -> Quantity:
        try:
            read = parse_quantity(
                text,
                dimensions=self.dimensions,
                default_unit=self.default_unit or None,
                allow_zero=self.allow_zero,
            )
        except LabError as error:
            raise ValidationError(error.message, code=error.code) from error
        # a bare number stood beside its unit on the page: both are what the person meant to write
        has_unit = any(letter.isalpha() or letter == "%" for letter in text)
        return read if has_unit else replace(read, typed=f"{text} {self.default_unit}")


class PercentField(AmountField):
    """A number of per cent, with or without the sign."""

    def __init__(self, **options: Any) -> None:
        super().__init__(default_unit="%", dimensions=("fraction",), **options)

    def clean(self, value: Any) -> Any:
        """Return the number of per cent, or None."""
        quantity = super().clean(value)
        return None if quantity is None else float(quantity.in_unit("%"))


class DayField(forms.DateField):
    """A day of the calendar."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("required", False)
        options.setdefault("widget", forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
        super().__init__(**options)


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

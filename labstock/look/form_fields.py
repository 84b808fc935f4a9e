"""How a Django form field is shown: which shape it takes and what a screen reader is told."""

from django import forms
from django.forms.boundfield import BoundField

# A field whose name or widget says "one number" is set large by css="box--one".
_PICKS = (forms.RadioSelect, forms.CheckboxSelectMultiple)


def shape_of(bound: BoundField, unit: str, hint: str, css: str, label: str) -> dict[str, object]:
    """Give the template look/field.html what it needs."""
    widget = bound.field.widget
    name = bound.id_for_label or bound.html_name
    hint_text = hint or bound.help_text
    ids = [f"{name}-wrong" if bound.errors else "", f"{name}-hint" if hint_text else ""]
    described = " ".join(i for i in ids if i)
    return {
        "field": bound,
        "shape": _shape(widget),
        "unit": unit or widget.attrs.get("data-unit", ""),
        "hint": hint_text,
        "css": css,
        "label": label or bound.label,
        "name": name,
        "described": described,
        "drawn": bound.as_widget(attrs=_attributes(bound, described)),
        "is_optional": not bound.field.required,
    }


def _shape(widget: forms.Widget) -> str:
    if widget.is_hidden:
        return "hidden"
    if isinstance(widget, _PICKS):
        return "picks"
    if isinstance(widget, forms.CheckboxInput):
        return "tick"
    if isinstance(widget, forms.Select):
        return "select"
    if isinstance(widget, forms.MultiWidget):
        return "group"
    if isinstance(widget, forms.Textarea):
        return "textarea"
    return "file" if isinstance(widget, forms.FileInput) else "line"


def _attributes(bound: BoundField, described: str) -> dict[str, str | bool]:
    attributes: dict[str, str | bool] = {"aria-describedby": described} if described else {}
    if bound.errors:
        attributes["aria-invalid"] = "true"
    return attributes

"""The tag of the waterfall: {% load waterfall %}{% waterfall bars "mL" %}."""

from collections.abc import Iterable

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from labstock.look.drawing.waterfall import Bar
from labstock.look.drawing.waterfall import waterfall as draw_waterfall

register = template.Library()


@register.simple_tag
def waterfall(bars: Iterable[Bar], unit: str) -> SafeString:
    """Draw where an amount went."""
    return format_html('<figure class="picture">{}</figure>', SafeString(draw_waterfall(list(bars), unit)))

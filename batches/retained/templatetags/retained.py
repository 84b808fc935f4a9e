"""How label texts and amounts of samples stand on a page."""

import re
from html import escape

from django import template
from django.utils.safestring import SafeString

from batches.retained.tables import drawn
from labstock.look.words import with_doubt
from labstock.stock.models import Container

register = template.Library()


@register.filter
def as_written(text: str) -> SafeString:
    """Set a line of a label: what cannot be read is grounded, doubtful letters are dotted."""
    said = re.sub(r"⟨[^⟩]*⟩?", lambda found: f'<span class="gap">{found[0]}</span>', escape(str(text)))
    said = re.sub(r"\[([^\]\[]*\?)\]", lambda found: f'<span class="doubt">[{found[1]}]</span>', said)
    return SafeString(said)


@register.filter
def doubtful(shown: str) -> SafeString:
    """Set a shown amount with its ± in lighter type; words stay words."""
    return with_doubt(shown)


@register.filter
def tube(container: Container) -> SafeString:
    """Draw a container small, beside its name."""
    return drawn(container)

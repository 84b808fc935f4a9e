"""Tags and filters of the house's look. The pages load them without asking (settings: builtins)."""

from collections.abc import Sequence

from django import forms, template
from django.forms.boundfield import BoundField
from django.template.defaultfilters import slugify
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from labstock.look import pictures, words
from labstock.look.drawing import glass, signs
from labstock.look.drawing.content import Note
from labstock.look.drawing.laid import laid as draw_laid
from labstock.look.drawing.vessel import vessel as draw_vessel
from labstock.look.form_fields import shape_of
from labstock.look.style_sheets import sheet_addresses

register = template.Library()

# What a container's state is called elsewhere, and how it is drawn.
DRAWN_STATES = {"unknown": "unknown", "away": "away", "not seen": "away", "gone": "gone", "disposed": "gone"}

for name in ("amount", "code", "formula", "moment", "day", "full_day", "clock"):
    register.filter(name, getattr(words, name))
register.simple_tag(words.from_to, name="from_to")
for picture in (
    pictures.ledger_chart,
    pictures.date_rules,
    pictures.strength_picture,
    pictures.age_range,
    pictures.yield_gauge,
    pictures.session_strip,
    pictures.flow,
):
    register.simple_tag(picture)


@register.simple_tag
def style_sheets() -> SafeString:
    """Link to the style sheets of every page."""
    return format_html_join("\n", '<link rel="stylesheet" href="{}">', ((url,) for url in sheet_addresses()))


@register.simple_tag
def vessel_defs() -> SafeString:
    """Textures and rooms that every drawing refers to; base.html has it once."""
    return SafeString(glass.definitions())


@register.simple_tag
def vessel(
    kind: str,
    capacity: object,
    m: object,
    u: object = 0,
    heel: object = 0,
    held: object = 0,
    mine: object = 0,
    unit: str = "mL",
    size: str = "m",
    sealed: bool = False,
    state: str = "",
    notes: Sequence[Note] | None = None,
    label: str = "",
) -> SafeString:
    """Draw a vessel with its contents."""
    content = pictures.content_of(capacity, m, u, heel, held, mine, unit)
    drawn_state = "unknown" if m is None else DRAWN_STATES.get(str(state), "")
    return SafeString(draw_vessel(str(kind), content, size, sealed, drawn_state, label, notes))


@register.simple_tag
def laid(
    capacity: object,
    m: object,
    u: object = 0,
    heel: object = 0,
    held: object = 0,
    mine: object = 0,
    need: object = None,
    unit: str = "mL",
    words: str = "",
) -> SafeString:
    """Draw the contents as a bar, with the need as a bracket."""
    content = pictures.content_of(capacity, m, u, heel, held, mine, unit)
    return SafeString(draw_laid(content, None if need is None else float(str(need)), words=words))


@register.simple_tag
def sign(kind: str, css: str = "sign") -> SafeString:
    """Draw the sign of an answer."""
    return SafeString(signs.sign(kind, css))


@register.simple_tag
def icon(name: str) -> SafeString:
    """Draw a small icon; its word stands beside it."""
    return SafeString(signs.icon(name))


@register.simple_tag
def door_drawing(door: str) -> SafeString:
    """Draw what stands in one of the three doors."""
    return SafeString(signs.door_drawing(door))


@register.simple_block_tag(end_name="endanswer")
def answer(content: str, sign: str, word: object) -> SafeString:
    """Answer the page's question: {% answer "yes" "Yes, up to 37.5 mL" %}<li>why</li>{% endanswer %}."""
    why = format_html('<ul class="answer__why">{}</ul>', content) if content.strip() else ""
    return format_html(
        '<div class="answer">{}<div><p class="answer__word">{}</p>{}</div></div>',
        SafeString(signs.sign(sign, "answer__sign")),
        word,
        why,
    )


@register.simple_block_tag(end_name="endsect")
def sect(content: str, title: str, note: str = "", id: str = "", css: str = "") -> SafeString:
    """Open a ruled section with its heading in the margin."""
    name = id or slugify(title)
    return format_html(
        '<section class="sect{}" id="{}" aria-labelledby="h-{}"><div class="sect__head"><h2 id="h-{}">{}</h2>{}</div>'
        '<div class="sect__body">{}</div></section>',
        f" {css}" if css else "",
        name,
        name,
        name,
        title,
        format_html('<p class="sect__note">{}</p>', note) if note else "",
        content,
    )


@register.simple_block_tag(end_name="endnote")
def note(content: str) -> SafeString:
    """Say something that may be passed over."""
    return format_html('<div class="note">{}</div>', content)


@register.simple_block_tag(end_name="endcaution")
def caution(content: str, word: object = "Caution.") -> SafeString:
    """Warn in ink: triangle, bar and word."""
    return _warning("caution", "caution", word, content)


@register.simple_block_tag(end_name="enddanger")
def danger(content: str, word: object = "Danger.") -> SafeString:
    """Warn of harm: the one thing that is red, with octagon and word."""
    return _warning("danger", "stop", word, content)


@register.simple_block_tag(end_name="endrefusal")
def refusal(content: str, word: object = "Not taken.") -> SafeString:
    """Say that nothing was written down, why, and what would be right."""
    return _warning("refusal", "no", word, content)


@register.inclusion_tag("look/field.html")
def field(
    bound: BoundField, unit: str = "", hint: str = "", css: str = "", label: str = ""
) -> dict[str, object]:
    """Render one form field: label, box, hint, what is wrong with it."""
    return shape_of(bound, unit=unit, hint=hint, css=css, label=label)


@register.inclusion_tag("look/form_errors.html")
def form_errors(form: forms.BaseForm, word: str = "Nothing was recorded.") -> dict[str, object]:
    """Sum up what was refused, with links to the fields."""
    wrong = [form[name] for name in form.errors if name in form.fields]
    return {"form": form, "wrong": wrong, "word": word}


@register.filter
def error_text(bound: BoundField) -> SafeString:
    """Join what is wrong with a field into one line."""
    return format_html_join(" ", "{}", ((error,) for error in bound.errors))


def _warning(css: str, sign: str, word: object, content: str) -> SafeString:
    return format_html(
        '<div class="{}" role="note">{}<div><b class="{}__word">{}</b> {}</div></div>',
        css,
        SafeString(signs.sign(sign)),
        css,
        word,
        content,
    )

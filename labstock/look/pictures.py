"""From what views hold (aware moments, tuples) to the drawings; each is also a template tag of the same name."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import Any

from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from labstock.look.drawing.age_range import Made, age_picture
from labstock.look.drawing.content import Content
from labstock.look.drawing.date_rules import DateRule
from labstock.look.drawing.date_rules import date_rules as draw_date_rules
from labstock.look.drawing.flow import Vessel
from labstock.look.drawing.flow import flow as draw_flow
from labstock.look.drawing.key import key_of
from labstock.look.drawing.ledger_chart import Hold, Step
from labstock.look.drawing.ledger_chart import ledger_chart as draw_ledger_chart
from labstock.look.drawing.session_strip import session_strip as draw_session_strip
from labstock.look.drawing.strength import Claim, Measured, Modelled, Strength
from labstock.look.drawing.strength import strength_picture as draw_strength
from labstock.look.drawing.vessel import vessel as draw_vessel
from labstock.look.drawing.yield_gauge import yield_gauge as draw_yield

_ROWS: dict[str, Any] = {"label": Claim, "measured": Measured, "model": Modelled}


def content_of(
    capacity: Any, m: Any, u: Any = 0, heel: Any = 0, held: Any = 0, mine: Any = 0, unit: str = "mL"
) -> Content:
    """Gather the amounts of a vessel; what is not given is none."""
    best, doubt, heel, held, mine = (_number(amount) for amount in (m, u, heel, held, mine))
    return Content(best, doubt, _number(capacity) or None, heel, held, mine, str(unit))


def ledger_chart(
    steps: Iterable[Sequence[Any]],
    now: datetime,
    capacity: Any = None,
    heel: Any = 0,
    unit: str = "mL",
    holds: Iterable[Sequence[Any]] = (),
) -> SafeString:
    """Draw steps (moment, m, u, kind) and holds (from, to, amount, is it mine), with the key under them."""
    drawn_steps = [Step(_local(at), _number(m), _number(u), str(kind)) for at, m, u, kind in steps]
    if not drawn_steps:
        return SafeString("")
    drawn_holds = [
        Hold(_local(start), _local(end), _number(amount), bool(is_mine))
        for start, end, amount, is_mine in holds
    ]
    last = drawn_steps[-1]
    content = content_of(capacity, last.m, last.u, heel, unit=unit)
    picture = draw_ledger_chart(drawn_steps, _local(now), content, drawn_holds)
    kinds = {step.kind for step in drawn_steps}
    key = key_of(
        is_doubtful=any(step.u for step in drawn_steps),
        is_held=any(not hold.is_mine for hold in drawn_holds),
        is_mine=any(hold.is_mine for hold in drawn_holds),
        has_heel=content.heel > 0,
        kinds=kinds,
    )
    return format_html('<figure class="picture">{}{}</figure>', SafeString(picture), SafeString(key))


def date_rules(rules: Iterable[Sequence[Any]], today: date) -> SafeString:
    """Draw rules (name, counts from, ends on); rules without a date are left out."""
    drawn = [DateRule(str(name), start, end) for name, start, end in rules if start and end]
    picture = draw_date_rules(drawn, today) if drawn else ""
    return (
        format_html('<figure class="picture">{}</figure>', SafeString(picture)) if drawn else SafeString("")
    )


def strength_picture(rows: Iterable[Sequence[Any]], unit: str = "%") -> SafeString:
    """Draw rows ("label", low, high, words), ("measured", value, u, words), ("model", value, u, words)."""
    drawn: list[Strength] = [
        _ROWS[kind](_number(first), _number(second), str(words)) for kind, first, second, words in rows
    ]
    if not drawn:
        return SafeString("")
    return format_html('<figure class="picture">{}</figure>', SafeString(draw_strength(drawn, unit)))


def age_range(
    earliest: date | None, latest: date | None, today: date, about: bool = False, words: str = ""
) -> SafeString:
    """Draw when a sample was made and how old that makes it."""
    if earliest is None and latest is None:
        return SafeString('<p class="caption">Age not known.</p>')
    picture = age_picture(Made(earliest, latest, about, words), today)
    return format_html('<figure class="picture">{}</figure>', SafeString(picture))


def yield_gauge(percent: Any, u: Any = 0, low: Any = None, high: Any = None, words: str = "") -> SafeString:
    """Draw a yield over the usual range."""
    usual = (_number(low), _number(high)) if low is not None and high is not None else None
    picture = draw_yield(_number(percent), _number(u), usual, words)
    return format_html('<figure class="picture">{}</figure>', SafeString(picture))


def flow(went_in: Iterable[Vessel], came_out: Iterable[Vessel], name: str, day: str) -> SafeString:
    """Draw a batch between its containers where there is room, and list them where there is not."""
    left, right = list(went_in), list(came_out)
    items = [
        (way, _listed(vessel)) for way, side in (("went in", left), ("came out", right)) for vessel in side
    ]
    listed = render_to_string("look/flow_list.html", {"items": items})
    return format_html('<div class="flow">{}{}</div>', SafeString(draw_flow(left, right, name, day)), listed)


def _listed(vessel: Vessel) -> dict[str, object]:
    drawn = SafeString(draw_vessel(vessel.kind, vessel.content))
    return {
        "name": vessel.name,
        "code": vessel.code,
        "amount": vessel.amount,
        "url": vessel.url,
        "drawn": drawn,
    }


def session_strip(
    start: datetime, end: datetime, now: datetime | None = None, mine: bool = False
) -> SafeString:
    """Draw a session on its day."""
    first, last = _local(start), _local(end)
    end_hour = _hour(last) if last.date() == first.date() else 24.0
    here = _local(now) if now else None
    now_hour = _hour(here) if here and here.date() == first.date() else None
    return SafeString(draw_session_strip(_hour(first), end_hour, now_hour, mine))


def _number(amount: Any) -> float:
    if amount in (None, ""):
        return 0.0
    return float(getattr(amount, "nominal_value", amount))


def _local(moment: datetime) -> datetime:
    return timezone.localtime(moment) if timezone.is_aware(moment) else moment


def _hour(moment: datetime) -> float:
    return moment.hour + moment.minute / 60

"""Numbers, codes, formulae and moments as they stand on a page."""

import re
from datetime import date, datetime
from html import escape
from typing import Any

from django.utils import timezone
from django.utils.safestring import SafeString

from labstock.chemistry.display import Number, show

NO_BREAK = "\N{NO-BREAK SPACE}"
UNKNOWN = SafeString('<span class="quiet">not known</span>')

_CODE = re.compile(r"([A-Z]{1,4}) ?(\d{3,9}) ?([0-9A-Z])")
_CHARGE = re.compile(r"(?P<body>.*?)(?:\^(?P<raised>\d*[+-])|(?P<sign>(?<=\])\d*[+-]|[+-]))?")
_LONE_ION = re.compile(r"([A-Z][a-z]?)(\d*[+-])")


def amount(value: Any, unit: str = "", k: float = 2) -> SafeString:
    """Write a value with ± and unit, tied together; accepts a value with uncertainty, a pair, a Quantity or a number."""
    if value is None or value == "":
        return UNKNOWN
    best, u, unit = _parts(value, unit)
    return with_doubt(show(best, unit, u, k))


def with_doubt(shown: str) -> SafeString:
    """Set the ± part of a shown number in lighter type."""
    number, plus_minus, rest = escape(shown).partition("±")
    if not plus_minus:
        return SafeString(f'<span class="num">{number}</span>')
    doubt, _, unit = rest.strip(f" {NO_BREAK}").partition(NO_BREAK)
    tail = f"{NO_BREAK}{unit}" if unit else ""
    return SafeString(
        f'<span class="num">{number.rstrip(f" {NO_BREAK}")} <span class="pm">±{NO_BREAK}{doubt}</span>{tail}</span>'
    )


def code(value: object) -> SafeString:
    """Set a short code: prefix, number, and the check character apart."""
    found = _CODE.fullmatch(str(value).strip().upper())
    if not found:
        return SafeString(f'<span class="code">{escape(str(value))}</span>')
    prefix, number, check = found.groups()
    return SafeString(f'<span class="code">{prefix}{NO_BREAK}{number}{NO_BREAK}<b>{check}</b></span>')


def formula(typed: object) -> SafeString:
    """Set a formula with lowered counts and a raised charge: C8H9NO, CuSO4·5H2O, SO4^2-, [Cu(NH3)4]2+, Fe3+."""
    text = str(typed).strip()
    lone = _LONE_ION.fullmatch(text)
    if lone:
        body, charge = lone.groups()
    else:
        found = _CHARGE.fullmatch(text)
        body = found["body"] if found else text
        charge = (found["raised"] or found["sign"] or "") if found else ""
    pieces = [_lowered(piece) for piece in re.split(r"\s*[·*.]\s*(?=\d*[A-Z(\[])", escape(body))]
    raised = f"<sup>{charge.replace('-', '−')}</sup>" if charge else ""
    return SafeString(f'<span class="formula">{"·".join(pieces)}{raised}</span>')


def moment(value: object) -> SafeString | str:
    """Write a moment with its zone: Wed 25 Nov 10:40 UTC; the year where it is not this year."""
    if not isinstance(value, datetime):
        return "" if value in (None, "") else day(value)
    local = _local(value)
    words = f"{_day_words(local)} {local:%H:%M}"
    return _time(local.isoformat(), f'{_tied(words)} <span class="zone">{escape(_zone(local))}</span>')


def day(value: object) -> SafeString | str:
    """Write a day: Wed 25 Nov; the year where it is not this year."""
    if value in (None, ""):
        return ""
    on = _local(value).date() if isinstance(value, datetime) else value
    assert isinstance(on, date)
    return _time(on.isoformat(), _tied(_day_words(on)))


def full_day(value: object) -> SafeString | str:
    """Write a day with its year and without its name: 25 Nov 2026."""
    if value in (None, ""):
        return ""
    on = _local(value).date() if isinstance(value, datetime) else value
    assert isinstance(on, date)
    return _time(on.isoformat(), _tied(f"{on.day} {on:%b %Y}"))


def clock(value: object) -> SafeString | str:
    """Write the time of day: 10:40."""
    if not isinstance(value, datetime):
        return ""
    local = _local(value)
    return _time(local.isoformat(), f"{local:%H:%M}")


def from_to(start: datetime, end: datetime) -> SafeString:
    """Write a stretch of time: Wed 25 Nov 11:00 – 13:00 UTC."""
    a, b = _local(start), _local(end)
    first = _time(a.isoformat(), _tied(f"{_day_words(a)} {a:%H:%M}"))
    last_words = f"{b:%H:%M}" if a.date() == b.date() else f"{_day_words(b)} {b:%H:%M}"
    last = _time(b.isoformat(), _tied(last_words))
    return SafeString(
        f'<span class="when">{first} – {last} <span class="zone">{escape(_zone(b))}</span></span>'
    )


def _parts(value: Any, unit: str) -> tuple[Number, float | None, str]:
    if isinstance(value, (tuple, list)):
        best, u = value
        return best, float(u) if u else None, unit
    if hasattr(value, "in_unit"):
        return value.value, float(value.u) if value.u else None, unit or value.unit.symbol
    return value, None, unit


def _lowered(piece: str) -> str:
    """Lower every count that follows an element or a bracket; a leading multiplier stays on the line."""
    return re.sub(r"(?<=[A-Za-z)\]])(\d+)", r"<sub>\1</sub>", piece)


def _local(value: datetime) -> datetime:
    return timezone.localtime(value) if timezone.is_aware(value) else value


def _zone(value: datetime) -> str:
    return value.tzname() or ""


def _day_words(on: date) -> str:
    year = f" {on.year}" if on.year != timezone.localtime().year else ""
    return f"{on:%a} {on.day} {on:%b}{year}"


def _tied(words: str) -> str:
    return words.replace(" ", NO_BREAK)


def _time(iso: str, words: str) -> SafeString:
    return SafeString(f'<time datetime="{iso}">{words}</time>')

"""What a person used last: unit and device, remembered in their session for each ledger unit."""

from dataclasses import dataclass
from typing import Any, cast

from django.http import HttpRequest

KEY = "used last"


@dataclass(frozen=True)
class Habit:
    """The unit and the devices of the last entry; empty where there was none."""

    unit: str = ""
    device: str = ""
    balance: str = ""


def habit_of(request: HttpRequest, ledger_unit: str) -> Habit:
    """Return what this person used last with containers kept in this unit."""
    kept = cast(dict[str, Any], request.session.get(KEY, {}))
    return Habit(**kept.get(ledger_unit, {}))


def keep_habit(request: HttpRequest, ledger_unit: str, **used: str) -> None:
    """Remember what was used; the session is written only when it changed."""
    kept = request.session.get(KEY, {})
    before = kept.get(ledger_unit, {})
    after = {**before, **{name: value for name, value in used.items() if value}}
    if after != before:
        request.session[KEY] = {**kept, ledger_unit: after}

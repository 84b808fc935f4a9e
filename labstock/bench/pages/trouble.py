"""What was seen on a container, what it means for this substance, and what nobody has looked for."""

from dataclasses import dataclass

from labstock.stock.models import Container, Sign, Trouble
from labstock.stock.signs import TAKEN_BACK, SignRule, doubt_on, latest_signs, rule_for


@dataclass(frozen=True)
class Look:
    """One question with its newest answer; never asked is neither yes nor no."""

    what: Trouble
    sign: Sign | None
    rule: SignRule

    @property
    def word(self) -> str:
        """Return the answer in words."""
        if self.sign is None:
            return "not looked"
        if not self.sign.is_seen and self.sign.words.startswith(TAKEN_BACK):
            return "taken back"
        return "seen" if self.sign.is_seen else "no"


@dataclass(frozen=True)
class Troubles:
    """All six answers, and whether the strength is in doubt."""

    looks: tuple[Look, ...]
    doubt: Sign | None

    @property
    def seen(self) -> tuple[Look, ...]:
        """Return what was seen, by the newest answer to each question; the worst first."""
        order = ("stop", "ask", "watch")
        found = [look for look in self.looks if look.sign is not None and look.sign.is_seen]
        return tuple(sorted(found, key=lambda look: order.index(look.rule.grade)))

    @property
    def is_grave(self) -> bool:
        """Say whether something that was seen means: stop."""
        return any(look.rule.grade == "stop" for look in self.seen)

    @property
    def doubt_words(self) -> str:
        """Return what to say instead of a strength, or "" where the strength stands."""
        if self.doubt is None:
            return ""
        return f"Strength in doubt since {self.doubt.at:%d %b %Y}: assay it, do not dose by the label"

    @property
    def last(self) -> Sign | None:
        """Return the newest answer of all."""
        return max((look.sign for look in self.looks if look.sign), key=lambda sign: sign.pk, default=None)

    @property
    def ask_because(self) -> str:
        """Return why a person should ask before taking from it, or "" where nothing speaks against it."""
        if self.doubt is not None:
            return f"its strength is in doubt: {Trouble(self.doubt.what).label}"
        wary = [look for look in self.seen if look.rule.grade != "watch"]
        return f"{wary[0].what.label}" if wary else ""


def troubles_of(container: Container) -> Troubles:
    """Gather the newest answers."""
    newest = latest_signs(container)
    looks = tuple(Look(what, newest.get(what), rule_for(what, container.substance)) for what in Trouble)
    return Troubles(looks, doubt_on(container) if newest else None)

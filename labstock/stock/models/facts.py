"""What a ledger line says of its container, so that the chain of lines protects the container's own row too."""

import json
from datetime import date, datetime
from typing import Any

from labstock.stock.models.container import Container
from labstock.stock.models.ledger import canonical, stamp

# said once, by the first line: what the container is
IDENTITY = (
    "code", "number", "substance_id", "lot_id", "described_as", "purpose", "vessel", "unit", "capacity", "heel",
    "received_on", "gross_at_receipt_ug", "created_by_id", "created_at",
)  # fmt: skip
# said by every line: what a line may change besides the amount
STANDING = ("band", "opened_on")


def said_of(container: Container) -> str:
    """Return what the newest line says of its container, the first line more than the later ones."""
    names = STANDING if container.last_seq > 1 else IDENTITY + STANDING
    return canonical({name: plain(getattr(container, name)) for name in names})


def read(about: str) -> dict[str, Any]:
    """Return what a line says of its container, by field; a line that was tampered with may say nothing."""
    try:
        said = json.loads(about or "{}")
    except ValueError:
        return {}
    return said if isinstance(said, dict) else {}


def plain(value: Any) -> Any:
    """Return a stored value as JSON keeps it."""
    if isinstance(value, datetime):
        return stamp(value)
    return value.isoformat() if isinstance(value, date) else value

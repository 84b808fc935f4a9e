"""What the lab keeps: substances, lots, containers, their ledgers, sessions and reservations."""

from labstock.stock.models.assay import Assay
from labstock.stock.models.container import CodeSeries, Container, LedgerUnit, Purpose, State, VesselKind
from labstock.stock.models.ledger import Entry, Kind
from labstock.stock.models.location import Location, LocationKind, Need
from labstock.stock.models.lot import Lot, PurityKind
from labstock.stock.models.session import HoldState, Reservation, ReservationEvent, Session
from labstock.stock.models.state_change import StateChange
from labstock.stock.models.substance import Substance, Synonym

__all__ = [
    "Assay",
    "CodeSeries",
    "Container",
    "Entry",
    "HoldState",
    "Kind",
    "LedgerUnit",
    "Location",
    "LocationKind",
    "Lot",
    "Need",
    "PurityKind",
    "Purpose",
    "Reservation",
    "ReservationEvent",
    "Session",
    "State",
    "StateChange",
    "Substance",
    "Synonym",
    "VesselKind",
]

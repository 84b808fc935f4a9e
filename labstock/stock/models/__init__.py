"""What the lab keeps: substances, lots, containers, their ledgers, sessions and reservations."""

from labstock.stock.models.assay import Assay
from labstock.stock.models.container import CodeSeries, Container, LedgerUnit, Purpose, State, VesselKind
from labstock.stock.models.kept_head import KeptHead
from labstock.stock.models.ledger import Entry, Kind
from labstock.stock.models.lineage import Lineage, Went
from labstock.stock.models.location import Location, LocationKind, Need
from labstock.stock.models.lot import Lot, Origin, PurityKind
from labstock.stock.models.queued import QueuedEntry, Settlement, Way
from labstock.stock.models.session import HoldState, Reservation, ReservationEvent, Session
from labstock.stock.models.sign import Sign, Trouble
from labstock.stock.models.state_change import StateChange
from labstock.stock.models.stock_check import (
    CheckCount,
    CheckEnd,
    CheckExpected,
    CheckFinding,
    CheckSettled,
    Found,
    StockCheck,
)
from labstock.stock.models.substance import Substance, Synonym
from labstock.stock.models.unknown import Form, UnknownClaim, UnknownFind

__all__ = [
    "Assay",
    "CheckCount",
    "CheckEnd",
    "CheckExpected",
    "CheckFinding",
    "CheckSettled",
    "CodeSeries",
    "Container",
    "Entry",
    "Form",
    "Found",
    "HoldState",
    "KeptHead",
    "Kind",
    "LedgerUnit",
    "Lineage",
    "Location",
    "LocationKind",
    "Lot",
    "Need",
    "Origin",
    "PurityKind",
    "Purpose",
    "QueuedEntry",
    "Reservation",
    "ReservationEvent",
    "Session",
    "Settlement",
    "Sign",
    "State",
    "StateChange",
    "StockCheck",
    "Substance",
    "Synonym",
    "Trouble",
    "UnknownClaim",
    "UnknownFind",
    "VesselKind",
    "Way",
    "Went",
]

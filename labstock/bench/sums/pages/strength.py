"""How strong a bottle is now: claim, assay, moisture model, and what that does to a plan."""

from collections.abc import Iterator
from datetime import date
from typing import Any

from django.utils.safestring import SafeString

from labstock.bench.sums.fields import Kind, Purity
from labstock.bench.sums.forms.strength import NO_MODEL
from labstock.bench.sums.worked import Figure, Table, Worked, budget_table, figure, table
from labstock.chemistry.display import show, show_percent
from labstock.chemistry.moisture import (
    CLASSES,
    Exposure,
    MoistureModel,
    decision_line,
    destroyed_g_per_g,
    extra_base_mmol,
    water_taken_up_g,
)
from labstock.chemistry.purity import Claim, DatedClaim, Effective, effective
from labstock.chemistry.uncertain import UFloat
from labstock.look.drawing.strength import Claim as DrawnClaim
from labstock.look.drawing.strength import Measured, Modelled, strength_picture
from labstock.look.drawing.strength import Strength as Drawn

DAYS_PER_MONTH = 30.44
ORDER = "order of trust: newest valid assay, certificate, “at least”, nominal (common practice, no source)"
MODEL = "moisture model: openings · headspace · humidity + leak of the cap + mishaps; priors from memory and common practice, to be replaced by your own assays"
MAGNUS = "water in the room’s air: Magnus formula (611.2 Pa, 17.62, 243.12 °C) and the ideal gas law"


def strength(typed: dict[str, Any], on: date | None = None) -> Worked:
    """Find the strength to dose by, and what it does to planned equivalents and base."""
    on = on or date.today()
    claims = list(_claims(typed))
    model = _model(typed, on)
    now = effective(claims, model, on=on)
    start = effective(claims, on=on)
    return Worked(
        "limit" if now.is_model else "yes",
        f"Dose by {show_percent(now.fraction)}",
        (now.words, *_decisions(typed, now, start)),
        tuple(_figures(typed, now, start, model)),
        (_claims_table(claims, on), *budget_table(now.fraction * 100, "%", "the strength")),
        tuple(_cautions(typed, now, model)),
        (
            ORDER,
            *((MODEL, MAGNUS) if model else ()),
            "≥ on a label: rectangle up to 100 % (JCGM 100:2008, 4.3.7)",
        ),
        _picture(claims, now),
        "Claimed, measured, modelled",
    )


def _claims(typed: dict[str, Any]) -> Iterator[DatedClaim]:
    claim: Purity | None = typed["claim"]
    assay: Purity | None = typed["assay"]
    if claim and claim.claim:
        yield DatedClaim(claim.claim)
    if assay and assay.claim:
        found = assay.claim
        yield DatedClaim(Claim("assay", found.percent, found.u), typed["assayed_on"])


def _model(typed: dict[str, Any], on: date) -> MoistureModel | None:
    if typed["water"] == NO_MODEL:
        return None
    since = max(day for day in (typed["opened_on"], typed["assayed_on"]) if day)
    share = _share_since(typed, since, on)
    exposure = Exposure(
        openings=round((typed["openings"] or 0) * share),
        headspace_mL=typed["headspace"].number("mL") if typed["headspace"] else 0.0,
        months_closed=round((on - since).days / DAYS_PER_MONTH, 1),
        temperature_C=typed["temperature"].number("°C") if typed["temperature"] else 23.0,
        cap=typed["cap"],
        events=tuple(typed["events"]),
        since=since,
        **({"humidity_percent": typed["humidity"].value("%")} if typed["humidity"] else {}),
    )
    return MoistureModel(typed["water"], typed["kind"].molar_mass, typed["content"].number("g"), exposure)


def _share_since(typed: dict[str, Any], since: date, on: date) -> float:
    """Return the part of the openings that came after the assay: what it found is not counted twice."""
    days = (on - typed["opened_on"]).days
    return 1.0 if since == typed["opened_on"] or days <= 0 else (on - since).days / days


def _decisions(typed: dict[str, Any], now: Effective, start: Effective) -> Iterator[str]:
    if typed["planned"]:
        label = typed["claim"].fraction if typed["claim"] else start.fraction
        yield decision_line(typed["planned"], now.fraction, label)
    if now.fraction.s > 0.01:
        yield "the doubt is larger than 2 %: an assay now would decide more than this sum"


def _figures(
    typed: dict[str, Any], now: Effective, start: Effective, model: MoistureModel | None
) -> Iterator[Figure]:
    kind: Kind = typed["kind"]
    yield figure("Strength now", now.fraction * 100, "%", now.words)
    yield figure("It started at", start.fraction * 100, "%", start.words)
    if model is not None:
        water = water_taken_up_g(model.exposure)
        yield figure(
            "Water taken up", water if water.n >= 1 else water * 1000, "g" if water.n >= 1 else "mg", "model"
        )
        destroyed = destroyed_g_per_g(kind.molar_mass, typed["water"])
        yield figure("One gram of water destroys", destroyed, "g", CLASSES[typed["water"]].words)
    if typed["planned"]:
        label = typed["claim"].fraction.n if typed["claim"] else start.fraction.n
        yield figure("Your planned equivalents are", typed["planned"] * now.fraction / label, "equiv")
    if typed["dispensed"] and model is not None:
        yield figure(
            "Base needed on top", _extra_base(typed, now, start), "mmol", "acid formed, by mass balance"
        )


def _extra_base(typed: dict[str, Any], now: Effective, start: Effective) -> UFloat:
    return extra_base_mmol(
        typed["dispensed"].value("g"), start.fraction, now.fraction, typed["kind"].molar_mass, typed["water"]
    )


def _claims_table(claims: list[DatedClaim], on: date) -> Table:
    rows = [
        (
            each.claim.words,
            show(each.claim.fraction * 100, "%"),
            f"{each.found_on:%d %b %Y}" if each.found_on else "no date",
            "valid" if each.is_valid(on) else "not valid on this day",
        )
        for each in claims
    ]
    return table("What is claimed", ("Claim", "Read as, %", "Found on", "Verdict"), rows)


def _cautions(
    typed: dict[str, Any], now: Effective, model: MoistureModel | None
) -> Iterator[tuple[str, str]]:
    if now.is_model:
        yield (
            "A model, not a measurement: it tells whether to measure, never what an assay would find.",
            "the model’s own limits",
        )
    if model is not None and "pressure" in CLASSES[typed["water"]].words:
        yield (
            "It makes gas with water: a closed bottle may be under pressure. Open it in the hood, away from the face.",
            "textbook chemistry",
        )


def _picture(claims: list[DatedClaim], now: Effective) -> SafeString:
    rows: list[Drawn] = []
    for each in claims:
        claim = each.claim
        percent = claim.percent or 0.0
        if claim.kind == "at least":
            rows.append(DrawnClaim(percent, 100.0, f"label, {claim.words}"))
        elif claim.u:
            rows.append(Measured(percent, claim.u, claim.words))
        else:
            rows.append(DrawnClaim(percent - 0.05, percent + 0.05, claim.words))
    if now.is_model:
        fraction = now.fraction * 100
        rows.append(Modelled(fraction.n, fraction.s, f"now, by model, {show_percent(now.fraction)}"))
    return SafeString(strength_picture(rows)) if rows else SafeString()

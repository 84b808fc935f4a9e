"""One maker's production of a substance."""

from django.db import models

from labstock.chemistry.purity import Claim
from labstock.chemistry.uncertain import UFloat, normal
from labstock.stock.models.substance import Substance


class PurityKind(models.TextChoices):
    """What the number on the label means."""

    AT_LEAST = "at least", "at least (≥ 98 %)"
    CERTIFICATE = "certificate", "by certificate (99.7 ± 0.2 %)"
    ASSAY = "assay", "measured here"
    NOMINAL = "nominal", "a number without a meaning"
    UNKNOWN = "unknown", "not stated"


class Origin(models.TextChoices):
    """Where a lot comes from."""

    BOUGHT = "bought", "from a supplier"
    MADE_HERE = "made here", "made here"


class Lot(models.Model):
    """A lot with what its label and certificate claim. Expiry and retest are two different dates."""

    substance = models.ForeignKey(Substance, on_delete=models.PROTECT, related_name="lots")
    origin = models.CharField(max_length=10, choices=Origin, default=Origin.BOUGHT)
    number = models.CharField("lot number", max_length=80, blank=True)
    supplier = models.CharField(max_length=120, blank=True)
    product_number = models.CharField(
        "maker's product number (GTIN)", max_length=14, blank=True, default="", db_index=True
    )
    grade = models.CharField(max_length=80, blank=True)
    purity_kind = models.CharField(max_length=12, choices=PurityKind, default=PurityKind.UNKNOWN)
    purity_percent = models.DecimalField(max_digits=7, decimal_places=4, null=True, blank=True)
    purity_half_width = models.DecimalField(
        "± (expanded, k = 2)", max_digits=7, decimal_places=4, null=True, blank=True
    )
    expires_on = models.DateField(null=True, blank=True)
    retest_on = models.DateField(null=True, blank=True)
    density_g_per_mL = models.FloatField(null=True, blank=True)
    density_u_g_per_mL = models.FloatField(null=True, blank=True)
    concentration_mol_per_L = models.FloatField(null=True, blank=True)
    concentration_u_mol_per_L = models.FloatField(null=True, blank=True)

    class Meta:
        ordering = ["substance__name", "number"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(purity_percent__isnull=True)
                | models.Q(purity_percent__gt=0, purity_percent__lte=100),
                name="purity_between_0_and_100",
            ),
        ]

    def __str__(self) -> str:
        return " ".join(part for part in (self.substance.name, self.grade, self.number) if part)

    @property
    def claim(self) -> Claim:
        """Return the purity as the label states it."""
        percent = None if self.purity_percent is None else float(self.purity_percent)
        # a certificate's "±" is an expanded uncertainty with k = 2 (ISO 33401; JCGM 100, 7.2.4)
        u = None if self.purity_half_width is None else float(self.purity_half_width) / 2
        return Claim(self.purity_kind if percent is not None else "unknown", percent, u)

    @property
    def density(self) -> UFloat | None:
        """Return this lot's own density [g/mL], else the substance's, else None; a solution made here has only its own."""
        if self.density_g_per_mL is not None:
            return normal(self.density_g_per_mL, self.density_u_g_per_mL or 0.0)
        return None if self.origin == Origin.MADE_HERE else self.substance.density

    @property
    def concentration(self) -> UFloat | None:
        """Return the concentration of a solution [mol/L], or None for a neat substance."""
        if self.concentration_mol_per_L is None:
            return None
        return normal(self.concentration_mol_per_L, self.concentration_u_mol_per_L or 0.0)

"""What a thing is, whatever bottle it is in."""

from django.conf import settings
from django.db import models

from labstock.chemistry.uncertain import UFloat, normal
from labstock.stock.search_text import normalised


class Substance(models.Model):
    """A chemical by name. Every number keeps where it came from in `sources`."""

    is_searched = True

    name = models.CharField(max_length=200, unique=True)
    cas = models.CharField("CAS number", max_length=12, blank=True, db_index=True)
    formula = models.CharField(max_length=200, blank=True)
    smiles = models.CharField("structure (SMILES)", max_length=1000, blank=True)
    molar_mass_g_per_mol = models.FloatField(null=True, blank=True)
    molar_mass_u_g_per_mol = models.FloatField(null=True, blank=True)
    density_g_per_mL = models.FloatField(null=True, blank=True)
    density_u_g_per_mL = models.FloatField(null=True, blank=True)
    density_at_celsius = models.FloatField(null=True, blank=True)
    boiling_point_celsius = models.FloatField(null=True, blank=True)
    is_liquid = models.BooleanField("liquid at room temperature", default=False)
    sources = models.JSONField(default=dict, blank=True)
    hazards = models.JSONField(
        "hazard statements", default=list, blank=True, help_text="pairs of H code and category"
    )
    is_moisture_sensitive = models.BooleanField(default=False)
    moisture_because = models.CharField(max_length=300, blank=True)
    is_peroxide_former = models.BooleanField(default=False)
    peroxide_because = models.CharField(max_length=300, blank=True)
    note = models.TextField(blank=True)
    search_text = models.TextField(editable=False, default="")
    created_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["cas"], condition=~models.Q(cas=""), name="substance_cas_once"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def molar_mass(self) -> UFloat | None:
        """Return the molar mass with its uncertainty [g/mol], or None if it is not known."""
        if self.molar_mass_g_per_mol is None:
            return None
        return normal(self.molar_mass_g_per_mol, self.molar_mass_u_g_per_mol or 0.0)

    @property
    def density(self) -> UFloat | None:
        """Return the density with its uncertainty [g/mL], or None if it is not known."""
        if self.density_g_per_mL is None:
            return None
        return normal(self.density_g_per_mL, self.density_u_g_per_mL or 0.0)

    def words_to_search(self) -> str:
        """Return every name and number this substance is found by."""
        names = [] if self.pk is None else [synonym.name for synonym in self.synonyms.all()]
        return normalised(" ".join([self.name, *names, self.cas, self.formula]))


class Synonym(models.Model):
    """Another name for the same substance."""

    substance = models.ForeignKey(Substance, on_delete=models.CASCADE, related_name="synonyms")
    name = models.CharField(max_length=200)

    class Meta:
        ordering = ["name"]
        constraints = [models.UniqueConstraint(fields=["substance", "name"], name="synonym_once")]

    def __str__(self) -> str:
        return self.name

"""An agency's own index methods, which method scores which stratum, who checked one, and earlier scores."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from surveys.models import Visit
from surveys.models.history import keeps_history


@keeps_history()
class IndexMethodVersion(models.Model):
    """One version of a method, brought as a file: a draft until it is published, never changed after that."""

    code = models.CharField(max_length=80)
    version = models.CharField(max_length=40)
    title = models.CharField(max_length=300)
    text = models.TextField()
    digest = models.CharField(max_length=64)
    brought_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    brought_at = models.DateTimeField(auto_now=True)
    published_at = models.DateTimeField(null=True, blank=True)
    published_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    note = models.TextField(blank=True)
    # Whether visits are scored by this version where its method is the one in use.
    in_use = models.BooleanField(default=False)
    # The first day whose visits are scored by it; empty: all visits, the past too.
    applies_from = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["code", "-published_at", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["code", "version"], name="index_method_version_once"),
            models.CheckConstraint(
                condition=Q(in_use=False) | Q(published_at__isnull=False),
                name="index_method_used_only_when_published",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.version}"


@keeps_history()
class StratumMethod(models.Model):
    """The method that scores the stations of a stratum, chosen by a person; empty code: none does."""

    stratum = models.CharField(max_length=80, unique=True)
    method_code = models.CharField(max_length=80, blank=True)
    chosen_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    chosen_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["stratum"]

    def __str__(self) -> str:
        return f"{self.stratum}: {self.method_code or 'none'}"


@keeps_history()
class MethodCheck(models.Model):
    """A person compared the figures of a method's version with the published report."""

    code = models.CharField(max_length=80)
    version = models.CharField(max_length=40)
    checked_by_name = models.CharField(max_length=150, verbose_name=_("who checked"))
    checked_on = models.DateField(verbose_name=_("checked on"))
    edition = models.CharField(max_length=300, verbose_name=_("report and edition"))
    pages = models.CharField(max_length=120, verbose_name=_("pages or tables"))
    remark = models.TextField(blank=True)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    recorded_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-checked_on", "-pk"]
        indexes = [models.Index(fields=["code", "version"], name="method_check_of_version")]

    def __str__(self) -> str:
        return f"{self.code} {self.version} by {self.checked_by_name}"


class EarlierScore(models.Model):
    """What another method or version made of a visit before the present one did. Never changed by hand."""

    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="earlier_scores")
    method_code = models.CharField(max_length=80)
    method_version = models.CharField(max_length=40)
    score = models.FloatField(null=True, blank=True)
    rating = models.CharField(max_length=60, blank=True)
    reason = models.TextField(blank=True)
    index = models.JSONField(null=True, blank=True)
    visit_revision = models.PositiveIntegerField()
    made_at = models.DateTimeField()
    replaced_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["visit", "method_code", "method_version"]
        constraints = [
            models.UniqueConstraint(
                fields=["visit", "method_code", "method_version"], name="earlier_score_once_per_version"
            )
        ]

    def __str__(self) -> str:
        return f"{self.method_code} {self.method_version} of visit {self.visit_id}"

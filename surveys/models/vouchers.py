"""Vouchers: what the name of a fish rests on."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from surveys.models.history import keeps_history
from surveys.models.taxa import Taxon
from surveys.models.visits import Visit, added_at_field


class VoucherKind(models.TextChoices):
    PHOTOGRAPH = "photograph", _("photograph")
    PRESERVED = "preserved", _("preserved fish")


@keeps_history()
class Voucher(models.Model):
    """What a name rests on: a photograph or a preserved fish, who confirmed it, and as what.

    The name the fish was called by stays, whatever it is confirmed as. A photograph is stored without
    what the camera wrote into it; it is never shown to the public.
    """

    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="vouchers")
    taxon = models.ForeignKey(
        Taxon,
        on_delete=models.PROTECT,
        related_name="vouchers",
        help_text=_("As it was called at the creek."),
    )
    number = models.CharField(max_length=60, blank=True)
    kind = models.CharField(max_length=12, choices=VoucherKind.choices, default=VoucherKind.PHOTOGRAPH)
    photo = models.BinaryField(null=True, editable=False)
    photo_type = models.CharField(max_length=30, blank=True, editable=False)
    # Made on the device that took the picture, so that sending it twice keeps it once.
    device_key = models.UUIDField(null=True, editable=False, unique=True)
    remark = models.CharField(max_length=300, blank=True)
    added_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, editable=False, related_name="+"
    )
    confirmed_as = models.ForeignKey(
        Taxon, on_delete=models.PROTECT, null=True, blank=True, related_name="confirmed_vouchers"
    )
    confirmed_by = models.CharField(max_length=100, blank=True)
    confirmed_on = models.DateField(null=True, blank=True)
    added_at = added_at_field()

    class Meta:
        ordering = ["visit", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=VoucherKind.values), name="voucher_kind_known_word"),
            models.CheckConstraint(
                condition=Q(confirmed_as__isnull=True) | ~Q(confirmed_by=""),
                name="voucher_confirmed_by_somebody",
                violation_error_message=_("Say who confirmed the name."),
            ),
        ]

    def __str__(self) -> str:
        return self.number or f"{self.get_kind_display()} {self.pk}"

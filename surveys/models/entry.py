"""What entry by hand leaves beside the visit: what devices sent, and questions that were answered."""

from django.conf import settings
from django.db import models

from surveys.models.visits import Visit


class EntryReceipt(models.Model):
    """A visit as a device sent it, under the key the device made, so that it is taken exactly once.

    ``waiting`` is set where the visit was held with other values when it came: nothing of what was sent
    has been stored yet, and a person decides between the two.
    """

    key = models.UUIDField(primary_key=True)
    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="receipts")
    sent = models.JSONField()
    digest = models.CharField(max_length=64)
    revision = models.PositiveIntegerField(
        null=True, help_text="The revision of the visit after it was taken."
    )
    waiting = models.BooleanField(default=False)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+")
    first_at = models.DateTimeField(auto_now_add=True)
    last_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["first_at"]
        indexes = [
            models.Index(fields=["visit"], condition=models.Q(waiting=True), name="entry_receipt_waiting")
        ]

    def __str__(self) -> str:
        return str(self.key)


class VisitQuestion(models.Model):
    """Something odd about a visit that a person looked at and let stand when handing it in."""

    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="questions")
    code = models.CharField(max_length=60)
    place = models.CharField(max_length=300)
    message = models.TextField()
    answer = models.TextField(blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return self.message

"""Older files: what their headings mean, kept by name, and each file that was read that way."""

from django.conf import settings
from django.db import models

from surveys.models.uploads import Upload


class ColumnMapping(models.Model):
    """What the headings of one kind of file mean, so that it has to be said once only."""

    name = models.CharField(max_length=100, unique=True)
    spec = models.JSONField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, editable=False, related_name="+"
    )
    changed_at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class MappedFile(models.Model):
    """A file of another layout as it came, with the mapping it was read by and the season file it gave.

    ``sources`` says for each row of that season file which sheet and line it came from.
    """

    batch = models.UUIDField(db_index=True)
    file_name = models.CharField(max_length=255)
    sha256 = models.CharField(max_length=64)
    content = models.BinaryField()
    mapping_name = models.CharField(max_length=100, blank=True)
    spec = models.JSONField(default=dict, blank=True)
    findings = models.JSONField(default=list, blank=True)
    sources = models.JSONField(default=list, blank=True)
    upload = models.ForeignKey(
        Upload, on_delete=models.SET_NULL, null=True, blank=True, related_name="mapped_from"
    )
    sent_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    sent_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["sent_at", "id"]

    def __str__(self) -> str:
        return self.file_name

"""Files that were sent in, what was found in them, and what became of them."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from surveys.rules import key_of


class UploadStatus(models.TextChoices):
    CHECKED = "checked", _("checked, not taken")
    TAKEN = "taken", _("taken")
    DISCARDED = "discarded", _("discarded")


class Upload(models.Model):
    """A season file as it came, kept byte for byte, so that any number can be traced to it."""

    file_name = models.CharField(max_length=255)
    sha256 = models.CharField(max_length=64, db_index=True)
    size_bytes = models.PositiveIntegerField()
    content = models.BinaryField()
    uploaded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    uploaded_at = models.DateTimeField(auto_now_add=True)
    status = models.CharField(max_length=12, choices=UploadStatus.choices, default=UploadStatus.CHECKED)
    taken_at = models.DateTimeField(null=True, blank=True)
    row_count = models.PositiveIntegerField(default=0)
    # What was created, replaced and left alone, as shown to the person who confirmed it.
    summary = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["-uploaded_at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(status__in=UploadStatus.values), name="upload_status_known_word"
            )
        ]

    def __str__(self) -> str:
        return self.file_name

    def get_absolute_url(self) -> str:
        return reverse("surveys:upload", args=[self.pk])


class UploadFinding(models.Model):
    """One remark on an upload: where, how grave, what is wrong, what to do."""

    upload = models.ForeignKey(Upload, on_delete=models.CASCADE, related_name="findings")
    level = models.CharField(
        max_length=8, choices=[("error", "error"), ("warning", "warning"), ("note", "note")]
    )
    code = models.CharField(max_length=60)
    row = models.PositiveIntegerField(null=True, blank=True, help_text="Line as the spreadsheet shows it.")
    column = models.CharField(max_length=60, blank=True)
    value = models.TextField(blank=True)
    message = models.TextField()
    remedy = models.TextField(blank=True)

    class Meta:
        ordering = ["row", "id"]

    def __str__(self) -> str:
        return f"{self.code} in row {self.row}"

    @property
    def rule(self) -> str:
        """The key of the rule that it comes from."""
        return key_of(self.code, self.column)


class UploadAnswer(models.Model):
    """What a person said to one warning on a file before it was taken: "confirmed, counted again".

    ``mark`` names the warning by row, column and words, so that the answer outlives a new check of the file.
    """

    upload = models.ForeignKey(Upload, on_delete=models.CASCADE, related_name="answers")
    mark = models.CharField(max_length=24)
    message = models.TextField()
    answer = models.CharField(max_length=500)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+")
    at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["id"]
        constraints = [models.UniqueConstraint(fields=["upload", "mark"], name="upload_answer_once")]

    def __str__(self) -> str:
        return self.answer


class UploadName(models.Model):
    """What a person said a name in a file means, where the list of taxa does not say it."""

    upload = models.ForeignKey(Upload, on_delete=models.CASCADE, related_name="names")
    name = models.CharField(max_length=300, help_text="The name as compared: small letters, single spaces.")
    written = models.CharField(max_length=300, help_text="The name as the file has it.")
    taxon = models.ForeignKey("surveys.Taxon", on_delete=models.CASCADE, related_name="+")
    remembered = models.BooleanField(default=False, help_text="Kept as another name of the taxon as well.")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+")
    at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["id"]
        constraints = [models.UniqueConstraint(fields=["upload", "name"], name="upload_name_once")]

    def __str__(self) -> str:
        return f"{self.written}: {self.taxon}"

"""Who goes to the creeks, and until when their training holds. Kept for the people at the desk, never published."""

from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower
from django.utils.translation import gettext_lazy as _

from surveys.models.history import keeps_history


@keeps_history()
class CrewMember(models.Model):
    """A person of the crew by initials, with the dates of training as somebody typed them in.

    A record, not a leave: whether a person may go, and lead, is decided by the crew leader and the
    employer's safety programme. An empty date is not known, which is not the same as lapsed.
    """

    initials = models.CharField(
        _("initials"),
        max_length=20,
        help_text=_("As in the visits; initials are enough and never published."),
    )
    course = models.CharField(
        _("electrofishing course"), max_length=200, blank=True, help_text=_("Which one, and by whom.")
    )
    course_on = models.DateField(_("course taken on"), null=True, blank=True)
    course_until = models.DateField(
        _("course holds until"), null=True, blank=True, help_text=_("Empty where it has no end.")
    )
    first_aid_until = models.DateField(_("first aid holds until"), null=True, blank=True)
    cpr_until = models.DateField(_("CPR holds until"), null=True, blank=True)
    may_lead = models.BooleanField(
        _("named as a leader"),
        default=False,
        help_text=_("By the safety programme; this record does not decide it."),
    )
    left_on = models.DateField(_("left the crew on"), null=True, blank=True)

    class Meta:
        ordering = ["initials"]
        constraints = [
            models.UniqueConstraint(
                Lower("initials"),
                name="crew_initials_once",
                violation_error_message=_("Somebody of the crew has these initials already."),
            ),
            models.CheckConstraint(condition=~Q(initials=""), name="crew_member_has_initials"),
            models.CheckConstraint(
                condition=Q(course_on__isnull=True)
                | Q(course_until__isnull=True)
                | Q(course_until__gte=F("course_on")),
                name="crew_course_ends_after_it_was_taken",
                violation_error_message=_("The course ends before it was taken."),
            ),
        ]

    def __str__(self) -> str:
        return self.initials

"""What the county has set of the rules of the checks: other limits, or a rule switched off, and why."""

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from surveys.models.history import keeps_history
from surveys.rules import ALL, ASK, HARD, RULES

# The database refuses these as well, so that no path around the pages sets them. A new rule of these kinds
# comes with a migration.
_REFUSE = sorted(rule.key for rule in ALL if rule.level == HARD)
_STAY_ON = sorted(rule.key for rule in ALL if rule.level == ASK and rule.stays_on)


@keeps_history()
class CheckRuleSetting(models.Model):
    """One rule as the county set it. Without a row, or with an empty one, it is as the programme proposes.

    A rule that is set back keeps its row, so that the reason for that is on record too.
    """

    code = models.CharField(_("rule"), max_length=100, unique=True)
    limits = models.JSONField(default=dict, blank=True)  # name of the limit -> value, where it is no default
    off = models.BooleanField(_("switched off"), default=False)
    reason = models.CharField(max_length=500)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, editable=False, related_name="+"
    )
    at = models.DateTimeField(auto_now=True)

    class Meta:
        ordering = ["code"]
        constraints = [
            models.CheckConstraint(condition=~Q(reason=""), name="check_rule_setting_has_a_reason"),
            models.CheckConstraint(
                condition=~Q(code__in=_REFUSE),
                name="check_rule_setting_of_an_asking_rule",
                violation_error_message=_("Only a rule that asks can be set."),
            ),
            models.CheckConstraint(
                condition=~Q(code__in=_STAY_ON, off=True),
                name="check_rule_setting_stays_on",
                violation_error_message=_("This rule cannot be switched off."),
            ),
        ]

    def __str__(self) -> str:
        return self.code

    def clean(self) -> None:
        rule = RULES.get(self.code)
        if rule is None or not rule.may_change:
            raise ValidationError({"code": _("Only a rule that asks can be set.")})
        if self.off and not rule.may_be_off:
            raise ValidationError({"off": rule.stays_on})
        if faults := rule.faults(self.limits):
            words = (f"{name}: {fault}" for name, fault in faults.items())
            raise ValidationError({"limits": " ".join(words)})

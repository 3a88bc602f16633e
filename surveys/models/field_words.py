"""The words of the field sheet: how the reach was closed, what was looked at before, how it was fished."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class StopNets(models.TextChoices):
    BOTH = "both", _("both ends")
    UPSTREAM = "upstream", _("upstream end only")
    DOWNSTREAM = "downstream", _("downstream end only")
    NONE = "none", _("none")
    __empty__ = _("not recorded")


class ConductivityBasis(models.TextChoices):
    """What a conductivity speaks of: the water as it was, or as the meter works it out for 25 degrees C."""

    AMBIENT = "ambient", _("at the water's own temperature")
    AT_25_C = "25 C", _("worked out for 25 degrees C")
    __empty__ = _("not recorded")


class BottomVisible(models.TextChoices):
    YES = "yes", _("yes")
    PARTLY = "partly", _("partly")
    NO = "no", _("no")
    __empty__ = _("not recorded")


class Waveform(models.TextChoices):
    DC = "DC", _("direct current")
    PULSED_DC = "pulsed DC", _("pulsed direct current")
    AC = "AC", _("alternating current")
    __empty__ = _("not recorded")


class SafetyCheck(models.TextChoices):
    """What a crew can say it looked at before the current went on. A record, never a leave to go."""

    TRAINED = "trained", _("everyone on the crew is trained on the gear, and one leader is in charge")
    FIRST_AID = "first aid", _("first aid and CPR are current, and the kit is here")
    GLOVES_WADERS = "gloves and waders", _("gloves and waders are whole and dry inside")
    GEAR_TESTED = "gear tested", _("switches, alarm and cut-outs were tested today")
    PUBLIC_AWAY = "public away", _("people and animals keep away from the water")
    WEATHER_WATER = "weather and water", _("weather, flow and clarity are fit for the work")
    CONDUCTIVITY = "conductivity", _("conductivity was read before any setting was chosen")
    EMERGENCY = "emergency", _("the emergency plan and the way to help are known to all")

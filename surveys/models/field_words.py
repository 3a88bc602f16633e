"""The words of the field sheet: how the reach was closed, what was looked at before, how it was fished."""

from django.db import models


class StopNets(models.TextChoices):
    BOTH = "both", "both ends"
    UPSTREAM = "upstream", "upstream end only"
    DOWNSTREAM = "downstream", "downstream end only"
    NONE = "none", "none"
    __empty__ = "not recorded"


class ConductivityBasis(models.TextChoices):
    """What a conductivity speaks of: the water as it was, or as the meter works it out for 25 degrees C."""

    AMBIENT = "ambient", "at the water's own temperature"
    AT_25_C = "25 C", "worked out for 25 degrees C"
    __empty__ = "not recorded"


class BottomVisible(models.TextChoices):
    YES = "yes", "yes"
    PARTLY = "partly", "partly"
    NO = "no", "no"
    __empty__ = "not recorded"


class Waveform(models.TextChoices):
    DC = "DC", "direct current"
    PULSED_DC = "pulsed DC", "pulsed direct current"
    AC = "AC", "alternating current"
    __empty__ = "not recorded"


class SafetyCheck(models.TextChoices):
    """What a crew can say it looked at before the current went on. A record, never a leave to go."""

    TRAINED = "trained", "everyone on the crew is trained on the gear, and one leader is in charge"
    FIRST_AID = "first aid", "first aid and CPR are current, and the kit is here"
    GLOVES_WADERS = "gloves and waders", "gloves and waders are whole and dry inside"
    GEAR_TESTED = "gear tested", "switches, alarm and cut-outs were tested today"
    PUBLIC_AWAY = "public away", "people and animals keep away from the water"
    WEATHER_WATER = "weather and water", "weather, flow and clarity are fit for the work"
    CONDUCTIVITY = "conductivity", "conductivity was read before any setting was chosen"
    EMERGENCY = "emergency", "the emergency plan and the way to help are known to all"

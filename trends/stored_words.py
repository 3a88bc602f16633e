"""Words that reach a page out of a stored result but stand in no text of this program: the ratings of the
shipped index methods, and the kinds of limits that the statistics name. They are given out for translation
here. A rating of an agency's own method that is not among them is shown as the method has it."""

from typing import Final

from surveys.language import marked

RATINGS: Final = (
    marked("Excellent"),
    marked("Exceptional"),
    marked("Very good"),
    marked("Good"),
    marked("Marginally good"),
    marked("Fair"),
    marked("Poor"),
    marked("Very poor"),
    marked("Very Poor"),
    marked("No fish"),
)
LIMITS: Final = (marked("exact"), marked("interpolated"), marked("rounded"), marked("none"))
# Words of the field sheet and of the species list, which the lists of the database hold.
FIELD_SHEET: Final = (
    marked("Air temperature"),
    marked("Basis of the conductivity"),
    marked("Bottom visible"),
    marked("Weather"),
    marked("Meters"),
    marked("Meters calibrated on"),
    marked("Widths at the transects"),
    marked("Who named the fish"),
    marked("Crew size"),
    marked("Began"),
    marked("Ended"),
    marked("Gear"),
    marked("Form of the current"),
    marked("Anodes"),
    marked("Netters"),
    marked("Voltage at the start"),
    marked("Voltage at the end"),
    marked("Pulse frequency at the start"),
    marked("Pulse frequency at the end"),
    marked("Pulse width at the start"),
    marked("Pulse width at the end"),
    marked("both ends"),
    marked("upstream end only"),
    marked("downstream end only"),
    marked("at the water's own temperature"),
    marked("worked out for 25 degrees C"),
    marked("yes"),
    marked("partly"),
    marked("no"),
    marked("direct current"),
    marked("pulsed direct current"),
    marked("alternating current"),
    marked("everyone on the crew is trained on the gear, and one leader is in charge"),
    marked("first aid and CPR are current, and the kit is here"),
    marked("gloves and waders are whole and dry inside"),
    marked("switches, alarm and cut-outs were tested today"),
    marked("people and animals keep away from the water"),
    marked("weather, flow and clarity are fit for the work"),
    marked("conductivity was read before any setting was chosen"),
    marked("the emergency plan and the way to help are known to all"),
    marked("photograph"),
    marked("preserved fish"),
    marked("draft"),
    marked("submitted"),
    marked("accepted"),
    marked("returned"),
    marked("withdrawn"),
)
TAXA: Final = (
    marked("intolerant"),
    marked("moderate"),
    marked("tolerant"),
    marked("invertivore"),
    marked("insectivore"),
    marked("omnivore"),
    marked("generalist"),
    marked("herbivore"),
    marked("top predator"),
    marked("filter feeder"),
    marked("subspecies"),
    marked("genus or group"),
    marked("hybrid"),
    marked("tolerance"),
    marked("trophic"),
    marked("benthic"),
    marked("lithophilic"),
    marked("migratory"),
    marked("native"),
    marked("both"),
    marked("upstream"),
    marked("downstream"),
)
# Names of measures as they stand inside a sentence.
FOLLOWED: Final = (marked("native species"), marked("intolerant fish"), marked("tolerant fish"))
# What the statistics say where they cannot be made.
REFUSALS: Final = (marked("years must be equally spaced without gaps to look at neighbouring years"),)

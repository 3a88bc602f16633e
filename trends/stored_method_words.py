"""Words of the shipped index methods that the pages of visits and stations show: names of metrics, how each is
made, their units, and what a method says of a catch. They stand in the method files and are given out for
translation here. What an agency's own method says, and is not among these, is shown as it is, marked as English."""

from typing import Final

from trends.said import marked

METRICS: Final = (
    marked("Fish per square metre"),
    marked("Benthic species, adjusted for catchment size"),
    marked("Tolerant individuals"),
    marked("Generalists, omnivores and invertivores"),
    marked("Round-bodied suckers"),
    marked("Share of the most numerous species"),
    marked("Fish biomass per square metre"),
    marked("Lithophilic spawners"),
    marked("Insectivores"),
    marked("Brook trout"),
    marked("Sculpins"),
    marked("Intolerant species"),
    marked("Top carnivores"),
    marked("Cold- and coolwater individuals, native or not"),
    marked("Brook trout among salmonids"),
)
FORMULAS: Final = (
    marked("all fish of all passes / (reach length x mean wetted width)"),
    marked("benthic species found / (slope x log10(catchment in acres) + intercept)"),
    marked("tolerant fish / all fish x 100"),
    marked("(generalists + omnivores + invertivores) / all fish x 100"),
    marked("round-bodied suckers without white sucker / all fish x 100"),
    marked("fish of the most numerous taxon / all fish x 100"),
    marked("weight of all fish of all passes, g / (reach length x mean wetted width)"),
    marked("lithophilic spawners / all fish x 100"),
    marked("insectivores / all fish x 100"),
    marked("brook trout / all fish"),
    marked("sculpins / all fish"),
    marked("tolerant fish / all fish"),
    marked("number of intolerant species"),
    marked("tolerant fish / all fish x 100, whole percent"),
    marked("top carnivores / all fish x 100, whole percent"),
    marked("cold- and coolwater fish / all fish x 100, whole percent"),
    marked("brook trout / all fish of the trout family x 100, whole percent"),
    marked("sum of the points of the stratum's metrics / number of metrics"),
    marked("sum of the points of the five metrics"),
)
UNITS: Final = (
    marked("fish/m²"),
    marked("ratio"),
    marked("part of 1"),
    marked("species"),
    marked("fish"),
)
STRATA: Final = (
    marked("Coastal Plain"),
    marked("Eastern Piedmont"),
    marked("Warmwater Highlands"),
    marked("Coldwater Highlands"),
    marked("Coldwater"),
)
REASONS: Final = (
    marked(
        "No fish were caught in a stream large enough to hold them, so the method gives the lowest score."
    ),
    marked("No fish were caught; the paper's rule for catches that are too small was not found."),
    marked("A hybrid is not a species."),
    marked(
        "No salmonids were caught, so there is no share; by the convention chosen here it earns 0 points."
    ),
)
CAUTIONS: Final = (
    marked(
        "That no fish gives 1.0 is from memory. Large enough means here that the expected number of benthic "
        "species is above zero."
    ),
    marked(
        "That no fish gives 1.0 is from memory. Large enough means here at least 300 acres, the limit of the form "
        "of 1998, because this stratum has no measure that depends on the catchment."
    ),
    marked(
        "Low confidence: the figures of this stratum, and even whether it uses percent or parts of one, are "
        "uncertain. Do not publish its scores before the table of the report has been read."
    ),
)
CONFIDENCE: Final = (marked("medium"), marked("low"))

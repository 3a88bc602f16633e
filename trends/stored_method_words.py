"""Words of the shipped index methods that the pages of visits and stations show: names of metrics, how each is
made, their units, and what a method says of itself and of a catch. They stand in the method files and are given
out for translation here. What an agency's own method says, and is not among these, is shown as it is, marked
as English."""

from typing import Final

from surveys.said import marked

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
    marked("Total fish species"),
    marked("Darter species"),
    marked("Sunfish species"),
    marked("Sucker species"),
    marked("Green sunfish"),
    marked("Omnivores"),
    marked("Insectivorous minnows"),
    marked("Number of individuals"),
    marked("Hybrids"),
    marked("Disease, tumours, fin damage, deformities"),
    marked("Fish per 0.3 km, without tolerant, hybrid and non-native fish"),
    marked("Weight per 0.3 km, without tolerant, hybrid and non-native fish"),
    marked("Diversity of numbers"),
    marked("Diversity of weights"),
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
    marked("sum of the points of the twelve metrics"),
    marked(
        "number of native species without hybrids, as a part of the greatest number for a stream of that size"
    ),
    marked(
        "number of native darter species without hybrids, as a part of the greatest number for a stream of that size"
    ),
    marked(
        "number of native sunfish species without hybrids and black basses, as a part of the greatest number "
        "for a stream of that size"
    ),
    marked(
        "number of native sucker species without hybrids, as a part of the greatest number for a stream of that size"
    ),
    marked(
        "number of native intolerant species without hybrids, as a part of the greatest number for a stream "
        "of that size"
    ),
    marked("green sunfish / all fish x 100"),
    marked("omnivores / all fish x 100"),
    marked("minnows that feed on insects / all fish x 100"),
    marked("top carnivores / all fish x 100"),
    marked("fish caught with the agreed effort"),
    marked("hybrids / all fish x 100"),
    marked("fish with anomalies / all fish x 100"),
    marked("0.5 x ln(N) + 0.5 x ln(B) + H of numbers + H of weights"),
    marked("fish without tolerant, hybrid and non-native ones / reach length x 300 m; counts as 0.5 x ln(N)"),
    marked(
        "kilograms without tolerant, hybrid and non-native fish / reach length x 300 m; counts as 0.5 x ln(B)"
    ),
    marked("Shannon diversity, natural logarithm, on the numbers of all taxa"),
    marked("Shannon diversity, natural logarithm, on the weights of all taxa"),
)
UNITS: Final = (
    marked("fish/m²"),
    marked("ratio"),
    marked("part of 1"),
    marked("species"),
    marked("fish"),
    marked("fish per visit"),
    marked("fish/0.3 km"),
    marked("nats"),
    marked("g/m²"),
    marked("kg/0.3 km"),
)
STRATA: Final = (
    marked("Coastal Plain"),
    marked("Eastern Piedmont"),
    marked("Warmwater Highlands"),
    marked("Coldwater Highlands"),
    marked("Coldwater"),
    marked("All streams"),
    marked("Wading sites"),
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
    marked("Non-native species do not count as species."),
    marked("Fish of the year are not counted (the rule leaves out fish under 20 mm)."),
    marked("Repeated sampling found no fish; the method has a class for that and no score."),
    marked("No fish were caught. The class No fish is meant for repeated sampling that finds none."),
    marked("Tolerant fish do not count towards numbers and weight."),
    marked("Hybrids do not count towards numbers and weight."),
    marked("Non-native fish do not count towards numbers and weight."),
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
RATINGS: Final = (marked("No fish"),)
SUMMARIES: Final = (
    marked(
        "Judges a wadeable stream by its fish. The region decides which four or six metrics count; each "
        "earns 1, 3 or 5 points against reference streams, and the score is their mean."
    ),
    marked(
        "Judges a cold, wadeable stream by five measures of its fish. Each earns 0, 10 or 20 points; the "
        "score is their sum, from 0 to 100."
    ),
    marked(
        "Twelve measures of the kinds, the food and the health of the fish. Each earns 1, 3 or 5 points "
        "against what an undisturbed stream of that size and region holds; the score is their sum, from 12 "
        "to 60."
    ),
    marked(
        "One formula on the numbers and weights of the fish instead of a list of metrics. Tolerant, hybrid "
        "and non-native fish do not count towards numbers and weight, but do count towards diversity."
    ),
)
REGIONS: Final = (
    marked("Maryland, USA: wadeable streams without tide"),
    marked("Wisconsin, USA: coldwater wadeable streams"),
    marked("midwestern USA, small warmwater streams"),
    marked("Ohio, USA: wading and boat sites, not headwaters (from memory)"),
    marked("wadeable, without tide"),
    marked("coldwater, wadeable"),
    marked("small, warmwater"),
    marked("wading sites, not headwaters"),
)
PLAIN: Final = (
    marked("How many fish live in the fished stretch for its size. Poor water or habitat feeds fewer fish."),
    marked(
        "Fish that live on the stream bed suffer first when silt fills it. Larger streams hold more kinds, "
        "so the number found is divided by the number expected for the catchment."
    ),
    marked(
        "Fish that put up with almost anything. Where they make up most of the catch, the others have gone."
    ),
    marked("Fish that are not particular about food. They take over where special food runs short."),
    marked(
        "Suckers such as redhorses, hog suckers and chubsuckers need clean gravel. The hardy white sucker is "
        "left out."
    ),
    marked(
        "A healthy stream is shared by many kinds. One kind that makes up most of the catch is a sign of stress."
    ),
    marked(
        "What all the fish weigh for the size of the fished stretch; the food the stream turns into fish."
    ),
    marked("Fish that lay their eggs on clean stones. Silt between the stones smothers the eggs."),
    marked("Fish that live on stream insects, which need clean water themselves."),
    marked("The native trout of cold, clean headwaters."),
    marked("Small bottom fish of cold, stony streams."),
    marked("Kinds of fish that disappear first when water warms or is fouled."),
    marked(
        "Fish that eat other fish and large prey, trout above all. They need a whole food web below them."
    ),
    marked("Fish that cannot live in warm water. A falling share is an early sign of a warming stream."),
    marked("The native trout as a part of all trout and salmon; stocked trout push it out."),
    marked("How many native kinds of fish live here. Damage of most kinds makes some of them disappear."),
    marked("Small bottom fish that need clean, flowing stretches; silt drives them out."),
    marked("Fish of pools and cover. Black basses are left out."),
    marked("Long-lived bottom fish, a record of several years."),
    marked("Kinds that disappear first when a stream is disturbed."),
    marked("A hardy sunfish that takes over disturbed streams."),
    marked("Fish that eat plants and animals alike; they gain when special food runs short."),
    marked("Minnows that live on stream insects, which need clean water themselves."),
    marked("Fish that eat fish; they need a whole food web below them."),
    marked("How many fish the same effort catches. Poor streams feed few."),
    marked("Crosses between species, more frequent where spawning grounds are disturbed."),
    marked("Fish that are visibly ill, a sign of poisons or great stress."),
    marked("How many fish live along the stream, leaving out those that thrive in poor water."),
    marked("What those fish weigh along the stream."),
    marked("How evenly the catch is shared among the kinds of fish."),
    marked("How evenly the weight of the catch is shared among the kinds of fish."),
)
PROVENANCE: Final = (
    marked("from memory"),
    marked("not found"),
    marked("partly seen"),
    marked("seen"),
    marked("high"),
    marked("in part"),
    marked("in full"),
    marked("first page"),
    marked("abstract"),
    marked("varies with stream size and region"),
    marked("varies with stream size and gear"),
    marked("greatest richness"),
    marked("95 percent of sites"),
)
TRAITS: Final = (
    marked("lithophil"),
    marked("stenotherm"),
    marked("darters"),
    marked("sunfishes"),
    marked("trout"),
    marked("sculpins"),
    marked("round bodied suckers"),
    marked("headwater species"),
    marked("pioneering"),
    marked("sensitive"),
    marked("family"),
    marked("genus"),
    marked("cold"),
)

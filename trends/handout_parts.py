"""The parts of a handout: headings and draft words. Numbers stand as names in braces, filled in when shown.

The advice and the answers are common practice, no source; an outreach person puts the county's own in
their place.
"""

from dataclasses import dataclass

from surveys.language import marked


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """``needs`` are names that must stay in the words; ``figures_allowed`` where no number is computed."""

    key: str
    heading: str
    draft: str
    needs: tuple[str, ...] = ()
    figures_allowed: bool = False


# Name -> what it stands for, as the edit page explains it.
NAMES: dict[str, str] = {
    "creek": marked("name of the creek"),
    "state": marked("how the fish did in the latest year"),
    "trend": marked("the direction over the years, with how sure it is"),
    "verdict": marked("the direction in a few words"),
    "latest_year": marked("latest year with a fish index"),
    "latest_value": marked("fish index of that year"),
    "rating": marked("what that index is called"),
    "kinds": marked("kinds of fish that may be named"),
    "visits": marked("accepted visits"),
    "stations": marked("stations that were visited"),
    "first_year": marked("first year of the record"),
    "last_year": marked("last year of the record"),
    "contact": marked("who answers questions"),
}

PARTS: tuple[Part, ...] = (
    Part(
        key="state",
        heading=marked("How the fish are doing"),
        draft=marked(
            "{state} The index counts which kinds of fish live here and how many. A higher number is better."
        ),
        needs=("state",),
    ),
    Part(key="trend", heading=marked("Better or worse?"), draft=marked("{trend}"), needs=("trend",)),
    Part(
        key="fish",
        heading=marked("What lives here"),
        draft=marked("We have met {kinds} kinds of fish in {creek} since {first_year}."),
        needs=("kinds",),
    ),
    Part(
        key="land",
        heading=marked("Also in these years"),
        draft=marked("These things happened too. The record cannot show whether any of them is the reason."),
    ),
    Part(
        key="helps",
        heading=marked("What helps a creek"),
        draft=(
            marked(
                "Let trees and tall plants grow along the bank.\n"
                "Sweep leaves, soil and pet waste off paved ground. Street drains lead to the creek.\n"
                "Let rain sink in: use rain barrels, garden beds and less paving.\n"
                "Leave stones, logs and pools as they are.\n"
                "Never let bait or pet fish loose. Clean and dry boots and nets.\n"
                "If you see dead fish, oil or a bad smell, stay out and call your local office."
            )
        ),
        figures_allowed=True,
    ),
    Part(
        key="unknown",
        heading=marked("What we do not know"),
        draft=marked("Fish tell us about the creek they live in. They do not tell us all about it."),
    ),
)

QUESTIONS: tuple[Part, ...] = (
    Part(
        key="safe",
        heading=marked("Is it safe to swim, or to eat the fish?"),
        draft=(
            marked(
                "Our visits do not answer that. They count fish; they do not test for germs or poisons. "
                "Ask the county health office about swimming. Ask the state fish office which fish to eat."
            )
        ),
        figures_allowed=True,
    ),
    Part(
        key="hurt",
        heading=marked("Do you hurt the fish?"),
        draft=(
            marked(
                "A weak current in the water stuns fish for a short time. Most swim off soon after. A few can "
                "be hurt, so crews keep the time short. This work is dangerous to people too. Only trained crews "
                "do it, under permit and by their own safety rules. Never try it."
            )
        ),
        figures_allowed=True,
    ),
    Part(
        key="skipped",
        heading=marked("Why was my creek left out?"),
        draft=(
            marked(
                "We go back to the same stations each year, so that the years can be compared. "
                "There is not enough time for each creek. Tell us which one you care about."
            )
        ),
        figures_allowed=True,
    ),
    Part(
        key="blame",
        heading=marked("Who is to blame?"),
        draft=(
            marked(
                "The record shows how the fish changed. It cannot show why. "
                "Rain, heat, floods and work on the land all play a part."
            )
        ),
        figures_allowed=True,
    ),
    Part(
        key="do",
        heading=marked("What can I do?"),
        draft=marked("Start with the list on this page. Then join a clean-up or a planting day near you."),
        figures_allowed=True,
    ),
    Part(
        key="data",
        heading=marked("Can I have the data?"),
        draft=(
            marked(
                "Yes. Each page of this site has its numbers as a file. Use them freely and name the source. "
                "Where some rare fish live is kept back, to protect them."
            )
        ),
        figures_allowed=True,
    ),
)

EVERY: tuple[Part, ...] = (*PARTS, *QUESTIONS)
BY_KEY: dict[str, Part] = {part.key: part for part in EVERY}

# Words that promise more than fish counts can show, by language (this programme's own rule, no source).
_BANNED_ENGLISH: dict[str, str] = {
    r"\bpro(?:ve|ves|ved|ven|ving|of)\b": marked("A record of fish shows; it does not prove."),
    r"\bcause by\b|\bcaus(?:ed|ing)\b|\bdue to\b|\bbecause of\b": marked(
        "The record cannot show a cause; say what also happened."
    ),
    r"\bno changes?\b|\bunchanged\b|\b(?:has|have|had) not changed\b|\b(?:do|does|did) not change\b": marked(
        "Say that nobody can tell, unless the record shows that it is steady."
    ),
    r"\bstable\b": marked("Say steady, and only where the record shows it."),
    # With a name between, as in "a healthy Willow Creek", or behind: "the creek is dead". A brook trout is a fish.
    r"\b(?:healthy|dead) (?:\w+ )?(?:creek|stream|river|brook|run)s?\b"
    r"(?! (?:trout|char|chub|lamprey|darter|shiner|redhorse|carpsucker|silverside|stickleback|herring))"
    r"|\b(?:creek|stream|river|brook|run)s? (?:is|are|was|were) (?:healthy|dead)\b": marked(
        "Speak of the fish, not of the creek."
    ),
    r"\bsignificant(?:ly)?\b": marked("A word of statistics; say how sure it is in plain words."),
    r"\bclean water\b": marked("Fish do not measure whether water is clean."),
}
_BANNED_SPANISH: dict[str, str] = {
    r"\b(?:demuestran?|demostrad[oa]s?|demostró)\b|\b(?:prueban?|comprobado) que\b": marked(
        "A record of fish shows; it does not prove."
    ),
    r"\b(?:causad[oa]s?|causó|causaron|debido al?|a causa del?|por culpa del?)\b": marked(
        "The record cannot show a cause; say what also happened."
    ),
    r"\bsin cambios?\b|\bno (?:ha|han|había) cambiado\b": marked(
        "Say that nobody can tell, unless the record shows that it is steady."
    ),
    # "Estable" is no banned word: it is this programme's own for "steady".
    r"\b(?:arroyo|río|quebrada|corriente)s? (?:(?:está|están|es|son) )?(?:san[oa]|muert[oa])s?\b": marked(
        "Speak of the fish, not of the creek."
    ),
    r"\bsignificativ[oa](?:s|mente)?\b": marked("A word of statistics; say how sure it is in plain words."),
    r"\bagua limpia\b": marked("Fish do not measure whether water is clean."),
}
BANNED: dict[str, dict[str, str]] = {"en": _BANNED_ENGLISH, "es": _BANNED_SPANISH}

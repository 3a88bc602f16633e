"""The words of the sheet in the reader's language, for its inputs and for what its scripts say while one types."""

from surveys.entry.checking import WORDS
from surveys.entry.sheet import DEPLETION, NO_PASS_YET
from surveys.language import noun, told, worded


def field_words(word: str) -> str:
    """What a field is called beside other words: ``water temperature``."""
    return told(WORDS[word])


def label_words(word: str) -> str:
    """What a field is called above its input; the sign pH begins as it is written."""
    words = field_words(word)
    return words if word == "ph" else words[:1].upper() + words[1:]


def script_words() -> dict[str, str]:
    """Patterns that the scripts of the sheet fill; those on the passes are the very ones of the server."""
    return {
        **{key: worded(pattern) for key, pattern in DEPLETION.items()},
        "one_fish": noun("{n} fish", "{n} fish", 1),
        "several_fish": noun("{n} fish", "{n} fish", 2),
        "no_pass": worded(NO_PASS_YET),
        "not_recorded": worded("not recorded"),
        "unreadable": worded("cannot be read"),
        "net": worded("the fish alone {grams} g"),
        "net_below": worded("less than the container alone"),
        "mean": worded("Mean of {n}: {mean} m."),
        "to_look_at": worded("To look at: {words}"),
        "kept": worded("What was typed here until {time} was not saved. It is kept in this tab only."),
        "nothing_odd": worded("Nothing odd is left beside a field."),
    }

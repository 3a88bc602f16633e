"""The words of the tally's scripts: all are given out for translation, and the catalogue knows all of them."""

import re
from collections.abc import Iterator
from pathlib import Path

import polib
import pytest
from django.conf import settings
from django.utils import translation

from surveys.script_words import script_words
from surveys.views.entry_device import MODULES

SCRIPTS = sorted(Path(settings.BASE_DIR, "static", "js").glob("entry-tally*.js"))
CATALOGUE = Path(settings.BASE_DIR) / "locale" / "es" / "LC_MESSAGES" / "djangojs.po"

CODES = frozenset({"Content-Type", "X-CSRFToken", "Enter", "pulsed DC", "25 C"})
# Where no word of a person stands: classes, errors that nobody is shown, selectors, other modules.
NOT_SPOKEN = re.compile(r"(class:|new Error\(|matches\(|\bfrom|import)$")
WORDS = re.compile(r"[A-Za-z]{2,} [A-Za-z]{2,}|^[A-Z][a-z]+")
# A slash begins an expression, not a division, behind one of these.
BEFORE_EXPRESSION = frozenset("(,=:[!&|?{};")


def texts(script: str) -> Iterator[tuple[str, str]]:
    """The texts of a script, each with the code before it, in which every earlier text is a ``\"``."""
    code, at, open_templates = "", 0, []
    while at < len(script):
        if found := re.compile(r"//[^\n]*|/\*.*?\*/", re.DOTALL).match(script, at):
            at = found.end()
        elif found := re.compile(r'"((?:[^"\\]|\\.)*)"').match(script, at):
            yield found[1], code
            code, at = code + '"', found.end()
        elif script[at] == "/" and (code[-1:] or "(") in BEFORE_EXPRESSION:
            found = re.compile(r"/(?:\\.|\[(?:\\.|[^]])*]|[^/\\[])+/\w*").match(script, at)
            assert found, script[at : at + 40]
            at = found.end()
        elif script[at] == "`" or (script[at] == "}" and open_templates and open_templates[-1] == 0):
            if script[at] == "}":
                open_templates.pop()
            # Up to the end of the template, or to the next of its gaps.
            found = re.compile(r"((?:[^`$\\]|\\.|\$(?!\{))*)(`|\$\{)").match(script, at + 1)
            assert found, script[at : at + 40]
            yield found[1].strip(), code
            code, at = code + '"', found.end()
            if found[2] != "`":
                open_templates.append(0)
        else:
            if open_templates:
                open_templates[-1] += {"{": 1, "}": -1}.get(script[at], 0)
            code += script[at].strip() or (" " if code[-1:].isalpha() else "")
            at += 1


def patterns() -> set[tuple[str, str]]:
    """What the scripts say, each with its form for several, empty where it has none."""
    found = set()
    for path in SCRIPTS:
        one = ""
        for text, before in texts(path.read_text()):
            if re.search(r"\bsay\($", before):
                found.add((text, ""))
            elif before.endswith("sayMany("):
                one = text
            elif before.endswith('sayMany(",'):
                found.add((one, text))
    return found


def unspoken(script: str) -> list[str]:
    """Texts of a script that look like words and pass through neither ``say`` nor ``sayMany``."""
    return [
        text
        for text, before in texts(script)
        if WORDS.search(text)
        and text not in CODES
        and not re.search(r'\b(say\(|sayMany\(|sayMany\(",)$', before)
        and not NOT_SPOKEN.search(before.rstrip())
    ]


def test_the_device_keeps_every_script_of_the_tally() -> None:
    assert {f"js/{path.name}" for path in SCRIPTS} == set(MODULES)


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.stem)
def test_a_script_shows_no_words_that_were_not_given_out(path: Path) -> None:
    assert unspoken(path.read_text()) == []


def test_words_that_were_not_given_out_are_found() -> None:
    given = 'say("Close it", {}); sayMany("{n} eel", "{n} eels", 2); el("p", { class: "second tally" }); // In words'
    assert unspoken(given) == []
    for left in ('el("p", {}, "No fish yet")', 'el("p", {}, `${n}${more ? `, closed for ${day}` : ""}`)'):
        assert unspoken(left)


def test_the_catalogue_holds_just_what_the_scripts_say() -> None:
    written = {(e.msgid, e.msgid_plural) for e in polib.pofile(str(CATALOGUE)) if not e.obsolete}
    with_forms = {one for one, many in patterns() if many}
    # What is said both ways stands in the catalogue with both forms.
    said = {(one, many) for one, many in patterns() if many or one not in with_forms}
    assert written == said, "run manage.py makemessages -l es"


def test_the_catalogue_is_whole_and_compiled() -> None:
    written = [e for e in polib.pofile(str(CATALOGUE)) if not e.obsolete]
    for entry in written:
        said = list(entry.msgstr_plural.values()) if entry.msgid_plural else [entry.msgstr]
        gaps = set(re.findall(r"\{\w+\}", entry.msgid))
        assert all(said), entry.msgid
        assert all(set(re.findall(r"\{\w+\}", words)) == gaps for words in said), entry.msgid
        assert "fuzzy" not in entry.flags
    compiled = {e.msgid: e.msgstr or e.msgstr_plural for e in polib.mofile(str(CATALOGUE.with_suffix(".mo")))}
    assert compiled == {e.msgid: e.msgstr or e.msgstr_plural for e in written}


def test_a_page_is_given_the_words_of_its_language() -> None:
    with translation.override("es"):
        words = script_words()
    assert words["Undo"] == "Deshacer"
    assert words["{n} eel"] == ["{n} anguila", "{n} anguilas"]
    with translation.override("en"):
        assert script_words() == {}

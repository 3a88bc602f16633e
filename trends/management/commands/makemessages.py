"""``makemessages`` of Django, which also finds the words that pass through ``surveys.language``, and then
compiles the catalogue, which is kept with the code so that nothing has to be built before a page is shown.
Words of the tally's scripts, which it says without a network, are collected into a catalogue of their own.

    uv run manage.py makemessages -l es

It needs the programs of GNU gettext; they are needed for nothing else.
"""

import re
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.commands import makemessages

KEYWORDS = ["worded", "worded_n:1,2", "said", "said_n:1,2", "marked", "counted:2,3"]
# Other scripts are given the words of their page by the page, under short names.
SCRIPT_KEYWORDS = ["say", "sayMany:1,2"]
SCRIPT_NAMES = "entry-tally*.js"
# They come and go with each run, without a change of words.
_HEAD_LINES = re.compile(r'^"(?:POT-Creation-Date|Report-Msgid-Bugs-To):.*\n', re.MULTILINE)


class Command(makemessages.Command):
    help = "Collect the words that people read into the catalogues of other languages, and compile these."

    xgettext_options = [
        *makemessages.Command.xgettext_options,
        *(f"--keyword={word}" for word in KEYWORDS),
        # "% of fish" holds a percent sign, not a format of the language.
        *(f"--flag={word.split(':')[0]}:{n}:no-python-format" for word in KEYWORDS for n in (1, 2, 3)),
    ]
    msgmerge_options = [*makemessages.Command.msgmerge_options, "--no-fuzzy-matching"]

    def handle(self, *args: Any, **options: Any) -> None:
        options["ignore_patterns"] = [
            *(options["ignore_patterns"] or []),
            ".venv/*",
            "tests/*",
            "staticfiles/*",
        ]
        options["no_location"] = True
        options["no_wrap"] = True
        super().handle(*args, **options)
        self._words_of_scripts(*args, **options)
        call_command("compilemessages", ignore_patterns=[".venv"])

    def _words_of_scripts(self, *args: Any, **options: Any) -> None:
        self.xgettext_options = [
            *makemessages.Command.xgettext_options,
            *(f"--keyword={word}" for word in SCRIPT_KEYWORDS),
        ]
        scripts = Path(settings.BASE_DIR, "static", "js")
        others = {path.name for path in scripts.glob("*.js")} - {p.name for p in scripts.glob(SCRIPT_NAMES)}
        left_out = [
            *options["ignore_patterns"],
            "templates/*",
            *(f"static/js/{name}" for name in sorted(others)),
        ]
        super().handle(
            *args, **{**options, "domain": "djangojs", "extensions": [], "ignore_patterns": left_out}
        )
        for folder in settings.LOCALE_PATHS:
            for path in Path(folder).glob("*/LC_MESSAGES/djangojs.po"):
                path.write_text(_HEAD_LINES.sub("", path.read_text()))

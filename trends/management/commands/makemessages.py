"""``makemessages`` of Django, which also finds the words that pass through ``surveys.language``, and then
compiles the catalogue, which is kept with the code so that nothing has to be built before a page is shown.

    uv run manage.py makemessages -l es

It needs the programs of GNU gettext; they are needed for nothing else.
"""

from typing import Any

from django.core.management import call_command
from django.core.management.commands import makemessages

KEYWORDS = ["worded", "worded_n:1,2", "said", "said_n:1,2", "marked", "counted:2,3"]


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
        call_command("compilemessages", ignore_patterns=[".venv"])

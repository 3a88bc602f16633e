"""What scripts and style sheets may use: Safari 16.4 and Firefox 115, which is kept up for older machines, are to work.

Source: the compatibility tables of MDN Web Docs, from memory. A selector that a browser does not know stops the
script that asks for it; a rule of a style sheet that it does not know is only passed over.
"""

import re
from pathlib import Path

import pytest
from django.conf import settings

SCRIPTS = sorted(Path(settings.BASE_DIR, "static", "js").glob("*.js"))
TOO_NEW = (
    r":has\(",
    r"\b(Object|Map)\.groupBy\b",
    r"\bArray\.fromAsync\b",
    r"\bPromise\.(withResolvers|try)\b",
    r"\bAbortSignal\.any\b",
    r"\.(showPopover|togglePopover|checkVisibility|startViewTransition)\b",
    r"\.(union|intersection|difference|isSubsetOf|isSupersetOf|isDisjointFrom)\(",
    r"\bURL\.(canParse|parse)\b",
    r"\bIterator\.from\b",
    r"^(?!\s*//).*\bnew RegExp\([^)]*[\"'][a-z]*v[a-z]*[\"']\)",
)


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.stem)
def test_a_script_asks_for_nothing_that_older_browsers_lack(path: Path) -> None:
    script = path.read_text()
    assert [one for one in TOO_NEW if re.search(one, script, re.MULTILINE)] == []

"""The same page in another language, and stored words in the reader's."""

from typing import Any
from urllib.parse import urlsplit

from django import template
from django.conf import settings
from django.contrib.auth import REDIRECT_FIELD_NAME
from django.forms import BoundField
from django.forms.utils import ErrorList
from django.http import QueryDict
from django.urls import translate_url
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language

from surveys import language
from trends.middleware import TRANSLATED

register = template.Library()


def _in_language(address: str, code: str) -> str:
    """An address in another language; where it says what page comes next, that page too."""
    parts = urlsplit(translate_url(address, code))
    asked = QueryDict(parts.query, mutable=True)
    if REDIRECT_FIELD_NAME not in asked:
        return parts.geturl()
    asked[REDIRECT_FIELD_NAME] = translate_url(str(asked[REDIRECT_FIELD_NAME]), code)
    return parts._replace(query=asked.urlencode(safe="/")).geturl()


def _others(context: Any) -> list[tuple[str, str, str]]:
    """Code, own name and address of this page in each language that is not the present one."""
    request = context.get("request")
    match = getattr(request, "resolver_match", None)
    if match is None or match.view_name not in TRANSLATED:
        return []
    here = request.get_full_path()
    return [
        (code, name, _in_language(here, code)) for code, name in settings.LANGUAGES if code != get_language()
    ]


@register.simple_tag(takes_context=True)
def language_heads(context: Any) -> SafeString:
    """The other languages named in the head of the page, for search engines and browsers."""
    return format_html_join("", '<link rel="alternate" hreflang="{}" href="{}">', (
        (code, address) for code, _, address in _others(context)
    ))  # fmt: skip


@register.simple_tag(takes_context=True)
def language_links(context: Any) -> SafeString:
    """Links to this page in the other languages, each in its own words."""
    links = [
        format_html('<a class="language" href="{}" hreflang="{}" lang="{}">{}</a>', address, code, code, name)
        for code, name, address in _others(context)
    ]
    return mark_safe(" ".join(links))


@register.filter
def told(words: Any) -> str:
    """Stored words in the reader's language; a name or a remark stands as it is, and so does markup."""
    return words if isinstance(words, SafeString) else language.told(words)


@register.simple_tag
def field_errors(field: BoundField) -> SafeString:
    """The errors of one field as the framework lists them, in the reader's language."""
    errors = field.errors
    told_ones = ErrorList([language.told(one) for one in errors], field_id=getattr(errors, "field_id", None))
    told_ones.error_class = errors.error_class
    return mark_safe(str(told_ones))


@register.filter
def in_own_language(row: dict[str, Any], key: str) -> str:
    """Words of a report that was stored in each language; one that is older is told as far as it is known."""
    return row.get(f"{key}_in", {}).get(get_language()) or language.told(row[key])

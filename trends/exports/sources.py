"""How files and captions name where they come from."""

from django.conf import settings

from surveys.language import worded

LICENSE_NAME = "CC BY 4.0"
LICENSE_URL = "https://creativecommons.org/licenses/by/4.0/"


def source_words() -> str:
    """Whose record it is, as a caption says it."""
    county = settings.COUNTY_NAME
    return (
        worded("{county} stream fish record", county=county)
        if county
        else worded("stream fish record kept in Rillmark")
    )

"""Who publishes, as the settings name it."""

from django.conf import settings
from django.utils.text import slugify

from trends.exports.darwin_core import Publisher


def county_publisher(
    *, organization: str = "", title: str = "", contact: str = "", namespace: str = "", **others: object
) -> Publisher:
    """The publisher of the settings; what is given goes before them."""
    named = organization or settings.COUNTY_NAME
    return Publisher(
        organization=named or "Publisher not named",
        title=title or f"Stream fish surveys{f', {named}' if named else ''}",
        contact=contact or settings.CONTACT,
        namespace=namespace or f"urn:rillmark:{slugify(settings.COUNTY_NAME) or 'county'}",
        **{"county": settings.COUNTY_NAME, **others},  # type: ignore[arg-type]
    )

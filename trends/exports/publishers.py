"""Who publishes, under which words and licence, as the settings name it."""

import uuid
from dataclasses import dataclass

from django.conf import settings
from django.utils.text import slugify

from surveys.models import Taxon

LICENSE_NAME = "Creative Commons Attribution 4.0 International"
LICENSE = "https://creativecommons.org/licenses/by/4.0/legalcode"
# Darwin Core recommends detected / notDetected since May 2026; before, and in the list that the
# largest receiving body still uses, the words are present / absent.
STATUS_WORDS = {"present": ("present", "absent"), "detected": ("detected", "notDetected")}


@dataclass(frozen=True, slots=True, kw_only=True)
class Publisher:
    """Who publishes, under which words; ``namespace`` is what identifiers grow from and must not change."""

    organization: str
    title: str
    contact: str
    namespace: str
    country: str = "US"
    state: str = ""
    county: str = ""
    status: str = "present"
    targets: tuple[Taxon, ...] = ()

    @property
    def detected_word(self) -> str:
        return STATUS_WORDS[self.status][0]

    @property
    def not_detected_word(self) -> str:
        return STATUS_WORDS[self.status][1]

    @property
    def withheld_words(self) -> str:
        ask = f" Ask {self.contact}." if self.contact else " Ask the publisher."
        return (
            "Records of some species, met or not met, and the weights of whole passes are not given for places "
            "in this watershed; such species are named for the watershed as a whole." + ask
        )

    def identifier(self, *parts: object) -> str:
        """A name made from what a record is, so that the same record has it in every export."""
        root = uuid.uuid5(uuid.NAMESPACE_URL, self.namespace)
        return f"urn:uuid:{uuid.uuid5(root, chr(31).join(str(part) for part in parts))}"


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

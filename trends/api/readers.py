"""Who reads: the public, or the person whose token came along, with what that person's role may see."""

from dataclasses import dataclass
from datetime import timedelta

from django.db.models import Q
from django.http import HttpRequest
from django.utils import timezone

from surveys.access import EXPORT, SEE_UNACCEPTED, Person, may
from surveys.withholding import STATEMENT, sees_all
from trends.api.problems import NOT_KNOWN, ApiProblem
from trends.models import ApiToken

CHALLENGE = 'Bearer realm="staff data"'
STAFF_STATEMENT = "Read with a personal token: nothing is withheld. Not for publication."
# When it was last used is written down no more often than this, to spare the database.
NOTED_EVERY = timedelta(minutes=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reader:
    """What may be seen. Without a token both answers are no, whoever is signed in."""

    token: ApiToken | None = None
    unaccepted: bool = False
    all_places: bool = False

    @property
    def statement(self) -> str:
        return STAFF_STATEMENT if self.all_places else STATEMENT

    @property
    def counted_as(self) -> str:
        """Whose requests are counted together, where that is not the address they come from."""
        return f"token:{self.token.handle}" if self.token else ""


PUBLIC = Reader()


def reader_of(request: HttpRequest) -> Reader:
    """Read the Authorization header; a token is taken from there alone, never from an address."""
    header = request.headers.get("Authorization", "").strip()
    if not header:
        return PUBLIC
    scheme, _, text = header.partition(" ")
    token = ApiToken.objects.found(text.strip()) if scheme.lower() == "bearer" else None
    person: Person | None = token.person if token else None
    if token is None or person is None or not may(person, EXPORT):
        raise ApiProblem(NOT_KNOWN, headers={"WWW-Authenticate": f'{CHALLENGE}, error="invalid_token"'})
    _note_use(token)
    return Reader(token=token, unaccepted=may(person, SEE_UNACCEPTED), all_places=sees_all(person))


def _note_use(token: ApiToken) -> None:
    now = timezone.now()
    stale = Q(last_used_at__isnull=True) | Q(last_used_at__lt=now - NOTED_EVERY)
    if token.last_used_at is None or token.last_used_at < now - NOTED_EVERY:
        ApiToken.objects.filter(stale, pk=token.pk).update(last_used_at=now)

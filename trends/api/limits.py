"""A ceiling on requests from one address or with one token, so that one hasty program cannot keep everybody else out.

Counted in the cache of each server process, by whole minutes: enough against haste, not a defence
against an attack, which belongs in front of the site.
"""

import time

from django.conf import settings
from django.core.cache import cache
from django.http import HttpRequest

from trends.api.problems import TOO_MANY, ApiProblem

PER_MINUTE = 600
MINUTE_S = 60


def count_request(request: HttpRequest, counted_as: str = "") -> None:
    """Count this request; ApiProblem where its address, or its token, has used up the minute.

    A ceiling of 0 is none.
    """
    ceiling = getattr(settings, "API_REQUESTS_PER_MINUTE", PER_MINUTE)
    if not ceiling:
        return
    now = time.time()
    minute, second = divmod(int(now), MINUTE_S)
    key = f"api:{minute}:{counted_as or _address(request)}"
    cache.add(key, 0, timeout=2 * MINUTE_S)
    try:
        used = cache.incr(key)
    except ValueError:
        # Dropped between the two steps, as a full cache may do.
        return
    if used > ceiling:
        wait = str(MINUTE_S - second)
        raise ApiProblem(
            TOO_MANY, f"More than {ceiling} requests in a minute.", headers={"Retry-After": wait}
        )


def _address(request: HttpRequest) -> str:
    """Where the request comes from: behind a proxy the address that the proxy saw, which it adds at the end."""
    if settings.ALLAUTH_TRUSTED_PROXY_COUNT:
        seen = request.headers.get("X-Forwarded-For", "").rpartition(",")[2].strip()
        if seen:
            return seen
    return str(request.META.get("REMOTE_ADDR", ""))

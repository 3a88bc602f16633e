"""Whether the site can answer: asked by the container's health check."""

from django.db import DatabaseError, connection
from django.http import HttpRequest, JsonResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from config.database import DatabaseUnavailable


@never_cache
@require_safe
def healthz(request: HttpRequest) -> JsonResponse:
    """200 when the database answers and its schema is in place, 503 otherwise."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT to_regclass('surveys_visit') IS NOT NULL")
            row = cursor.fetchone()
    except (DatabaseError, DatabaseUnavailable):
        return JsonResponse({"status": "unavailable", "database": False}, status=503)
    ready = bool(row and row[0])
    return JsonResponse(
        {"status": "ok" if ready else "unavailable", "database": ready}, status=200 if ready else 503
    )

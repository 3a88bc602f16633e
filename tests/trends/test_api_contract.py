"""The interface asked hundreds of odd questions, made up from its own description by schemathesis.

It checks that no question breaks the server, that every answer is of a kind, a form and a shape which the
description names, and that what the description forbids is refused. In this process, without a network.
"""

from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from hypothesis import HealthCheck, Phase, settings

from config.wsgi import application
from tests.trends.exports.conftest import County, county

__all__ = ["county"]
pytestmark = pytest.mark.django_db
ENOUGH = settings(
    max_examples=10,
    deadline=None,
    derandomize=True,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)


schema = schemathesis.openapi.from_wsgi("/api/v1/openapi.json", application)


@pytest.fixture
def open_house(county: County, settings: Any) -> Iterator[None]:
    """No ceiling on requests, and the test's own connection stays open after each of them."""
    settings.API_REQUESTS_PER_MINUTE = 0
    settings.ALLOWED_HOSTS = ["*"]
    request_started.disconnect(close_old_connections)
    request_finished.disconnect(close_old_connections)
    yield
    request_started.connect(close_old_connections)
    request_finished.connect(close_old_connections)


@schema.parametrize()
@ENOUGH
def test_every_answer_is_as_described(case: Any, open_house: None) -> None:
    # Compressed answers reach the library as they are, and it does not unpack them.
    case.call_and_validate(headers={"Accept-Encoding": "identity"})

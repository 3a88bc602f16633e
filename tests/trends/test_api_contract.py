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
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis import GenerationMode

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
OPERATIONS = [one.ok() for one in schema.get_all_operations()]
# A request without a parameter has nothing in it that could be wrong.
ASKED = [
    pytest.param(operation, mode, id=f"{operation.label}-{mode.value}")
    for operation in OPERATIONS
    for mode in GenerationMode
    if mode is GenerationMode.POSITIVE or operation.query or operation.path_parameters
]


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


@pytest.mark.parametrize(("operation", "mode"), ASKED)
def test_every_answer_is_as_described(operation: Any, mode: GenerationMode, open_house: None) -> None:
    """Each kind of request as it should be made, and as it should be refused."""

    # A test of its own for each, so that each has a name and test runs in parallel share them out.
    @ENOUGH
    @given(case=operation.as_strategy(generation_mode=mode))
    def asked(case: Any) -> None:
        # Compressed answers reach the library as they are, and it does not unpack them.
        case.call_and_validate(headers={"Accept-Encoding": "identity"})

    asked()

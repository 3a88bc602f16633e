"""The demo keeps out of databases that are not its own."""

from io import StringIO

import pytest
from django.contrib.auth.models import Group, User
from django.core.management import CommandError, call_command

from surveys.models import Watershed
from trends import demo

pytestmark = pytest.mark.django_db


def test_an_empty_database_is_claimed_once() -> None:
    assert demo.claim_database()
    assert not demo.claim_database()


def test_a_database_with_other_records_is_refused_and_left_alone() -> None:
    Watershed.objects.create(name="Somebody's Creek", slug="somebodys-creek")
    with pytest.raises(CommandError, match="watersheds that are not the demo's"):
        call_command("demo", "--no-serve", stdout=StringIO())
    assert not User.objects.exists()
    assert not Group.objects.filter(name=demo.MARK).exists()


def test_a_database_with_people_is_refused() -> None:
    User.objects.create_user("somebody")
    with pytest.raises(demo.DemoRefused, match="users"):
        demo.claim_database()

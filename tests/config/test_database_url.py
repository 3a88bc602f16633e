"""DATABASE_URL as people write it, after PostgreSQL's own rules for connection addresses.

Source: PostgreSQL documentation, chapter "libpq - C Library", section "Connection URIs" (the examples
with percent-encoding and a socket folder as `host` are of its forms; section number not given).
"""

from __future__ import annotations

import pytest

from config.database import DatabaseUrlError, data_dir, database_settings


def test_without_an_address_the_embedded_server_is_used():
    settings = database_settings(None)
    assert (settings["ENGINE"], settings["NAME"]) == ("config.embedded", "rillmark")
    assert database_settings("") == settings


@pytest.mark.parametrize("scheme", ["postgres", "postgresql", "PostgreSQL"])
def test_every_part_of_an_address_is_used(scheme):
    settings = database_settings(f"{scheme}://ann:p%40ss%2Fw%25rd@db.example:5433/streams?sslmode=require")
    named = {key: settings[key] for key in ("ENGINE", "NAME", "HOST", "PORT", "USER", "PASSWORD")}
    assert named == {
        "ENGINE": "django.db.backends.postgresql",
        "NAME": "streams",
        "HOST": "db.example",
        "PORT": "5433",
        "USER": "ann",
        "PASSWORD": "p@ss/w%rd",
    }
    assert settings["OPTIONS"]["sslmode"] == "require"


@pytest.mark.parametrize(
    "url", ["postgresql:///streams?host=/run/postgresql", "postgresql://%2Frun%2Fpostgresql/streams"]
)
def test_a_socket_folder_may_stand_for_the_host(url):
    assert database_settings(url)["HOST"] == "/run/postgresql"


def test_an_address_of_ip_version_six():
    settings = database_settings("postgresql://[2001:db8::1]:5432/streams")
    assert (settings["HOST"], settings["PORT"]) == ("2001:db8::1", "5432")


@pytest.mark.parametrize("url", [None, "postgresql://h/streams"])
def test_connections_are_pooled_and_checked(url):
    settings = database_settings(url)
    assert settings["CONN_HEALTH_CHECKS"] is True
    assert settings["CONN_MAX_AGE"] == 0  # Django refuses a pool together with kept connections
    # Three web processes with full pools fit into the embedded server's 60 connections.
    assert 3 * settings["OPTIONS"]["pool"]["max_size"] < 60


@pytest.mark.parametrize(
    ("url", "said"),
    [
        ("sqlite:///secret.sqlite3", "only PostgreSQL"),
        ("mysql://ann:secret@h/db", "only PostgreSQL"),
        ("ann:secret@h/db", "only PostgreSQL"),
        ("postgresql://ann:secret@h", "does not name a database"),
        ("postgresql://ann:secret@h/", "does not name a database"),
        ("postgresql://ann:se%zzcret@h/db", "cannot be read"),
        ("postgresql://ann:secret@h/db?colour=red", "cannot be read"),
        ("postgresql://ann:secret@h:54x2/db", "port"),
        ("postgresql://ann:secret@h:70000/db", "port"),
        ("postgresql://ann:secret@[h/db", "cannot be read"),
    ],
)
def test_an_address_that_cannot_be_used_is_refused_without_repeating_the_password(url, said):
    with pytest.raises(DatabaseUrlError, match=said) as refused:
        database_settings(url)
    assert str(refused.value).startswith("DATABASE_URL")
    assert "secret" not in str(refused.value) and "zzcret" not in str(refused.value)


def test_the_data_folder_can_be_chosen(monkeypatch, tmp_path):
    monkeypatch.setenv("RILLMARK_DATA_DIR", str(tmp_path / "here"))
    assert data_dir() == tmp_path / "here"
    monkeypatch.setenv("RILLMARK_DATA_DIR", "")
    assert data_dir().name == "rillmark"
